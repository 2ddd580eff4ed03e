"""The timing diagram at full width, on as many pages as its lanes need."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from shaftscore.base.wording import rpm, seconds
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.drawing.timing.page import TimingPage, timing_pages
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import DrawingBlock, FittedSection, gap, height_mm, section, titles
from shaftscore.make.manual.markup import plain_para

TITLE = "Timing diagram"
"""Title of the section."""

NOTE = (
    "A bar is a dwell: the output rests at that level. Between bars it moves by its law. A lane is at a "
    "level while its output is within the band of that level."
)
"""What is said below the diagram."""

EDGE_MM = 1.6
"""Stops at 360° stand out of the diagram by so much."""

LEAST_SHARE = 0.75
"""Share of a page that is left where a diagram of several pages begins."""


def timing(context: ManualContext) -> list[Any]:
    """Return the section."""
    high = context.room_mm[1]
    pages = _pages(context, high)
    if len(pages) == 1:
        return section(TITLE, _lead(context), list(_drawn(pages)), context.room_mm)
    return [FittedSection(partial(_made, context), LEAST_SHARE * high, high)]


def _made(context: ManualContext, high_mm: float) -> list[Any]:
    return [*titles(TITLE, _lead(context)), *_drawn(_pages(context, high_mm))]


def _pages(context: ManualContext, high_mm: float) -> tuple[TimingPage, ...]:
    """Return the pages of the diagram in a height, mm, from which title and note are taken."""
    wide = context.wide_mm
    beside = [*titles(TITLE, _lead(context)), plain_para(NOTE, "column")]
    return timing_pages(context.report, wide - EDGE_MM, high_mm - height_mm(beside, wide) - 3.0)


def _drawn(pages: tuple[TimingPage, ...]) -> Iterator[Any]:
    for page in pages:
        box = Bounds(0.0, 0.0, page.wide_mm, page.high_mm)
        yield DrawingBlock(page.scene, box=box, align="LEFT")
        yield gap(2.0)
    yield plain_para(NOTE, "column")


def _lead(context: ManualContext) -> str:
    shaft = context.project.shaft
    period = context.project.period
    several = f" The machine repeats after {period:,} cycles; this is the first." if period > 1 else ""
    return (
        f"One turn of the master shaft, {shaft.turn}, in the direction in which the machine runs: "
        f"{seconds(60.0 / shaft.speed_rpm, 1)} at {rpm(shaft.speed_rpm)}.{several}"
    )
