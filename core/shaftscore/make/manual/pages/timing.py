"""The timing diagram at full width, on as many pages as its lanes need."""

from __future__ import annotations

from typing import Any

from shaftscore.base.wording import rpm, seconds
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.drawing.timing.page import timing_pages
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import DrawingBlock, gap, section
from shaftscore.make.manual.markup import plain_para

HEAD_MM = 22.0
"""Height of title and lead, and of the sentence below."""


def timing(context: ManualContext) -> list[Any]:
    """Return the section."""
    wide, high = context.room_mm
    shaft = context.project.shaft
    lead = (
        f"One turn of the master shaft, {shaft.turn}, in the direction in which the machine runs: "
        f"{seconds(60.0 / shaft.speed_rpm, 1)} at {rpm(shaft.speed_rpm)}."
    )
    pages = timing_pages(context.report, wide, high - HEAD_MM)
    drawn: list[Any] = []
    for page in pages:
        box = Bounds(0.0, 0.0, page.wide_mm, page.high_mm)
        drawn += [DrawingBlock(page.scene, box=box, align="LEFT"), gap(2.0)]
    note = (
        "A bar is a dwell: the output rests at that level. Between bars it moves by its law. A lane is at a "
        "level while its output is within the band of that level."
    )
    return section("Timing diagram", lead, [*drawn, plain_para(note, "column")], context.room_mm)
