"""If it does not work: what you see, the probable cause, what to do; and which fault shows first where."""

from __future__ import annotations

from typing import Any

from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.first_seen import first_seen, left_out_text
from shaftscore.make.manual.flow import DrawingBlock, gap, grid, section
from shaftscore.make.manual.markup import bold, para, plain_para
from shaftscore.make.manual.signs import SYMPTOM_BOX
from shaftscore.make.manual.symptoms import symptoms

SIGN_MM, SEEN_MM = 34.0, 42.0
"""Widths of the columns with the drawing and with what is seen."""

ANGLE_MM, FIRST_MM = 28.0, 56.0
"""Widths of the columns with the angle and with what is seen there."""


def trouble(context: ManualContext) -> list[Any]:
    """Return both sections; the second is left out where no such fault would show."""
    return [*_symptoms(context), *_first_seen(context)]


def _symptoms(context: ManualContext) -> list[Any]:
    left = context.wide_mm - SIGN_MM - SEEN_MM
    head = ["", *[plain_para(text, "column") for text in ("What you see", "Probable cause", "What to do")]]
    rows = [
        [
            DrawingBlock(one.drawing(), box=SYMPTOM_BOX, align="LEFT"),
            para(bold(one.seen)),
            plain_para(one.cause, "cell"),
            plain_para(one.cure, "cell"),
        ]
        for one in symptoms(context)
    ]
    table = grid(
        [head, *rows],
        (SIGN_MM, SEEN_MM, 0.47 * left, 0.53 * left),
        pad_mm=1.6,
        commands=[("VALIGN", (0, 1), (-1, -1), "TOP"), ("RIGHTPADDING", (0, 0), (-2, -1), 10.0)],
    )
    lead = "Dashed: what should happen. Solid: what you see. Start with the lane that differs first after 0°."
    return section("If it does not work", lead, [table, gap(2.0)], context.room_mm)


def _first_seen(context: ManualContext) -> list[Any]:
    """Return the symptom sheet: the first sighting that differs, and the faults that would make it so."""
    found = first_seen(context)
    if not found.rows:
        return []
    head = [plain_para(text, "column") for text in ("Dial at", "First difference", "Likely cause")]
    rows = [
        [
            plain_para(row.angle, "cell"),
            para(bold(row.seen)),
            [plain_para(fault, "cell") for fault in row.faults],
        ]
        for row in found.rows
    ]
    wide = (ANGLE_MM, FIRST_MM, context.wide_mm - ANGLE_MM - FIRST_MM)
    table = grid([head, *rows], wide, pad_mm=1.2, commands=[("VALIGN", (0, 1), (-1, -1), "TOP")])
    lead = (
        "Crank through the test cards from 0°. Find the first sighting that differs from them in this table."
    )
    more = left_out_text(found)
    rest = [plain_para(more, "cell")] if more else []
    return section("The first difference", lead, [table, *rest, gap(2.0)], context.room_mm)
