"""The run that the faces of the Flow view draw, made beside the window and kept while it holds."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QObject, Signal

from shaftscore.judge.flow.drawn import (
    USUAL_TURNS,
    DrawnRun,
    FlowNetwork,
    JudgedFlow,
    drawn_run,
    flow_network,
)
from shaftscore.judge.flow.result import CHECKED, FlowResult
from shaftscore.judge.report import Report
from shaftscore.kinematics.motion.states import StateInterval
from shaftscore.model import Project, State
from shaftscore_app.runtime.jobs import Jobs

RUN = "flow-run"
"""Kind of the job that runs the flow for the view."""


Wanted = tuple[FlowResult, int] | None
"""Which result of the flow, and how many turns."""


def _is_same(one: Wanted, other: Wanted) -> bool:
    return one is not None and other is not None and one[0] is other[0] and one[1] == other[1]


class FlowRuns(QObject):
    """Keeps the run of the newest report.

    Signals: changed() when another run is there.
    """

    changed = Signal()

    def __init__(self, jobs: Jobs, parent: QObject) -> None:
        """Begin without a run."""
        super().__init__(parent)
        self._jobs = jobs
        self.turns = USUAL_TURNS
        self._run: DrawnRun | None = None
        self._of: Wanted = None
        self._wanted: Wanted = None

    def set_turns(self, turns: int, report: Report) -> None:
        """Run so many turns from now on."""
        self.turns = turns
        self.follow(report)

    def follow(self, report: Report) -> None:
        """Have the flow of a report run, unless that is done or under way."""
        project = report.project if report.flow_solution is None else report.flow_solution.project
        if project.flow is None:
            self._run, self._of, self._wanted = None, None, None
            return
        if report.flow is None or not report.is_current:
            return
        wanted = (report.flow, self.turns)
        if _is_same(wanted, self._wanted):
            return
        self._wanted = wanted
        states, turns = states_of(report), self.turns
        self._jobs.request(
            RUN, lambda: drawn_run(project, states, turns), lambda run: self._take(wanted, run)
        )

    def run_of(self, report: Report) -> DrawnRun | None:
        """Return the run of a report, or that of an earlier one; see `is_current`."""
        return None if report.project.flow is None else self._run

    def is_current(self, report: Report) -> bool:
        """Whether the run belongs to a report's project."""
        return report.is_current and self.is_of(report)

    def is_of(self, report: Report) -> bool:
        """Whether the run is that of a report's result, which may be an earlier project's."""
        return report.flow is not None and _is_same((report.flow, self.turns), self._of)

    def network_of(self, report: Report) -> FlowNetwork:
        """Return the network of a report, with the figures that are known."""
        return flow_network(
            JudgedFlow(
                project=report.project,
                run=self.run_of(report),
                findings=tuple(one for one in report.findings if one.rule in CHECKED),
                following=report.folded.keys,
                needs=report.flow.magazines if report.flow is not None else {},
                is_stale=not self.is_current(report),
            )
        )

    def _take(self, of: Wanted, run: DrawnRun) -> None:
        self._run, self._of = run, of
        self.changed.emit()


def states_of(report: Report) -> Callable[[State], tuple[StateInterval, ...] | None]:
    """Return what says when lanes are in a state; None for lanes without motion."""
    lanes = (report.flow_solution or report.solution).lanes

    def states(state: State) -> tuple[StateInterval, ...] | None:
        lane = lanes.get(state.lane)
        return None if lane is None or lane.motion is None else lane.intervals(state)

    return states


def has_flow(project: Project) -> bool:
    """Return whether a project has anything that moves through it."""
    return project.flow is not None and bool(project.flow.ids)
