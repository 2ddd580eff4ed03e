"""weak-part: posts and rods of levers that give way under the contact force by more than the edge may be off.

What counts is by how much more the pivot gives way at the greatest than at the least contact force: adjusting
the output takes the rest away. Forces are those between roller and disc at the highest speed, taken at the
pivot: the shares of output and spring are left out. A free post is fixed at its foot; a rod that both plates
hold is hinged in them. Where levers share a rod each is judged with its own force. The rod is of steel, the
post of what the disc is made of. Posts of guide links, which carry less, are not judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from shaftscore.base.tolerance import over
from shaftscore.base.wording import millimetres, newtons
from shaftscore.built.posts import PostRod
from shaftscore.built.sections import ring_section
from shaftscore.judge.checks.base import Curable, Memo
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.judge.loads.lane import LaneLoads
from shaftscore.judge.loads.machine import MachineLoads
from shaftscore.layout.brackets import post_height_mm
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.frame_heights import bracket_floor_mm, inset_mm
from shaftscore.layout.frame_plan import FrameError
from shaftscore.layout.pivots import lever_seats
from shaftscore.model import Project
from shaftscore.model.materials import materials_of
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import TURNING_MM, post_radius_mm

PLACE = 30_000
"""Distinguishes the findings from those of walls."""

RODS_MM = (4.0, 5.0, 6.0, 8.0, 10.0)
"""Rods that are offered: usual diameters of drawn steel."""

STEEL_GPA = 210.0
"""Young's modulus of the rod, GPa: steel, any handbook."""


def post_findings(solution: Solution, machine: MachineLoads, memo: Memo) -> Iterator[Finding]:
    """Find levers whose posts or rods give way too far."""
    lanes = [lane for lane in machine.lanes if solution.lanes[lane].lane.parts is not None]
    if not lanes:
        return
    project = solution.project
    reads = (project.frame, project.tolerances, project.materials, project.print, *project.stacks)

    def compute(inside: Incremental) -> tuple[Finding, ...]:
        return tuple(_of_lanes(solution, machine, lanes, Memo(inside, memo.cures)))

    kept = (*reads, *solution.lanes.values(), *machine.lanes.values())
    said, _ = memo.kept.keep_late("posts", kept, compute)
    yield from said or ()


def _of_lanes(
    solution: Solution, machine: MachineLoads, lanes: Sequence[str], memo: Memo
) -> Iterator[Finding]:
    seats = lever_seats(solution)
    for lane_id in lanes:
        loads, seat = machine.lanes[lane_id], seats.get(lane_id)
        if seat is None:
            continue
        project = solution.project
        stack = project.stack_of(loads.solved.lane)
        reads: tuple[object, ...] = (
            loads,
            seat.floor_mm,
            seat.is_sleeve,
            seat.top_mm,
            stack,
            project.frame,
            project.tolerances,
        )
        heights = stack_plan(project, stack).heights_of(loads.solved.lane.disc_of or lane_id)
        reads += (*heights, project.materials, project.print)
        compute = partial(_of_lane, solution, loads)
        yield from memo.keep_curable(("post", lane_id), reads, compute)


def _of_lane(solution: Solution, loads: LaneLoads) -> Iterator[Curable]:
    lane, limit = loads.solved.lane, solution.project.tolerances.profile_mm
    layout = _laid_out(solution, loads)
    pressed = _change_n(loads)
    if layout is None or not np.isfinite(pressed):
        return
    rod = post_rod(solution.project, layout)
    gives = rod.deflection_mm(pressed)
    if not over(gives, limit):
        return
    what = f"{lane.label}: the pivot yields by {millimetres(gives, 2)}"
    what += f" as the force at the roller changes by {newtons(pressed)}"
    held = "free post" if rod.length_mm is None else "rod between the plates"
    told = f"{what}, on a {held} of {millimetres(rod.length_mm or rod.at_mm, 0)}"
    why = f"{told}; at most {millimetres(limit, 2)} required, as the profile may be off."
    one = found("weak-part", (lane.id,), value=gives, limit=limit, place=PLACE, why=why)
    yield Curable(one, partial(_cure, solution, loads, layout), slow=True)


