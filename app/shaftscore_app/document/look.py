"""What the views show of a project: the report of the whole machine, or of some of its lanes alone.

It may be worked out on any thread: nothing here knows a screen. Where lanes are checked alone, findings,
flow and margin are theirs; motions, discs and loads stay those of the whole machine, so that the diagram
can draw every lane.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Progress
from shaftscore.judge.loads import MachineLoads
from shaftscore.judge.report import FULL, QUICK, ExaminationStage, Report, examine
from shaftscore.model.project import Project
from shaftscore.solution import Solution


@dataclass(frozen=True)
class ShownReports:
    """The reports of one project.

    whole: of the whole machine. alone: of the chosen lanes; None where there are none. shown: what the
    views show.
    """

    whole: Report
    alone: Report | None
    shown: Report

    @property
    def lanes(self) -> frozenset[str] | None:
        """The lanes that are checked alone, or None for the whole machine."""
        return None if self.alone is None else self.alone.lanes


@dataclass(eq=False)
class LateWanted:
    """Whether the late parts of a project are still wanted; asked on the thread that computes them."""

    is_over: bool = False

    def ask(self, said: Progress) -> None:
        """Go on, or raise Cancelled where another project is shown by now, or as the progress does."""
        if self.is_over:
            raise Cancelled("another project is shown")
        said.report(0.0, "")


def look(
    project: Project,
    before: ShownReports | None,
    lanes: frozenset[str] | None,
    *,
    stage: ExaminationStage,
    between: Callable[[], object] | None = None,
) -> ShownReports:
    """Examine a project.

    before: the look before; what did not change is taken from it. lanes: ids to check alone; those that
    the project does not have are left out. stage: whether to compute what takes longer than a frame.
    between: called between the steps of the work, which ends with what it raises.
    """
    if before is not None and before.whole.project is project and stage is QUICK:
        whole = before.whole
    else:
        whole = examine(project, before.whole if before else None, stage=stage, between=between)
    prepare_curves(whole.solution)
    if stage is FULL and whole.loads is not None:
        prepare_drawing(whole.loads)
    there = frozenset(lane for lane in lanes or () if lane in project.lane_index)
    if not there:
        return ShownReports(whole, None, whole)
    alone = examine(project, before.alone if before else None, stage=stage, lanes=there, between=between)
    return ShownReports(whole, alone, replace(alone, solution=whole.solution, loads=whole.loads))


LONG = 60
"""Motions of more segments than this are prepared for drawing; the others cost a window nothing."""


def prepare_curves(solution: Solution) -> None:
    """Work out what the diagram draws of long motions; it is kept in the motion and then costs nothing."""
    for lane in solution.lanes.values():
        if lane.motion is not None and len(lane.motion.segments) > LONG:
            _ = lane.motion.usual_nodes


def prepare_drawing(loads: MachineLoads) -> None:
    """Work out what the Load view shows of all lanes; it is kept in the loads and then costs nothing."""
    shaft = loads.camshaft
    _ = shaft.total, shaft.start_nm, shaft.peak
