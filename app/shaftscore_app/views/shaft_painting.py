"""Paints the Shaft view: parts, then rollers with where they may be, forces, bending line, heights, table."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen

from shaftscore.base import wording
from shaftscore.make.drawing.shaft import BearingEnd, exaggeration
from shaftscore.make.drawing.shaft_scene import ShaftLook, side_scene
from shaftscore_app.theme import Theme
from shaftscore_app.theme.polygons import polygon_of
from shaftscore_app.theme.scenes import ScenePainting
from shaftscore_app.views.shaft_places import BENDING, HEAD, ShaftPlaces
from shaftscore_app.views.shaft_words import HEADS, ShaftRow, bending_text, force_text

if TYPE_CHECKING:
    from shaftscore_app.views.shaft_canvas import ShaftPicture

PER_NEWTON, MOST_ARROW = 5.0, 44.0
"""Length of an arrow by newton, and its greatest, px of the design."""

CELLS = (0.0, 0.36, 0.52, 0.74, 1.0)
"""Where the cells of the table begin, and where the last ends, as shares of its width."""

LINE = 14
"""Height of a line of text, px of the design."""

HEADING = 24
"""Height of the table's heading, px of the design."""

_LEFT = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
_RIGHT = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter


class ShaftPainting:
    """One picture; held: the bearing that the keys or the mouse are on."""

    def __init__(
        self,
        painter: QPainter,
        theme: Theme,
        places: ShaftPlaces,
        picture: ShaftPicture,
        held: BearingEnd | None,
    ) -> None:
        """Take what is drawn and where."""
        self._painter, self._theme, self._places = painter, theme, places
        self._picture, self._held = picture, held
        self._fonts: dict[int, tuple[QFont, QFontMetricsF]] = {}

    def draw(self) -> None:
        """Draw everything, back to front."""
        side = self._picture.side
        held = None if self._held is None else ("lower", "upper").index(self._held)
        chosen = () if self._picture.selected is None else (self._picture.selected,)
        look = ShaftLook(chosen=chosen, held=held, described=side.described)
        painting = ScenePainting(self._painter, self._theme, self._places.scale, self._places.axis)
        painting.paint(side_scene(side, look, heights=self._picture.heights))
        if self._picture.at is not None:
            self._draw_forces()
            self._draw_reactions()
            self._draw_bending()
        self._draw_clamp_text()
        if self._picture.heights:
            self._draw_heights()
        self._draw_table()

    def _pen(self, token: str, width: float = 1.0, dashes: tuple[float, ...] = ()) -> QPen:
        pen = QPen(self._theme.color(token), width * self._theme.u)
        if dashes:
            pen.setDashPattern([dash / width for dash in dashes])
        return pen

    # Forces

    def _draw_forces(self) -> None:
        at = self._picture.at
        assert at is not None
        drawn = {roller.lane_id for roller, _y in self._places.rows(self._picture.side)}
        for roller in self._picture.side.rollers:
            push, chosen = at.push_n.get(roller.lane_id), roller.lane_id == self._picture.selected
            if push is None:
                continue
            box, gap = self._places.box(roller), self._theme.px(5)
            token = "accent" if chosen else "text"
            y, start = self._places.y(roller.z_mm), box.right() + gap
            tail = start + self._length(push)
            head, foot = (start, tail) if push >= 0 else (tail, start)
            self._arrow(QPointF(foot, y), QPointF(head, y), token)
            if roller.lane_id in drawn or chosen:
                self._text(QPointF(tail + gap, y), force_text(push), token, 600 if chosen else 500)

    def _length(self, newtons: float) -> float:
        """Return the length of an arrow, at least that of its head."""
        return self._theme.u * min(max(PER_NEWTON * abs(newtons), 6.0), MOST_ARROW)

    def _arrow(self, tail: QPointF, head: QPointF, token: str) -> None:
        painter, size = self._painter, 5.0 * self._theme.u
        way = 1.0 if head.x() > tail.x() else -1.0
        painter.setPen(self._pen(token, 1.5))
        painter.drawLine(tail, QPointF(head.x() - way * size * 0.8, head.y()))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(self._theme.color(token))
        xs = [head.x(), head.x() - way * size, head.x() - way * size]
        painter.drawPolygon(polygon_of(xs, [head.y(), head.y() - size * 0.55, head.y() + size * 0.55]))

    def _draw_reactions(self) -> None:
        """Draw what the bearings push back with, at their left, where no rollers are."""
        at, gap = self._picture.at, self._theme.px(4)
        assert at is not None
        for part, newtons in zip(self._picture.side.of_kind("bearing"), at.reactions_n, strict=False):
            box = self._places.box(part)
            head = QPointF(box.left() - gap, box.center().y())
            tail = QPointF(head.x() - min(self._length(newtons), self._theme.px(24)), head.y())
            text = wording.newtons(newtons)
            metrics = self._metrics(600)
            wide = metrics.horizontalAdvance(text)
            place = QRectF(
                tail.x() - gap - wide - 4, head.y() - metrics.height() / 2, wide + 4, metrics.height()
            )
            self._painter.fillRect(place, self._theme.color("panel"))
            self._arrow(tail, head, "text")
            self._write(place, text, "text", 600, _RIGHT)

    def _draw_clamp_text(self) -> None:
        clamps = self._picture.side.of_kind("clamp")
        box = self._places.box(clamps[0]) if clamps else QRectF()
        if self._picture.clamp and box.height() >= self._theme.px(LINE):
            place = QPointF(box.right() + self._theme.px(6), box.center().y())
            self._text(place, self._picture.clamp, "text", 600)

    # Bending

    def _draw_bending(self) -> None:
        at, x = self._picture.at, self._places.bending
        if at is None or x is None:
            return
        room = self._theme.px(BENDING) / 2 - self._theme.px(8)
        factor = exaggeration(at.most_mm, room / self._places.scale)
        lines = [self._places.y(z) for z in at.line_z_mm]
        across = [x - value * factor * self._places.scale for value in at.line_mm]
        painter = self._painter
        painter.setPen(self._pen("edge", 1.0, (3.0, 3.0)))
        painter.drawLine(QPointF(x, lines[0]), QPointF(x, lines[-1]))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pen("accent", 1.75))
        painter.drawPolyline(polygon_of(across, lines))
        self._ends(x, lines[0], lines[-1])
        most = int(abs(at.line_mm).argmax())
        painter.setBrush(self._theme.color("panel"))
        painter.setPen(self._pen("accent", 1.75))
        painter.drawEllipse(QPointF(across[most], lines[most]), 3.5 * self._theme.u, 3.5 * self._theme.u)
        self._say_bending(factor)

    def _ends(self, x: float, low: float, high: float) -> None:
        """Draw the bearings of the bending line as triangles."""
        size = 5.0 * self._theme.u
        self._painter.setPen(self._pen("text", 1.0))
        self._painter.setBrush(self._theme.color("panel"))
        for y, way in ((low, 1.0), (high, -1.0)):
            self._painter.drawPolygon(
                polygon_of([x, x - size, x + size], [y, y + way * size, y + way * size])
            )

    def _say_bending(self, factor: float) -> None:
        at, px = self._picture.at, self._theme.px
        assert at is not None
        head, figure, drawn = bending_text(at, factor)
        left, top = px(12), px(4)
        metrics = self._metrics(600)
        self._text(QPointF(left, top + px(8)), head, "text", 600)
        self._text(QPointF(left + metrics.horizontalAdvance(head + "  "), top + px(8)), figure, "accent", 600)
        self._text(QPointF(left, top + px(23)), drawn, "muted")

    # Heights

    def _draw_heights(self) -> None:
        x, px = self._places.heights, self._theme.px
        discs = self._picture.side.of_kind("disc")
        if x is None or not discs:
            return
        painter, metrics = self._painter, self._metrics(400)
        top = self._places.y(self._picture.side.plan.height_mm)
        painter.setPen(self._pen("edge", 1.0))
        painter.drawLine(QPointF(x, self._places.y(0.0)), QPointF(x, top))
        last = -1e9
        whole = self._picture.side.plan.height_mm
        for z in (whole, *(part.bottom_mm for part in reversed(discs))):
            y = self._places.y(z)
            if y - last < metrics.height():
                continue
            last = y
            painter.setPen(self._pen("edge", 1.0))
            painter.drawLine(QPointF(x - px(3), y), QPointF(x + px(3), y))
            place = QRectF(x - px(48), y - px(8), px(40), px(16))
            token, weight = ("text", 600) if z == whole else ("muted", 400)
            self._write(place, wording.plain(z, 1), token, weight, _RIGHT)
        title = QRectF(x - px(48), top - px(30), px(56), px(14))
        if title.top() >= px(HEAD) or self._places.bending is None:  # the words of the bending are above
            self._write(title, "z, mm", "muted", 400, _RIGHT)

    # Table

    def _draw_table(self) -> None:
        table = self._places.table
        if table is None or not self._picture.rows:
            return
        texts = {row.lane_id: row for row in self._picture.rows}
        rows = list(self._places.rows(self._picture.side))
        if not rows:
            return
        first = rows[0][1] - self._places.row / 2 - self._theme.px(HEADING + 6)
        self._draw_heads(QRectF(table.left(), max(first, 0.0), table.width(), self._theme.px(HEADING)))
        for roller, y in rows:
            box = QRectF(table.left(), y - self._places.row / 2, table.width(), self._places.row)
            self._draw_row(box, texts[roller.lane_id])

    def _draw_heads(self, box: QRectF) -> None:
        for cell, text, way in zip(self._cells(box), HEADS, (_LEFT, _RIGHT, _RIGHT, _RIGHT), strict=True):
            self._write(cell, text, "muted", 400, way)
        self._painter.setPen(self._pen("edge", 1.0))
        self._painter.drawLine(box.bottomLeft(), box.bottomRight())

    def _draw_row(self, box: QRectF, row: ShaftRow) -> None:
        px, chosen = self._theme.px, row.lane_id == self._picture.selected
        if chosen:
            self._painter.fillRect(box.adjusted(-px(4), 0, px(4), 0), self._theme.color("accent-soft"))
        lane, force, height, overlap = self._cells(box)
        code = self._metrics(400).horizontalAdvance("AA00 ")
        self._write(lane, row.code, "muted", 400, _LEFT)
        name = lane.adjusted(code, 0, 0, 0)
        shown = self._metrics(600).elidedText(row.name, Qt.TextElideMode.ElideRight, name.width() - px(4))
        self._write(name, shown, "text", 600, _LEFT)
        self._write(force, row.force, "text", 400, _RIGHT)
        self._write(height, row.height, "text", 400, _RIGHT)
        of = self._metrics(400).horizontalAdvance(row.of) + px(4)
        self._write(overlap, row.of, "muted", 400, _RIGHT)
        least = overlap.adjusted(0, 0, -of, 0)
        self._write(least, row.overlap, "error" if row.is_narrow else "text", 600, _RIGHT)
        if row.is_narrow:
            size = self._theme.px(12)
            left = least.right() - self._metrics(600).horizontalAdvance(row.overlap) - 1.3 * size
            place = QRectF(left, box.center().y() - size / 2, size, size)
            self._painter.drawPixmap(place.toRect(), self._theme.pixmap("severity-error", 12, "error"))

    def _cells(self, box: QRectF) -> tuple[QRectF, QRectF, QRectF, QRectF]:
        """Return the cells of a row: lane, force, height, overlap."""
        ends = [box.left() + share * box.width() for share in CELLS]
        gap = self._theme.px(8)
        lane, force, height, overlap = (
            QRectF(start, box.top(), end - start - (gap if end < ends[-1] else 0), box.height())
            for start, end in pairwise(ends)
        )
        return lane, force, height, overlap

    # Text

    def _font(self, weight: int) -> QFont:
        """Return the font of a weight, made once a picture: a hundred texts are written."""
        if weight not in self._fonts:
            font = self._theme.font(11, weight)
            self._fonts[weight] = font, QFontMetricsF(font)
        return self._fonts[weight][0]

    def _metrics(self, weight: int) -> QFontMetricsF:
        self._font(weight)
        return self._fonts[weight][1]

    def _text(self, at: QPointF, text: str, token: str, weight: int = 400) -> None:
        """Write a text that begins at a place, its middle at that height."""
        metrics = self._metrics(weight)
        place = QRectF(
            at.x(), at.y() - metrics.height(), metrics.horizontalAdvance(text) + 4, 2 * metrics.height()
        )
        self._write(place, text, token, weight, _LEFT)

    def _write(self, box: QRectF, text: str, token: str, weight: int, way: Qt.AlignmentFlag) -> None:
        self._painter.setFont(self._font(weight))
        self._painter.setPen(QColor(self._theme.color(token)))
        self._painter.drawText(box, way | Qt.TextFlag.TextDontClip, text)
