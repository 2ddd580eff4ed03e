"""What pages are made of besides paragraphs: drawings, tables, boxes, steps, beginnings of sections."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from typing import Any

from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, PageBreak, Spacer, Table

from shaftscore.make.drawing.fonts import POINT_MM
from shaftscore.make.drawing.on_pdf import paint_scene
from shaftscore.make.drawing.scene import Bounds, Path, Scene, scene
from shaftscore.make.drawing.scene import Stroke as SceneStroke
from shaftscore.make.manual.markup import bold, para, plain_para
from shaftscore.make.manual.paper import INK, PALE, TITLE_GAP_MM

MM = 1.0 / POINT_MM
"""Points of a millimetre."""

START_SHARE = 0.5
"""A section begins on the page of the one before where it fits in whole, or this share of a page is free."""

LEAST_TABLE_MM = 40.0
"""So much of a table stays with the title above it."""

LONG_TEXT = 1500
"""A cell with so many letters may be higher than a page."""

TICK_MM = 3.2
"""Side of a box to tick."""

# Any below: the library has no types of its own.


class DrawingBlock(Flowable):  # type: ignore[misc]
    """A drawing at a scale, in a box of the page; the drawing's box comes into its middle."""

    def __init__(
        self,
        drawing: Scene,
        scale: float = 1.0,
        *,
        wide_mm: float | None = None,
        high_mm: float | None = None,
        box: Bounds | None = None,
        align: str = "CENTER",
    ) -> None:
        """Take a drawing; box: what of it is shown, all of it if absent; sizes: of the box on the page."""
        super().__init__()
        self.drawing, self._scale = drawing, scale
        self.box = box or drawing.bounds
        self.width = (wide_mm if wide_mm is not None else self.box.wide * scale) * MM
        self.height = (high_mm if high_mm is not None else self.box.high * scale) * MM
        self.hAlign = align

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Return width and height, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint the drawing."""
        box, scale = self.box, self._scale
        left = (self.width / MM - box.wide * scale) / 2 - box.left * scale
        low = (self.height / MM - box.high * scale) / 2 - box.bottom * scale
        paint_scene(self.canv, self.drawing, scale, complex(left, low))


class FittedSection(Flowable):  # type: ignore[misc]
    """A section that is made for the height that is left on the page, or else for a whole one."""

    def __init__(self, make: Callable[[float], list[Any]], least_mm: float, room_mm: float) -> None:
        """Take what makes it for a height, mm; the least height that it is made for, and that of a page."""
        super().__init__()
        self._make, self._least, self._room = make, least_mm, room_mm

    def wrap(self, *room: float) -> tuple[float, float]:
        """Return a height that no page has: the library then asks for its pieces."""
        return room[0], 1e6

    def split(self, *room: float) -> list[Any]:
        """Return what it is made of in the room that is left, points."""
        left = room[1] / MM
        if left >= self._room - 0.1:
            return self._make(self._room)
        if left >= self._least:
            return self._make(left - TITLE_GAP_MM)
        return [PageBreak(), *self._make(self._room)]


class Bookmark(Flowable):  # type: ignore[misc]
    """A place that the outline of the document leads to; it takes no room."""

    def __init__(self, title: str) -> None:
        """Take what the outline says."""
        super().__init__()
        self._title = title
        self.width = self.height = 0.0

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Return that it takes no room."""
        return 0.0, 0.0

    def draw(self) -> None:
        """Set the mark."""
        self.canv.mark_section(self._title)


def gap(high_mm: float = 3.0) -> Any:
    """Return some room."""
    return Spacer(1, high_mm * MM)


def tick(side_mm: float = TICK_MM) -> DrawingBlock:
    """Return a box to tick."""
    corners = side_mm * _square()
    return DrawingBlock(scene([Path(corners, SceneStroke("ink", "outline"), closed=True)]), align="RIGHT")


def _square() -> Any:
    import numpy as np

    return np.array([0, 1, 1 + 1j, 1j])


