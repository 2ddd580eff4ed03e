"""If it does not work: what you see, the probable cause, what to do."""

from __future__ import annotations

from typing import Any

from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import DrawingBlock, gap, grid, section
from shaftscore.make.manual.markup import bold, para, plain_para
from shaftscore.make.manual.signs import SYMPTOM_BOX
from shaftscore.make.manual.symptoms import symptoms

SIGN_MM, SEEN_MM = 34.0, 42.0
"""Widths of the columns with the drawing and with what is seen."""


def trouble(context: ManualContext) -> list[Any]:
    """Return the section."""
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
