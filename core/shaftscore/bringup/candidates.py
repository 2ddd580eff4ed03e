"""The likely build faults of a project: what its parts permit, one family after another.

A *family* is one kind of fault at one place; where its size is free (an angle, a share) it holds several
faults, of which the one that explains most stands for all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from shaftscore.base.angles import TURN
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.permitted import (
    goes_on_turned_over,
    positions,
    stack_goes_on_turned_over,
    tooth_deg,
)
from shaftscore.bringup.records import BuildFault
from shaftscore.model import Lane, Project, Stack

SHARES = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0)
"""Shares of the drawn travel that are tried."""

LATE_FALLS_DEG = (2.0, 3.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0)
"""Angles by which falls may be late."""

FINEST_DEG = 2.0
"""Smallest angle by which falls are late, degrees."""

LEAST_SHARE = 0.099
"""Smallest share by which a travel is short or long: less is a matter of measuring, not of finding."""

TURNED_STEP_DEG = 5.0
"""Steps in which a disc on a round rod is turned."""

SHIFTS_DEG = tuple(float(step) for step in range(-180, 181) if step)
"""Angles by which all lanes may be late."""


@dataclass(frozen=True)
class FaultFamily:
    """Faults of one kind at one place, of which a machine has at most one."""

    faults: tuple[BuildFault, ...]

    @property
    def lanes(self) -> tuple[str, ...]:
        """Ids of the lanes that it names."""
        return self.faults[0].lanes


def wide_faults(outputs: BuiltOutputs) -> Iterator[BuildFault]:
    """Yield the faults of a known size that touch all lanes or a whole stack."""
    project = outputs.project
    yield said.wrong_way(project)
    for stack in _carrying(outputs):
        if stack_goes_on_turned_over(project, stack) and _whole(outputs, project.discs_of(stack)):
            yield said.upside_down(project, stack)
    for place, stack in enumerate(project.stacks):
        tooth = tooth_deg(project, stack)
        if tooth is None:
            continue
        turns = project.turns_of(stack)
        for late in (tooth / turns, -tooth / turns):
            yield said.hub_tooth(late) if place == 0 else said.geared_tooth(stack, late)


def _carrying(outputs: BuiltOutputs) -> Iterator[Stack]:
    """Yield the stacks that carry discs."""
    yield from (stack for stack in outputs.project.stacks if outputs.project.discs_of(stack))


def _whole(outputs: BuiltOutputs, lanes: Sequence[Lane]) -> bool:
    return all(lane.id in outputs.solution.lanes and outputs.has_profile(lane.id) for lane in lanes)


def pair_families(outputs: BuiltOutputs) -> Iterator[FaultFamily]:
    """Yield two swapped neighbouring discs, and two crossed neighbouring levers."""
    project = outputs.project
    for stack in _carrying(outputs):
        for low, high in pairwise(project.discs_of(stack)):
            if low.id not in outputs.lanes or high.id not in outputs.lanes:
                continue
            if _whole(outputs, (low, high)):
                yield FaultFamily((said.swapped(project, low.id, high.id),))
            yield FaultFamily((said.crossed(project, low.id, high.id),))


def lane_families(outputs: BuiltOutputs, lane_id: str) -> Iterator[FaultFamily]:
    """Yield the faults of one lane; raises KeyError for an unknown one."""
    yield from disc_families(outputs, lane_id)
    yield from follower_families(outputs, lane_id)


def disc_families(outputs: BuiltOutputs, lane_id: str) -> Iterator[FaultFamily]:
    """Yield the ways in which a lane's disc can sit wrongly; raises KeyError for an unknown lane."""
    project = outputs.project
    lane = project.lane(lane_id)
    if not lane.has_disc:
        return
    stack = project.stack_of(lane)
    places = positions(stack)
    if places == 0:
        count = round(TURN / TURNED_STEP_DEG)
        angles = [half_turn(place * TURNED_STEP_DEG) for place in range(1, count)]
        yield FaultFamily(tuple(said.turned_disc(project, lane_id, angle) for angle in sorted(angles)))
    for place in range(1, places):
        angle = half_turn(TURN * place / places)
        yield FaultFamily((said.off_position(project, lane_id, angle, turned_over=False),))
    if not (goes_on_turned_over(stack, lane) and outputs.has_profile(lane_id)):
        return
    yield FaultFamily((said.disc_over(project, lane_id),))
    for place in range(1, places):
        angle = half_turn(TURN * place / places)
        yield FaultFamily((said.off_position(project, lane_id, angle, turned_over=True),))


def finer(project: Project, fault: BuildFault) -> tuple[BuildFault, ...]:
    """Return faults of nearly the size of one that has a free size; none of the others."""
    around, lanes = (-4, -3, -2, -1, 1, 2, 3, 4), fault.lanes
    if fault.kind == "travel":
        shares = [round(fault.share + 0.02 * step, 2) for step in around]
        return tuple(said.travel(project, lanes[0], one) for one in shares if abs(one - 1) >= LEAST_SHARE)
    if fault.kind == "late-falls":
        late = [fault.angle_deg + step / 2 for step in around]
        return tuple(said.late_falls(project, lanes[0], one) for one in late if one >= FINEST_DEG)
    if fault.kind == "turned-disc":
        turned = [fault.angle_deg + step for step in around]
        return tuple(said.turned_disc(project, lanes[0], one) for one in turned if abs(one) >= FINEST_DEG)
    if fault.kind == "all-late":
        return tuple(said.all_late(fault.angle_deg + step / 4) for step in around)
    if fault.kind == "slips":
        return tuple(said.slips(fault.angle_deg + step / 4, fault.slip_at_deg) for step in around)
    return ()


def half_turn(angle_deg: float) -> float:
    """Return an angle of 0 to 360 degrees as one of -180 (left out) to 180 degrees."""
    return angle_deg - TURN if angle_deg > TURN / 2 else angle_deg


def follower_families(outputs: BuiltOutputs, lane_id: str) -> Iterator[FaultFamily]:
    """Yield what can be wrong with a lane's follower; raises KeyError for an unknown lane."""
    project = outputs.project
    lane = project.lane(lane_id)
    for level in project.levels_of(lane):
        yield FaultFamily((said.stuck(project, lane_id, level),))
    yield FaultFamily(tuple(said.travel(project, lane_id, share) for share in SHARES))
    if lane.follower.closure != "spring":
        return
    yield FaultFamily(tuple(said.late_falls(project, lane_id, late) for late in LATE_FALLS_DEG))
    if not falls_by_itself(lane):
        yield FaultFamily((said.spring_off(project, lane_id),))


def falls_by_itself(lane: Lane) -> bool:
    """Return whether a lane's steady load alone brings its follower back, without the spring."""
    load = lane.load
    return load is not None and load.external_n > load.static_ratio * load.friction_most_n


def item_faults(project: Project) -> Iterator[BuildFault]:
    """Yield the faults of what flows through the machine."""
    flow = project.flow
    if flow is None:
        return
    for magazine in flow.magazines:
        yield said.empty(magazine.id)
    if any(channel.travel_max_s > channel.travel_min_s for channel in flow.channels):
        yield said.slow_items()
