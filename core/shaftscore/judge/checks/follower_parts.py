"""bad-part: parts of followers that cannot be made, for the reasons that their maker has, with their cure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import partial
from types import MappingProxyType

from shaftscore.base.wording import millimetres
from shaftscore.judge.checks.base import Curable, MachineCheck, Memo
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.layout.brackets import follower_faults
from shaftscore.layout.followers import FollowerLayoutError, machine_follower
from shaftscore.layout.pivots import LeverSeat, lever_seats
from shaftscore.model import Project
from shaftscore.solution import LaneSolution, Solution, solve

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
    """Find parts of followers that cannot be made, lane by lane."""
    made = [lane for lane in solution.lanes.values() if lane.lane.parts is not None]
    if not made:
        return
    seats = lever_seats(solution)
    project = solution.project
    for lane in made:
        seat = seats.get(lane.lane.id)
        heights = () if seat is None else (seat.floor_mm, seat.is_sleeve, seat.top_mm)
        reads = (lane, project.stack_of(lane.lane), project.print, project.frame, *heights)
        reads += (*project.discs_of(project.stack_of(lane.lane)),)
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
    return () if layout is None else tuple(follower_faults(solution.project, layout))


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
