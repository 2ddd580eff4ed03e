"""How the hub and the wheels of the drive train are put together, as sentences of the manual."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.wording import millimetres, plain
from shaftscore.layout.coupled import hub_wheel
from shaftscore.layout.stacks import own_code
from shaftscore.layout.train import PinionPlan, pinion_plans
from shaftscore.model import Project, Stack

TIGHTEN = {
    "clamp": "tighten the M{size} screw across its slit",
    "set-screw": "tighten its M{size} set screw onto the shaft",
    "bolted": "bolt it on with {count} screws M{size}",
}
"""How a hub of each kind is fixed."""


def hub_step(project: Project, stack: Stack) -> str:
    """Return how the hub of a stack is put on and fixed."""
    hub = stack.hub
    assert hub is not None, "a stack without a hub has no step for it"
    fixed = TIGHTEN[hub.kind].format(size=plain(hub.bolt_mm), count=hub.bolts)
    code = own_code("HUB", project, stack)
    if stack.driven_end == "bottom":
        pegs = ", its pegs up" if stack.dogs is not None else ""
        return f"{code}: put the hub on, collar up{pegs}, its top at z 0, zero mark in line; {fixed}."
    pockets = ", the long peg of the last part in its long pocket" if stack.dogs is not None else ""
    return f"{code}: turn the hub over and put it on, collar down{pockets}, zero mark in line; {fixed}."


def train_steps(project: Project, stack: Stack) -> Iterator[str]:
    """Yield how each pinion is put in mesh, from the hub back, and how a further stack is geared.

    Raises ValueError where the train cannot be made: a machine without its pinions has no such steps.
    """
    if stack is project.stacks[0]:
        for plan in pinion_plans(project):
            yield _pinion(plan)
    wheel = hub_wheel(project, stack)
    if wheel is not None and wheel.mate:
        driver = next(one for one in project.stacks if one.id == wheel.mate)
        yield _geared(project, (stack, driver), wheel.centre_mm)


def _geared(project: Project, stacks: tuple[Stack, Stack], centre_mm: float) -> str:
    """Return how a stack is put in mesh with the one that drives it, which is the second."""
    own, driver = (own_code("HUB", project, one) for one in stacks)
    apart = millimetres(centre_mm, 2)
    return (
        f"{own}: its axis is {apart} from that of {driver}. With the zero marks of both on the reference "
        f"line its marked tooth goes into the gap of {driver} that is marked towards it."
    )


def _pinion(plan: PinionPlan) -> str:
    spur = plan.stage.spur
    where = "on its axle" if plan.flat_mm is None else "on the motor’s shaft"
    apart, backlash = (millimetres(one, 2) for one in (spur.pair.centre_mm, spur.pair.backlash_mm))
    return (
        f"{plan.code}: put the pinion of stage {spur.number} {where}, {apart} from the axis that it drives. "
        "With all zero marks on the reference line its marked tooth points into the gap that is marked with "
        f"a crossed line. The teeth then have {backlash} of backlash; where they bind or knock, look at the "
        "centre distance first."
    )