def _laid_out(solution: Solution, loads: LaneLoads) -> FollowerLayout | None:
    try:
        return machine_follower(solution, loads.solved, lever_seats(solution))
    except FollowerLayoutError:  # a bad part, which says why
        return None


def _change_n(loads: LaneLoads) -> float:
    """Return by how much the contact force changes at the highest speed, N; inf if a guide locks."""
    judged = loads.profile.nodes.judged
    forces = loads.at_nodes(loads.top_rpm, loads.most_contact_case).contact_n[judged]
    least = 0.0 if loads.is_groove else max(float(np.min(loads.top.contact_n[judged], initial=np.inf)), 0.0)
    return max(float(np.max(forces)) - least, 0.0) if len(forces) else 0.0


def post_rod(project: Project, layout: FollowerLayout, rod_mm: float | None = None) -> PostRod:
    """Return the rod of a lever with its post; rod_mm: another diameter of the rod, mm."""
    rod = rod_mm or layout.parts.pivot_rod_mm
    lever = layout.bands.levers
    at = (lever[0].bottom_mm + lever[-1].top_mm) / 2
    post = ring_section(2 * post_radius_mm(rod), rod + 2 * TURNING_MM).inertia_mm4
    floor = _plate_mm(project, layout)
    material = materials_of(project)[project.lane(layout.lane.disc_of or layout.lane.id).disc.material]
    height = 0.0 if layout.is_sleeve else post_height_mm(layout)
    stiff = 1000 * STEEL_GPA * ring_section(rod).inertia_mm4, 1000 * material.modulus_gpa * post
    return PostRod(at - floor, height, *stiff, _between_mm(project, layout))


def _plate_mm(project: Project, layout: FollowerLayout) -> float:
    """Return the height of the face of the bottom plate, mm from the bottom of the stack."""
    return (
        layout.floor_mm if not layout.is_sleeve else bracket_floor_mm(project, project.stack_of(layout.lane))
    )


def _between_mm(project: Project, layout: FollowerLayout) -> float | None:
    """Return the distance of the plates that hold a rod, mm; None where its upper end is free."""
    stack = project.stack_of(layout.lane)
    if not layout.rod_in_frame or project.frame is None or stack.rod is None:
        return None
    try:
        inset = inset_mm(project.frame, stack)
    except FrameError:  # a bad part, which says why
        return None
    return stack.rod.below_mm + stack_plan(project, stack).height_mm + stack.rod.above_mm - 2 * inset


def _cure(solution: Solution, loads: LaneLoads, layout: FollowerLayout) -> Cure | None:
    """Return a thicker rod that is stiff enough, or a frame that holds the rod at both ends."""
    project, pressed = solution.project, _change_n(loads)
    limit = project.tolerances.profile_mm
    lane = layout.lane

    def is_stiff(made: Project) -> bool:
        own = replace(solution, project=made)
        changed = replace(layout, lane=made.lane(lane.id), parts=made.lane(lane.id).parts)  # type: ignore[arg-type]
        return post_rod(own.project, changed).deflection_mm(pressed) <= limit

    attempts = [
        Attempt(
            "set_length",
            {"lane_id": lane.id, "path": "parts.pivot_rod_mm", "value_mm": size},
            f"Pivot rod {millimetres(size, 0)}.",
        )
        for size in RODS_MM
        if size > layout.parts.pivot_rod_mm
    ]
    shared = lever_seats(solution)[lane.id].is_shared
    cure = None if shared else first_verified(project, attempts, is_stiff)
    if cure is None and project.frame is None:
        return Cure(sentence="A frame, whose plates hold the rod at both ends.")
    return cure or Cure(sentence="A thicker rod for all levers on it, a lower disc, or a weaker spring.")