def grid(
    rows: Sequence[Sequence[Any]],
    wide_mm: Sequence[float],
    *,
    head: bool = True,
    lines: bool = True,
    commands: Iterable[tuple[Any, ...]] = (),
    pad_mm: float = 0.9,
) -> Any:
    """Return a table of flowables; wide_mm: of the columns; head: whether its first row is repeated."""
    base: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 1.5 * MM),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), pad_mm * MM),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad_mm * MM),
    ]
    if lines:
        base.append(("LINEBELOW", (0, int(head)), (-1, -1), 0.3, PALE))
    if head:
        base.append(("LINEBELOW", (0, 0), (-1, 0), 0.8, INK))
    widths = [wide * MM for wide in wide_mm]
    table = Table(
        rows,
        widths,
        repeatRows=int(head),
        style=[*base, *commands],
        splitInRow=int(_is_long(rows)),
        hAlign="LEFT",
    )
    table.is_splittable = len(rows) > 1
    return table


def _is_long(rows: Sequence[Sequence[Any]]) -> bool:
    """Return whether a cell may be higher than a page: its row then goes on on the next one."""
    return any(getattr(cell, "letters", 0) > LONG_TEXT for row in rows for cell in row)


def text_table(
    head: Sequence[str],
    rows: Iterable[Sequence[str]],
    wide_mm: Sequence[float],
    *,
    right: Iterable[int] = (),
    strong: Iterable[int] = (0,),
    ticks: bool = False,
    small: bool = False,
) -> Any:
    """Return a table of texts.

    right: columns of numbers. strong: columns in bold. ticks: a column of boxes to tick is added. small: in
    the least letters.
    """
    numbers, strong = frozenset(right), frozenset(strong)
    top = [plain_para(text, "column-right" if n in numbers else "column") for n, text in enumerate(head)]

    def styled(place: int) -> str:
        plain = "number" if place in numbers else "cell"
        if small:
            plain = "small-number-plain" if place in numbers else "small"
        return f"{plain}-bold" if place in strong else plain

    body = [[plain_para(text, styled(n)) for n, text in enumerate(row)] for row in rows]
    if ticks:
        top.append(plain_para("Done", "column-right"))
        for row in body:
            row.append(tick())
    commands = [("ALIGN", (-1, 1), (-1, -1), "RIGHT")] if ticks else []
    return grid([top, *body], wide_mm, pad_mm=0.6 if small else 0.9, commands=commands)


def side_by_side(
    cells: Sequence[Any], wide_mm: Sequence[float], *, align: str = "TOP", gap_mm: float = 0.0
) -> Any:
    """Return flowables beside one another; gap_mm: kept right of all but the last."""
    commands = [
        ("VALIGN", (0, 0), (-1, -1), align),
        ("RIGHTPADDING", (0, 0), (-2, -1), gap_mm * MM),
        ("RIGHTPADDING", (-1, 0), (-1, -1), 0),
    ]
    return grid([list(cells)], wide_mm, head=False, lines=False, commands=commands, pad_mm=0.0)


def boxed(content: Sequence[Any], wide_mm: float, *, fill: str | None = None, pad_mm: float = 2.5) -> Any:
    """Return flowables in a box with round corners; fill: its colour."""
    commands: list[tuple[Any, ...]] = [
        ("BOX", (0, 0), (-1, -1), 0.8, INK),
        ("LEFTPADDING", (0, 0), (-1, -1), pad_mm * MM),
        ("RIGHTPADDING", (0, 0), (-1, -1), pad_mm * MM),
        ("TOPPADDING", (0, 0), (-1, -1), pad_mm * MM * 0.7),
        ("BOTTOMPADDING", (0, 0), (-1, -1), pad_mm * MM * 0.9),
        ("ROUNDEDCORNERS", [3, 3, 3, 3]),
    ]
    if fill is not None:
        commands.append(("BACKGROUND", (0, 0), (-1, -1), fill))
    return Table([[list(content)]], [wide_mm * MM], style=commands, hAlign="LEFT")


