"""bad-part: a hub, pinion or wheel of the drive train that cannot be made, for the reason that export has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

from shaftscore.judge.checks.base import MachineCheck, Memo
from shaftscore.judge.findings import Finding, found
from shaftscore.layout.bed import bed_faults
from shaftscore.layout.coupled import hub_wheels
from shaftscore.layout.drive import placed_stages
from shaftscore.layout.hub import hub_plan
from shaftscore.layout.printed import hub_walls, pinion_walls, refuse_gone
from shaftscore.layout.train import pinion_plans
from shaftscore.model import Lane, Project
from shaftscore.solution import Solution
from shaftscore.solution.incremental import runs_of

FIRST_PLACE = 5000
"""Findings of the drive's parts come after those of walls, which count from 0."""


def gears(solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Find hubs and wheels that cannot be made."""
    project = solution.project
    places = (
        memo.kept.keep_alike(("places of gears", number), tuple(run), partial(_places, run))
        for number, run in runs_of(project.lanes)
    )
    reads = (project.drive, project.frame, project.print, project.shaft.turn, *project.stacks, *places)
    yield from memo.keep("gears", reads, lambda: _faults(project))


def _places(lanes: Sequence[Lane]) -> tuple[object, ...]:
    """Return what the parts of the drive depend on in some lanes."""
    return tuple((lane.station_deg, lane.stack, lane.disc, lane.kind) for lane in lanes)


def _faults(project: Project) -> Iterator[Finding]:
    """Yield a finding for each part that is refused; one for a stage that all of them need."""
    try:
        placed_stages(project)
        plans = pinion_plans(project)
        hub_wheels(project)
    except ValueError as error:
        yield _bad(0, str(error))
        return
    for place, plan in enumerate(plans, start=len(project.stacks) + 1):
        try:
            refuse_gone(project.print, pinion_walls(project, plan))
        except ValueError as error:
            yield _bad(place, f"{plan.code}: {error}")
        size = (2 * plan.reach_mm, 2 * plan.reach_mm, plan.foot_mm + plan.stage.spur.face_mm)
        for fault in bed_faults(project, project.stacks[0].id, plan.code, size):
            yield _bad(place, fault)
    for place, stack in enumerate(project.stacks, start=1):
        if stack.hub is None:
            continue
        try:
            hub = hub_plan(project, stack)
            refuse_gone(project.print, hub_walls(hub))
        except ValueError as error:
            yield _bad(place, f"hub of {stack.label}: {error}")
            continue
        size = (2 * hub.reach_mm, 2 * hub.reach_mm, hub.height_mm)
        for fault in bed_faults(project, stack.id, f"the hub of {stack.label}", size):
            yield _bad(place, fault)


def _bad(place: int, why: str) -> Finding:
    return found(
        "bad-part", (), value=0.0, limit=0.0, place=FIRST_PLACE + place, why=f"{why[:1].upper()}{why[1:]}."
    )


GEARS = MachineCheck(("bad-part",), gears)
"""The row of the table of checks."""
