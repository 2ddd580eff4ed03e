"""The section of every shaft, with heights to measure and room to write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from typing import Any

from shaftscore.base.wording import counted, plain
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.drawing.section import SectionDrawing, stack_section
from shaftscore.make.drawing.section_parts import MeasuredHeight
from shaftscore.make.files.shopping import bore_text
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import (
    DrawingBlock,
    FittedSection,
    gap,
    grid,
    heading,
    height_mm,
    titles,
    together,
)
from shaftscore.make.manual.markup import bold, para, plain_para
from shaftscore.make.manual.words import thickness_text
from shaftscore.model import Dogs, Pins, Stack
from shaftscore.stack import pocket_depth, stack_plan

GAP_MM = 3.0
"""Between the drawing and what is measured."""

LEAST_SHARE = 0.7
"""Share of a page that is left where a section begins."""

WRITE_MM = 28.0
"""Room to write a measured height."""


def sections(context: ManualContext) -> list[Any]:
    """Return a section a shaft."""
    high = context.room_mm[1]
    return [
        FittedSection(partial(_section, context, stack), LEAST_SHARE * high, high) for stack in context.stacks
    ]


def _section(context: ManualContext, stack: Stack, high_mm: float) -> list[Any]:
    """Return the section of a shaft in a height, mm."""
    wide = context.wide_mm
    rough = _drawn(context, stack, high_mm / 2)
    title = "Section of the shaft" if len(context.stacks) == 1 else f"Section of {stack.label}"
    measured = together(heading("Measure these with a caliper"), gap(0.6), _heights(rough.heights, wide))
    beside = [*titles(title, " ".join(_lead(context, stack, rough))), measured]
    drawn = _drawn(context, stack, high_mm - height_mm(beside, wide) - GAP_MM - 1.0)
    return [
        *titles(title, " ".join(_lead(context, stack, drawn))),
        DrawingBlock(drawn.scene, box=Bounds(0.0, 0.0, drawn.wide_mm, drawn.high_mm), align="LEFT"),
        gap(GAP_MM),
        measured,
    ]


def _drawn(context: ManualContext, stack: Stack, high_mm: float) -> SectionDrawing:
    """Return the section in a room of a height, mm."""
    parts = {item.part.lane_id: item.part for item in context.order.of_stack(stack.id)}
    order = context.order
    drawn = stack_section(
        order.report.solution, stack, context.wide_mm, high_mm, frame=order.frame, made=parts
    )
    assert drawn is not None, "the stack has discs"
    return drawn


def _lead(context: ManualContext, stack: Stack, drawn: SectionDrawing) -> Iterator[str]:
    """Yield what is said above the drawing."""
    plan = stack_plan(context.project, stack)
    yield "Full size: lay the stack on the page." if drawn.is_full_size else f"Scale {drawn.scale_text}."
    yield "Hatched: least radius; dashed: largest."
    discs = [layer.top_mm - layer.bottom_mm for layer in plan.layers if layer.lane_id is not None]
    yield f"Discs {thickness_text(discs)}, spacers {plain(stack.spacer_mm, 3)} mm thick, of radius"
    yield f"{plain(stack.spacer_radius_mm, 3)} mm; {plain(plan.height_mm, 3)} mm in all."
    clearance = plain(stack.fit_clearance_mm, 3)
    yield f"Rod: {bore_text(stack.bore)}; holes are wider by {clearance} mm on each side."
    if stack.dogs is not None:
        yield _dogs_text(stack, stack.dogs)
    if stack.pins is not None:
        yield _pins_text(stack.pins)


def _dogs_text(stack: Stack, dogs: Dogs) -> str:
    return (
        f"Dogs: {counted(dogs.count, 'peg')} on a circle of radius {plain(dogs.radius_mm, 3)} mm, "
        f"{plain(dogs.width_mm, 3)} mm wide and {plain(dogs.height_mm, 3)} mm high, the one at the zero mark "
        f"{plain(2 * dogs.width_mm, 3)} mm long; pockets {plain(pocket_depth(stack), 3)} mm deep."
    )


def _pins_text(pins: Pins) -> str:
    return (
        f"Pins: {counted(pins.count, 'rod')} of {plain(pins.across_mm, 3)} mm on a circle of radius "
        f"{plain(pins.radius_mm, 3)} mm, the zero mark midway between two of them; holes are wider by "
        f"{plain(pins.clearance_mm, 3)} mm on each side."
    )


def _heights(found: Sequence[MeasuredHeight], wide_mm: float) -> Any:
    """Return the heights to measure, each with its limits and a line to write on."""
    rows = [
        [
            plain_para(one.what, "cell"),
            para(bold(f"{one.value_mm:.1f} mm"), "number"),
            plain_para(_limit(one), "cell-muted"),
            plain_para("measured", "column-right"),
            "",
        ]
        for one in found
    ]
    line = [("LINEBELOW", (4, 0), (4, -1), 0.8, "#000000")]
    widths = (wide_mm - 40.0 - 20.0 - WRITE_MM - 16.0, 24.0, 16.0, 20.0, WRITE_MM + 16.0)
    return grid(rows, widths, head=False, commands=line, pad_mm=0.7)


def _limit(one: MeasuredHeight) -> str:
    return "" if one.tolerance_mm is None else f"±{one.tolerance_mm:.2f}"
