"""Paper of the build sheet: pages of one size, text that wraps, tables that go on over pages, lines.

Lengths are mm, x from the left and y DOWN from the top of the page, as one reads. Nothing is written
outside the margins: text that is too wide is wrapped, also inside a word where it must be. The PDF has no
clock and no random name in it, so the same project gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.make.drawing.fonts import FONT, POINT_MM, glyphs, visual, width_mm, wrapped, written
from shaftscore.make.drawing.paper_sizes import A4, LETTER, PaperSize

MARGIN_MM, FOOT_MM = 15.0, 8.0
"""Margin on all sides (printers leave 5 mm or so white), and the height kept for the footer above it."""

LEADING = 1.35
"""Distance of lines over the size of the letters."""

TEXT_PT, SMALL_PT, HEAD_PT, TITLE_PT = 9.0, 7.0, 13.0, 20.0
"""Sizes of text, points."""

INK, MUTED, PALE = "#000000", "#555555", "#bbbbbb"
"""Text, what is said beside it, and the lines of tables."""

Cells = Sequence[str]
"""The texts of one row."""


class Paper:
    """Pages of one size being filled from the top; `y_mm` is where the next thing goes."""

    def __init__(self, size: PaperSize, title: str, footer: str) -> None:
        """Begin the first page. title: of the document. footer: on each page, before its number."""
        # As above: loaded where a sheet is made.
        from reportlab.pdfgen.canvas import Canvas

        glyphs()
        self.size, self._footer, self._pages = size, footer, 1
        self._bytes = io.BytesIO()
        page = (size.wide_mm / POINT_MM, size.high_mm / POINT_MM)
        # Any: the library has no types of its own.
        self._canvas: Any = Canvas(self._bytes, pagesize=page, invariant=1, pageCompression=1)
        self._canvas.setTitle(written(title))
        self._canvas.setCreator("Shaftscore")
        self.y_mm = MARGIN_MM

    @property
    def left_mm(self) -> float:
        """Left end of what may be written on."""
        return MARGIN_MM

    @property
    def right_mm(self) -> float:
        """Right end of what may be written on."""
        return self.size.wide_mm - MARGIN_MM

    @property
    def wide_mm(self) -> float:
        """Width of what may be written on."""
        return self.right_mm - self.left_mm

    @property
    def bottom_mm(self) -> float:
        """Lower end of what may be written on, above the footer."""
        return self.size.high_mm - MARGIN_MM - FOOT_MM

    @property
    def room_mm(self) -> float:
        """Height that is left on the page."""
        return self.bottom_mm - self.y_mm

    def finished(self) -> bytes:
        """End the last page and give the file."""
        self._foot()
        self._canvas.save()
        return self._bytes.getvalue()

    def new_page(self) -> None:
        """End the page and begin another."""
        self._foot()
        self._canvas.showPage()
        self._pages += 1
        self.y_mm = MARGIN_MM

    def need(self, high_mm: float) -> None:
        """Begin another page unless this one has the height left, or is empty."""
        if self.room_mm < high_mm and self.y_mm > MARGIN_MM:
            self.new_page()

    def _foot(self) -> None:
        number = f"page {self._pages}"
        y = self.size.high_mm - MARGIN_MM
        room = self.wide_mm - width_mm(number, SMALL_PT) - 5.0
        self.words(self.left_mm, y, wrapped(self._footer, SMALL_PT, room)[0], SMALL_PT, MUTED)
        self.words(self.right_mm, y, number, SMALL_PT, MUTED, align="right")

    def words(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_pt: float = TEXT_PT,
        colour: str = INK,
        *,
        align: str = "left",
    ) -> None:
        """Write one line with its base line at y; align: which end (or the middle) stands at x."""
        draw = {"left": "drawString", "right": "drawRightString", "middle": "drawCentredString"}[align]
        self._canvas.setFont(FONT, size_pt)
        self._canvas.setFillColor(colour)
        getattr(self._canvas, draw)(x_mm / POINT_MM, self._up(y_mm), visual(written(text)))

    def words_upright(self, x_mm: float, y_mm: float, text: str, size_pt: float = TEXT_PT) -> None:
        """Write one line that reads upward, its middle and base line at a place."""
        self._canvas.saveState()
        self._canvas.translate(x_mm / POINT_MM, self._up(y_mm))
        self._canvas.rotate(90)
        self._canvas.setFont(FONT, size_pt)
        self._canvas.setFillColor(INK)
        self._canvas.drawCentredString(0, 0, visual(written(text)))
        self._canvas.restoreState()

    def fits(self, text: str, size_pt: float, wide_mm: float) -> bool:
        """Return whether a text has room in one line."""
        return width_mm(written(text), size_pt) <= wide_mm

    def heading(self, text: str, size_pt: float = HEAD_PT, keep_mm: float = 20.0) -> None:
        """Write a heading; keep_mm: what must have room below it on the same page."""
        high = size_pt * LEADING * POINT_MM
        self.need(high + keep_mm)
        self.say(text, size_pt)
        self.y_mm += 1.5

    def say(self, text: str, size_pt: float = TEXT_PT, colour: str = INK, indent_mm: float = 0.0) -> None:
        """Write a paragraph over the whole width, on as many pages as it needs."""
        for line in wrapped(text, size_pt, self.wide_mm - indent_mm):
            self.need(size_pt * LEADING * POINT_MM)
            self.y_mm += size_pt * LEADING * POINT_MM
            self.words(self.left_mm + indent_mm, self.y_mm - 0.3 * size_pt * POINT_MM, line, size_pt, colour)

    def gap(self, high_mm: float = 3.0) -> None:
        """Leave some room."""
        self.y_mm += high_mm

    def line(
        self,
        points: Sequence[tuple[float, float]],
        colour: str = INK,
        width: float = 0.2,
        dashed: bool = False,
    ) -> None:
        """Draw straight lines through points, mm."""
        self._canvas.setStrokeColor(colour)
        self._canvas.setLineWidth(width / POINT_MM)
        self._canvas.setDash([4, 2] if dashed else [])
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] / POINT_MM, self._up(points[0][1]))
        for x, y in points[1:]:
            path.lineTo(x / POINT_MM, self._up(y))
        self._canvas.drawPath(path, stroke=1, fill=0)

    def box(
        self,
        x_mm: float,
        y_mm: float,
        wide_mm: float,
        high_mm: float,
        *,
        fill: str | None,
        edge: str | None = INK,
    ) -> None:
        """Draw a rectangle by its upper left corner; fill, edge: colours, or None."""
        self._canvas.setDash([])
        self._canvas.setLineWidth(0.2 / POINT_MM)
        self._canvas.setStrokeColor(edge or INK)
        self._canvas.setFillColor(fill or INK)
        corner = (x_mm / POINT_MM, self._up(y_mm + high_mm))
        size = (wide_mm / POINT_MM, high_mm / POINT_MM)
        self._canvas.rect(*corner, *size, stroke=int(edge is not None), fill=int(fill is not None))

    def area(
        self,
        points: Sequence[tuple[float, float]],
        *,
        fill: str,
        edge: str | None = None,
        width: float = 0.15,
    ) -> None:
        """Fill a polygon, mm; edge: colour of its outline, if any."""
        self._canvas.setDash([])
        self._canvas.setLineWidth(width / POINT_MM)
        self._canvas.setStrokeColor(edge or INK)
        self._canvas.setFillColor(fill)
        path = self._canvas.beginPath()
        path.moveTo(points[0][0] / POINT_MM, self._up(points[0][1]))
        for x, y in points[1:]:
            path.lineTo(x / POINT_MM, self._up(y))
        path.close()
        self._canvas.drawPath(path, stroke=int(edge is not None), fill=1)

    def _up(self, y_mm: float) -> float:
        return (self.size.high_mm - y_mm) / POINT_MM

    def table(self, head: Cells, rows: Iterator[Cells] | Sequence[Cells], shares: Sequence[float]) -> None:
        """Write a table with its head on every page; shares: of the width, a column each."""
        columns = [share / sum(shares) * self.wide_mm for share in shares]
        top = _row_lines(head, columns)
        self._head(top, columns)
        for row in rows:
            rest = _row_lines(row, columns)
            while rest:
                if self.room_mm < min(_row_high(rest), 40.0):
                    self.new_page()
                    self._head(top, columns)
                rest = self._row(rest, columns)

    def _head(self, lines: list[list[str]], columns: Sequence[float]) -> None:
        self.box(self.left_mm, self.y_mm, self.wide_mm, _row_high(lines), fill="#eeeeee", edge=None)
        self._row(lines, columns)

    def _row(self, lines: list[list[str]], columns: Sequence[float]) -> list[list[str]]:
        """Write the lines of a row that have room; give those that have not."""
        pitch = SMALL_PT * LEADING * POINT_MM
        count = max(1, int((self.room_mm - 2.0) / pitch))
        now = lines[:count]
        for number, cells in enumerate(now):
            x = self.left_mm
            for cell, wide in zip(cells, columns, strict=True):
                self.words(x + 1.0, self.y_mm + 0.4 + (number + 0.75) * pitch, cell, SMALL_PT)
                x += wide
        self.y_mm += _row_high(now)
        self.line([(self.left_mm, self.y_mm), (self.right_mm, self.y_mm)], PALE, 0.15)
        return lines[count:]


def _row_lines(row: Cells, columns: Sequence[float]) -> list[list[str]]:
    """Wrap the cells of a row: its lines, each with the text of every column."""
    cells = [wrapped(text, SMALL_PT, wide - 2.0) for text, wide in zip(row, columns, strict=True)]
    high = max(len(cell) for cell in cells)
    return [[cell[number] if number < len(cell) else "" for cell in cells] for number in range(high)]


def _row_high(lines: list[list[str]]) -> float:
    return len(lines) * SMALL_PT * LEADING * POINT_MM + 1.2


__all__ = ["A4", "LETTER", "Paper", "PaperSize"]
