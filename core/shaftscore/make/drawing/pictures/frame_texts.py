"""The steps of the frame in sentences, one action each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.layout.crank import crank_of
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.layout.stacks import own_code
from shaftscore.layout.train import PinionPlan
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.pictures.stack_parts import sleeve_size
from shaftscore.model import Stack

MOST_NAMED = 8
"""So many names stand one by one in a sentence."""


def few_names(names: Sequence[str]) -> str:
    """Return names in a few words: all of a few, else the first, the last and how many."""
    if len(names) <= MOST_NAMED:
        return listed(list(names))
    return f"{names[0]} to {names[-1]} ({len(names)} in all)"


def sleeve_text(plan: FramePlan) -> str:
    """Return how the upper bearing sleeves are put on; empty where no rod needs one."""
    if all(sleeve_size(shaft.stack) is None for shaft in plan.shafts):
        return ""
    return "Slide the other bearing sleeve on the upper end of each rod. "


def pinion_text(machine: PicturedMachine, plan: PinionPlan) -> Iterator[str]:
    """Yield how a pinion is put on its shaft."""
    spur = plan.stage.spur
    source = "crank" if crank_of(machine.project) is not None else "motor"
    where = "its axle" if plan.flat_mm is None else f"the shaft of the {source}"
    yield f"Put {plan.code} on {where}."
    yield f"Its axis is {millimetres(spur.pair.centre_mm, 2)} from the axis that it drives."
    yield f"The teeth then have {millimetres(spur.pair.backlash_mm, 2)} of backlash."


def mesh_text(machine: PicturedMachine, stack: Stack, *, has_pinion: bool) -> Iterator[str]:
    """Yield how the wheel of a stack is put in mesh, by its marks; has_pinion: one drives it."""
    project = machine.project
    if stack is project.stacks[0] and stack.hub is not None and has_pinion:
        code = own_code("HUB", project, stack)
        yield f"Put the marked tooth of the pinion into the gap of {code} that is marked with a crossed line."
    wheel = machine.wheels.get(stack.id)
    if wheel is not None and wheel.mate:
        driver = next(one for one in project.stacks if one.id == wheel.mate)
        own, other = own_code("HUB", project, stack), own_code("HUB", project, driver)
        yield f"Put the marked tooth of {own} into the gap of {other} that is marked towards it."
        yield f"The axes are {millimetres(wheel.centre_mm, 2)} apart."
    angle = 360.0 / wheel.wheel.teeth if wheel is not None else 0.0
    if angle:
        yield f"One tooth off is {degrees(angle)} off: look at the marks again."
    if stack.rod is not None and stack.rod.bearing == "plain":
        yield f"Oil the rod of {plain(stack.rod.across_mm)} mm where it runs in the plates."
