"""The assembly: numbered drawings, four a page, each with one action a sentence; then which disc is which."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.base.wording import plain
from shaftscore.make.drawing.fonts import shortened
from shaftscore.make.drawing.pictures import (
    AssemblyStep,
    RepeatedStep,
    disc_outlines,
    frame_steps,
    shaft_steps,
    stage_steps,
)
from shaftscore.make.drawing.scene import Bounds
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.flow import MM, DrawingBlock, NumberDisc, gap, grid, heading, section, together
from shaftscore.make.manual.markup import bold, para, plain_para, said
from shaftscore.make.manual.paper import MUTED, SMALL_PT
from shaftscore.model import Stack

GAP_MM, PAD_MM = 5.0, 3.0
"""Between two boxes, and the margin in one."""

MOST_IN_BOX, NAME_MM = 10, 32.0
"""So many steps that are the same are listed in the box of the drawn one; width of a name there, at most."""

TEXT_MM = 26.0
"""Height kept for the words of a step."""


def assembly(context: ManualContext) -> list[Any]:
    """Return a section a shaft, and one for the frame."""
    made: list[Any] = []
    steps: tuple[AssemblyStep, ...] = ()
    for stack in context.stacks:
        first = 1 + (steps[-1].last_number if steps else 0)
        steps = shaft_steps(context.machine, stack, *picture_mm(context), first)
        name = f"Assembly of {stack.label}" if len(context.stacks) > 1 else "Assembly of the shaft"
        lead = "From the bottom up. Power off, springs unhooked. Every zero mark points the same way."
        made += section(
            name,
            lead,
            [*_boxes(context, steps), _legend(), gap(4.0), *_which(context, stack)],
            context.room_mm,
        )
    return [*made, *_frame(context, 1 + (steps[-1].last_number if steps else 0))]


def _frame(context: ManualContext, first: int) -> list[Any]:
    """Return the section of the frame and that of the intermittent stages; without either, nothing."""
    made: list[Any] = []
    steps = frame_steps(context.machine, *picture_mm(context), first)
    if steps:
        lead = "The shafts are assembled. Power off, springs unhooked until the last step."
        made += section("Assembly of the frame", lead, [*_boxes(context, steps), _legend()], context.room_mm)
    after = 1 + steps[-1].last_number if steps else first
    checks = stage_steps(context.machine, *picture_mm(context), after)
    if checks:
        lead = "Before the first run. Power off; turn the machine by hand. Seen from the top, at angle 0."
        made += section("Intermittent stages", lead, list(_boxes(context, checks)), context.room_mm)
    return made


def picture_mm(context: ManualContext) -> tuple[float, float]:
    """Return the room of a drawing, mm: four boxes fill a page."""
    wide, high = context.room_mm
    return (wide - GAP_MM) / 2 - 2 * PAD_MM, (high - 24.0 - GAP_MM) / 2 - TEXT_MM - 2 * PAD_MM - 2.0


def _boxes(context: ManualContext, steps: Sequence[AssemblyStep]) -> Iterator[Any]:
    """Yield the steps, two beside one another."""
    own = (context.wide_mm - GAP_MM) / 2
    for first in range(0, len(steps), 2):
        pair = [_step(context, step) for step in steps[first : first + 2]]
        row = [pair[0], "", pair[1] if len(pair) > 1 else ""]
        boxes = [(0, 0), *([(2, 2)] if len(pair) > 1 else [])]
        commands: list[tuple[Any, ...]] = [
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LEFTPADDING", (0, 0), (-1, -1), PAD_MM * MM),
            ("RIGHTPADDING", (0, 0), (-1, -1), PAD_MM * MM),
            *[("BOX", (column, 0), (column, 0), 0.5, MUTED) for column, _ in boxes],
        ]
        yield grid([row], (own, GAP_MM, own), head=False, lines=False, commands=commands, pad_mm=2.0)
        for step in steps[first : first + 2]:
            if len(step.repeats) > MOST_IN_BOX:
                yield gap(1.5)
                yield para(_all_repeated(step), "column")
        yield gap(GAP_MM - 1.0)


def _step(context: ManualContext, step: AssemblyStep) -> list[Any]:
    """Return what is in the box of a step."""
    wide, high = picture_mm(context)
    parts: list[Any] = [NumberDisc(step.number)]
    if step.scene is not None:
        drawing = DrawingBlock(step.scene, box=Bounds(0.0, 0.0, wide, high), align="LEFT")
        parts = [NumberedDrawing(step.number, drawing)]
    parts += [gap(1.0), para(bold(step.title), "name"), plain_para(step.text, "cell")]
    if 0 < len(step.repeats) <= MOST_IN_BOX:
        parts.append(para(_all_repeated(step), "column"))
    return parts


def _all_repeated(step: AssemblyStep) -> str:
    """Return the steps that are the same, as markup."""
    return " · ".join(map(_repeated, step.repeats))


def _repeated(step: RepeatedStep) -> str:
    """Return one of the steps that are the same, in short."""
    at = "" if step.bottom_mm is None else f"z {plain(step.bottom_mm, 2)}"
    name = shortened(step.name, SMALL_PT, NAME_MM)
    words = [f"{step.number}:", bold(step.code), said(name), said(step.revision), said(at)]
    return " ".join(filter(None, words))


class NumberedDrawing(DrawingBlock):
    """The drawing of a step with its number in the upper left corner."""

    def __init__(self, number: int, drawing: DrawingBlock) -> None:
        """Take the number and the drawing."""
        super().__init__(drawing.drawing, box=drawing.box, align="LEFT")
        self._disc = NumberDisc(number)

    def draw(self) -> None:
        """Paint the drawing, then the number over it."""
        super().draw()
        self._disc.drawOn(self.canv, 0.0, self.height - self._disc.height)


def _which(context: ManualContext, stack: Stack) -> list[Any]:
    """Return the outlines of all discs of a stack, by which they are told apart."""
    rows = disc_outlines(context.machine, stack, context.wide_mm)
    if not rows:
        return []
    drawn = [
        DrawingBlock(row.scene, box=Bounds(0.0, 0.0, context.wide_mm, row.high_mm), align="LEFT")
        for row in rows
    ]
    beside = "seen from the top, zero mark to the right; z in mm from the bottom of the stack"
    head = heading("Which disc is which", beside, context.wide_mm)
    return [together(head, gap(1.5), drawn[0]), *drawn[1:]]


def _legend() -> Any:
    return plain_para(
        "Tinted with a bold outline: what you add in this step. z: height above the bottom of the stack, mm.",
        "column",
    )
