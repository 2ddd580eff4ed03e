"""bad-part: parts of followers that cannot be made, for the reasons that their maker has, with their cure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType

from shaftscore.base.wording import millimetres
from shaftscore.judge.checks.base import Curable, MachineCheck, Memo
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.layout.bed import stack_material
from shaftscore.layout.brackets import follower_faults
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.pivots import LeverSeat, lever_seats, pivot_axle
from shaftscore.model import Project
from shaftscore.model.parts_fit import PIVOT_MM
from shaftscore.solution import LaneSolution, Solution, solve
from shaftscore.solution.incremental import Incremental
from shaftscore.stack import stack_plan

FIRST_PLACE = 20_000
"""Findings of followers' parts come after those of walls, drive and frame."""

LENGTHS: Mapping[str, str] = MappingProxyType(
    {
        "follower.body_width_mm": "Body width",
        "follower.roller_radius_mm": "Roller radius",
        "follower.arm_thickness_mm": "Arm thickness",
        "follower.guide_start_mm": "Guide start",
        "follower.guide_length_mm": "Guide length",
        "parts.arm_mm": "Arm",
        "parts.output_arm_mm": "Output arm",
        "parts.spring_hook_mm": "Spring hook at",
        "parts.thickness_mm": "Thickness",
        "parts.pivot": "Pivot",
        "parts.links[0].mm": "Coupler",
        "parts.links[1].mm": "Guide link",
    }
)
"""Names of lengths in the sentences of cures, by their paths in a lane."""


def follower_parts(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find parts of followers that cannot be made; in a hurry what was last said of them stands in."""
    made = [lane for lane in solution.lanes.values() if lane.lane.parts is not None]
    if not made:
        return
    project = solution.project
    reads = (project.print, project.frame, *project.stacks, *solution.lanes.values())

    def compute(inside: Incremental) -> tuple[Finding, ...]:
        return tuple(_of_lanes(solution, Memo(inside, memo.cures), made))

    found, _ = memo.kept.keep_late("follower parts", reads, compute)
    yield from found or ()


def _of_lanes(solution: Solution, memo: Memo, made: Sequence[LaneSolution]) -> Iterator[Finding]:
    """Find parts that cannot be made, lane by lane."""
    seats, project = lever_seats(solution), solution.project
    materials = {stack.id: stack_material(project, stack.id) for stack in project.stacks}
    for lane in made:
        seat = seats.get(lane.lane.id)
        held = () if seat is None else (seat.floor_mm, seat.is_sleeve, seat.top_mm)
        reads = (lane, project.stack_of(lane.lane), project.print, project.frame, *held)
        plan = stack_plan(project, project.stack_of(lane.lane))
        heights = plan.heights_of(lane.lane.disc_of or lane.lane.id)
        reads += (*heights, materials[lane.stack], *_beside(lane, seat, made))
        compute = partial(_of_lane, solution, lane, seats)
        yield from memo.keep_curable(("follower parts", lane.lane.id), reads, compute)


def _of_lane(solution: Solution, lane: LaneSolution, seats: Mapping[str, LeverSeat]) -> Iterator[Curable]:
    for place, fault in enumerate(_faults(solution, lane, seats)):
        why = f"{fault}."
        one = found("bad-part", (lane.lane.id,), value=0.0, limit=0.0, place=FIRST_PLACE + place, why=why)
        yield Curable(one, partial(_cure, solution, lane, fault), slow=True)


def _faults(
    solution: Solution, lane: LaneSolution, seats: Mapping[str, LeverSeat]
) -> tuple[FollowerLayoutError, ...]:
    """Return what keeps the parts of a lane's follower from being laid out, or from being made."""
    try:
        layout = machine_follower(solution, lane, seats)
    except FollowerLayoutError as error:
        return (error,)
    if layout is None:
        return ()
    return (*follower_faults(solution.project, layout), *_floating(solution, lane, layout, seats))


def _beside(
    lane: LaneSolution, seat: LeverSeat | None, made: Iterable[LaneSolution]
) -> tuple[LaneSolution, ...]:
    """Return what else decides whether a guide link has a rod to stand on: the levers below its own."""
    return _on_one_rod(lane, made) if seat is not None and seat.is_sleeve else ()


def _on_one_rod(lane: LaneSolution, made: Iterable[LaneSolution]) -> tuple[LaneSolution, ...]:
    """Return the other lanes whose levers turn on the rod of a lane's lever."""
    own = pivot_axle(lane)
    if own is None:
        return ()
    others = (one for one in made if one.stack == lane.stack and one.lane.id != lane.lane.id)
    return tuple(one for one in others if own.is_one_with(pivot_axle(one)))


def _floating(
    solution: Solution, lane: LaneSolution, layout: FollowerLayout, seats: Mapping[str, LeverSeat]
) -> Iterator[FollowerLayoutError]:
    """Yield that nothing is under the sleeve of a guide link: its rod is not that of the lever below."""
    if layout.guide_pivot is None or not layout.is_sleeve:
        return
    parts = (one for one in solution.lanes.values() if one.lane.parts is not None)
    below = [one for one in _on_one_rod(lane, parts) if seats[one.lane.id].floor_mm < layout.floor_mm]
    if not below:
        return
    next_ = max(below, key=lambda one: seats[one.lane.id].floor_mm)
    try:
        other = machine_follower(solution, next_, seats)
    except FollowerLayoutError:  # which has a finding of its own
        return
    at = None if other is None else other.guide_pivot
    if at is None or abs(at - layout.guide_pivot) > PIVOT_MM:
        told = f"{lane.lane.label}: it turns on the rod of {next_.lane.label}, but its guide link does not"
        yield FollowerLayoutError(f"{told}; the same arms and links, or a pivot of its own, are required")


def _cure(solution: Solution, lane: LaneSolution, fault: FollowerLayoutError) -> Cure | None:
    """Return the length that mends a fault, where one does and makes no new one."""
    if not fault.path:
        return None
    name = LENGTHS[fault.path]
    text = f"{name}: none." if fault.value_mm is None else f"{name} {millimetres(fault.value_mm)}."
    changed = {"lane_id": lane.lane.id, "path": fault.path, "value_mm": fault.value_mm}
    before = len(_faults(solution, lane, lever_seats(solution)))

    def is_cured(project: Project) -> bool:
        own = solve(project, lanes=[lane.lane.id]).lanes[lane.lane.id]
        made = replace(solution, project=project, lanes={**solution.lanes, lane.lane.id: own})
        if own.profile is None:
            return False
        left = _faults(made, own, lever_seats(made))
        return len(left) < before or not any(one.path == fault.path for one in left)

    return first_verified(solution.project, [Attempt("set_length", changed, text)], is_cured)


FOLLOWER_PARTS = MachineCheck(("bad-part",), follower_parts)
"""The row of the table of checks."""