def numbered(steps: Iterable[str], wide_mm: float, first: int = 1, name: str = "text") -> list[Any]:
    """Return steps of markup, each with its number in a black disc."""
    rows = []
    for number, markup in enumerate(steps, start=first):
        rows.append([NumberDisc(number), para(markup, name)])
    return [
        grid(
            [row],
            (8.0, wide_mm - 8.0),
            head=False,
            lines=False,
            pad_mm=0.8,
            commands=[("VALIGN", (0, 0), (-1, -1), "TOP")],
        )
        for row in rows
    ]


class NumberDisc(Flowable):  # type: ignore[misc]
    """The number of a step, white in a black disc."""

    def __init__(self, number: int, across_mm: float = 5.0) -> None:
        """Take the number."""
        super().__init__()
        self._number, self.width = number, across_mm * MM
        self.height = self.width

    def wrap(self, *_room: float) -> tuple[float, float]:
        """Return width and height, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Paint disc and number."""
        from shaftscore.make.drawing.fonts import face

        half, text = self.width / 2, str(self._number)
        self.canv.setFillColor(INK)
        self.canv.circle(half, half, half, stroke=0, fill=1)
        size = 8.0 if len(text) < 3 else 6.5
        self.canv.setFillColor("#ffffff")
        self.canv.setFont(face(True), size)
        self.canv.drawCentredString(half, half - 0.36 * size, text)


def heading(text: str, beside: str = "", wide_mm: float = 0.0) -> Any:
    """Return a heading within a page; beside: what is said at the right end of its line."""
    if not beside:
        return para(bold(text), "head")
    row = [para(bold(text), "head"), plain_para(beside, "small-right")]
    return grid(
        [row],
        (0.4 * wide_mm, 0.6 * wide_mm),
        head=False,
        lines=False,
        pad_mm=0.3,
        commands=[("VALIGN", (0, 0), (-1, -1), "BOTTOM")],
    )


class TogetherBlock(KeepTogether):  # type: ignore[misc]
    """Flowables that stay on one page."""

    def __init__(self, parts: Sequence[Any]) -> None:
        """Take the flowables."""
        super().__init__(list(parts))
        self.parts = tuple(parts)


def together(*parts: Any) -> TogetherBlock:
    """Return flowables that stay on one page."""
    return TogetherBlock(parts)


def section(title: str, lead: str, content: Sequence[Any], room_mm: tuple[float, float]) -> list[Any]:
    """Return a section with its title and the sentence below it.

    It begins on the page of the one before where there is room for it, or much of that page is free.
    """
    parts = [*titles(title, lead), *content]
    whole = height_mm(parts, room_mm[0]) + TITLE_GAP_MM
    start = height_mm(titles(title, lead), room_mm[0]) + TITLE_GAP_MM + _least_mm(content, room_mm[0])
    needed = max(min(whole, START_SHARE * room_mm[1]), min(start, room_mm[1] - 1.0))
    return [CondPageBreak(needed * MM), *parts]


def titles(title: str, lead: str) -> list[Any]:
    """Return the title of a section and the sentence below it, if any."""
    said = [plain_para(lead, "lead")] if lead else []
    return [para(bold(title), "title"), Bookmark(title), gap(1.0), *said, gap(3.0)]


def _least_mm(content: Sequence[Any], wide_mm: float) -> float:
    """Return what of a section at least stays with its title, mm: its first part, of a table a little."""
    if not content:
        return 0.0
    first = height_mm(content[:1], wide_mm)
    return min(first, LEAST_TABLE_MM) if getattr(content[0], "is_splittable", False) else first


def height_mm(parts: Iterable[Any], wide_mm: float) -> float:
    """Return how high flowables are together in a width, mm."""
    canvas = _measuring()
    return sum(float(one.wrapOn(canvas, wide_mm * MM, 1e6)[1]) for one in _loose(parts)) / MM


def _loose(parts: Iterable[Any]) -> Iterator[Any]:
    """Yield flowables, those that stay together one by one: together they have no height by themselves."""
    for part in parts:
        yield from part.parts if isinstance(part, TogetherBlock) else (part,)


@cache
def _measuring() -> Any:
    """Return a canvas that is never saved, on which flowables are measured."""
    return Canvas(io.BytesIO())
