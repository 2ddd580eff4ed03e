"""The plan: each plate with what stands on it, and the table of its holes, by the names in the drawing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from shaftscore.layout.frame_plan import BOTH, PlateSide, plate_code
from shaftscore.make.drawing.pictures import PlatePlan, plate_plan
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import (
    DrawingBlock,
    FittedSection,
    boxed,
    gap,
    grid,
    heading,
    height_mm,
    section,
    titles,
    together,
)
from shaftscore.make.manual.markup import bold, para, plain_para, said
from shaftscore.make.manual.paper import NOT_DESCRIBED

DRAWING_MM = 150.0
"""Height of the drawing of a plate, at most."""

LEAST_MM, LEAST_SHARE = 70.0, 0.62
"""Height of a drawing on the page of its holes, at least; share of a page that is left where one begins."""

COLUMNS_MM = (9.0, 13.0, 13.0, 11.0)
"""Widths of the columns of holes but the last."""

HEADS = {"hole": "Hole", "x, mm": "x", "y, mm": "y", "diameter, mm": "⌀", "what for": "For"}
"""Short heads of the columns."""

TITLE = "Plan of the machine"
"""Title of the section."""


def plan(context: ManualContext) -> list[Any]:
    """Return the section, a part a plate."""
    high = context.room_mm[1]
    if context.order.frame is None:
        told = f"The frame is {NOT_DESCRIBED}: {bold('Machine > Frame…')}"
        why = "Plates, holes and the motor’s place are drawn here then, with a drilling template."
        return section(TITLE, "", [para(f"{told} {said(why)}")], context.room_mm)
    return [FittedSection(partial(_section, context, side), LEAST_SHARE * high, high) for side in BOTH]


def _section(context: ManualContext, side: PlateSide, high_mm: float) -> list[Any]:
    """Return the section of one plate in a height, mm."""
    wide = context.wide_mm
    drawn = plate_plan(context.machine, side, wide, DRAWING_MM)
    assert drawn is not None, "there is a frame"
    _, *rest = _plate(context, drawn)
    room = high_mm - height_mm([*_titles(drawn), *rest], wide) - 1.0
    if LEAST_MM <= room < drawn.high_mm:
        drawn = plate_plan(context.machine, side, wide, room) or drawn
    return [*_titles(drawn), *_plate(context, drawn)]


def _titles(one: PlatePlan) -> list[Any]:
    lead = (
        f"{one.name} seen from the top, {one.scale_text}, shaft at 0°. Every hole has one name: here, in the "
        "table, and on the plate."
    )
    return titles(TITLE if one.name == plate_code(BOTH[0]) else f"{TITLE}: {one.name}", lead)


def _plate(context: ManualContext, one: PlatePlan) -> Iterator[Any]:
    """Yield the drawing of a plate, its holes and its notes."""
    yield DrawingBlock(one.scene, box=Bounds(0.0, 0.0, one.wide_mm, one.high_mm))
    yield gap(3.0)
    beside = "mm from the axis of the first shaft; x along the reference line"
    yield heading(f"Holes in {one.name}", beside, context.wide_mm)
    yield gap(0.8)
    yield _holes(context, one)
    yield gap(3.0)
    template = "The drilling template at full size is drill_template_a4.pdf or drill_template_letter.pdf."
    notes = [note.removeprefix("Seen from the top, full size. ") for note in one.notes]
    yield together(boxed([plain_para(" ".join((*notes, template)))], context.wide_mm))


def _holes(context: ManualContext, one: PlatePlan) -> Any:
    """Return the table of holes, in two columns."""
    own = (context.wide_mm - 6.0) / 2
    widths = (*COLUMNS_MM, own - sum(COLUMNS_MM))
    head = [_head(one.head), _head(one.head)]
    half = -(-len(one.rows) // 2)
    rows = []
    for place in range(half):
        right = _row(one.rows[half + place]) if half + place < len(one.rows) else [""] * len(widths)
        rows.append([*_row(one.rows[place]), "", *right])
    blank = [("LINEBELOW", (5, 0), (5, -1), 1.6, "#ffffff")]
    return grid([[*head[0], "", *head[1]], *rows], (*widths, 6.0, *widths), pad_mm=0.45, commands=blank)


def _head(names: Sequence[str]) -> list[Any]:
    return [
        plain_para(HEADS.get(name, name), "column-right" if 0 < place < 4 else "column")
        for place, name in enumerate(names)
    ]


def _row(cells: Sequence[str]) -> list[Any]:
    name, *numbers, purpose = cells
    figures = [plain_para(number, "small-number-plain") for number in numbers]
    return [para(bold(name), "small"), *figures, plain_para(purpose, "small-muted")]
