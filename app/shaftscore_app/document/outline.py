"""A report for the time until a project is examined: what stays as it was, and nothing of what changed.

Where lanes or blocks come or go, views cannot go on with the report before: it does not name them. Where
examining takes longer than the window may wait, they get this one meanwhile. Lanes that changed are in it
without a motion ("updating…"), and findings about them are left out.
"""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from shaftscore.edits import BlockRef
from shaftscore.judge.findings import Finding
from shaftscore.judge.loads import machine_loads
from shaftscore.judge.report import Report
from shaftscore.judge.report.causes import kept_folds
from shaftscore.kinematics.motion.no_motion import NoMotion
from shaftscore.model.project import Project
from shaftscore.solution import Incremental, Solution, changed_lanes, waiting_lane
from shaftscore_app.document.look import ShownReports

UPDATING = "updating…"
"""What is said of results that are being recomputed."""


def outline(project: Project, before: ShownReports) -> ShownReports:
    """Return what is known of a project before it is examined, from the look before."""
    whole = _outlined(project, before.whole)
    there = frozenset(lane for lane in before.lanes or () if lane in project.lane_index)
    if before.alone is None or not there:
        return ShownReports(whole, None, whole)
    alone = replace(_outlined(project, before.alone), lanes=there)
    return ShownReports(whole, alone, replace(alone, solution=whole.solution, loads=whole.loads))


def _outlined(project: Project, before: Report) -> Report:
    changed = changed_lanes(project, before.solution)
    solved = before.solution.lanes
    lanes = {
        lane.id: waiting_lane(project, lane, NoMotion("waiting", what=UPDATING))
        if lane.id in changed
        else solved[lane.id]
        for lane in project.lanes
        if lane.id in changed or lane.id in solved
    }
    solution = Solution(project, MappingProxyType(lanes), len(lanes) - len(changed))
    held = [finding for finding in before.findings if _holds(finding, project, changed)]
    folded = kept_folds(held, before.folded)
    return replace(
        before,
        project=project,
        solution=solution,
        findings=folded.findings,
        causes=folded.causes,
        loads=None if before.loads is None else machine_loads(solution, Incremental(before.kept)),
    )


def _holds(finding: Finding, project: Project, changed: frozenset[str]) -> bool:
    """Return whether a finding is about lanes that are there and did not change."""
    refs = (subject.lane_id for subject in finding.subjects if isinstance(subject, BlockRef))
    return all(lane in project.lane_index and lane not in changed for lane in (*finding.lanes, *refs))
