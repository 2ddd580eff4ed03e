"""The likely causes of what was seen, ranked beside the window: the newest sheet wins, keys never wait."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from shaftscore.bringup import BenchCheck, BuiltOutputs, FaultRanking, SightingSheet, likely_causes
from shaftscore.model import BringUp
from shaftscore.solution import Solution
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.views.bring_up.session import BringUpSession, is_same

JOB = "bring-up causes"
"""Kind of the job that ranks."""


def sightings_of(sheet: BringUp) -> SightingSheet:
    """Return a kept sheet as the fault finder reads it: lanes that cannot be seen are left out."""
    return SightingSheet(
        tuple(
            BenchCheck(check.angle_deg, {lane: seen for lane, seen in check.seen.items() if seen is not None})
            for check in sheet.checks
        ),
        sheet.arrived or {},
    )


def made_of(solution: Solution) -> tuple[object, ...]:
    """Return what the outputs of a machine are worked out from."""
    return (*solution.lanes.values(), solution.project.stacks)


class CauseRanker(QObject):
    """Keeps the ranking of a session's sheet up to date.

    Signals: ranked() when `ranking` is another one.
    """

    ranked = Signal()

    def __init__(self, session: BringUpSession, jobs: Jobs | None) -> None:
        """Rank the sheet of a session, beside the window where there are jobs."""
        super().__init__(session)
        self._session, self._jobs = session, jobs
        self.ranking: FaultRanking | None = None
        self.is_ranking = False
        self._of: tuple[object, ...] | None = None
        self._outputs: BuiltOutputs | None = None
        session.changed.connect(self.follow)

    def follow(self) -> None:
        """Rank again where the sheet or the machine is another one."""
        sheet = self._session.sheet
        if sheet is None:
            self._of = None
            self._take(None, None)
            return
        wanted = (*made_of(self._session.solution), self._session.project.flow, sheet)
        if self._of is not None and is_same(wanted, self._of):
            return
        self._of = wanted
        self.is_ranking = True
        outputs = self._kept(self._session.solution)
        seen = sightings_of(sheet)
        angles = tuple(stop.angle_deg for stop in self._session.stops)

        def work() -> FaultRanking:
            return likely_causes(outputs.solution, seen, outputs, angles)

        if self._jobs is None:
            self._take(wanted, work())
        else:
            self._jobs.request(JOB, work, lambda found: self._take(wanted, found))

    def _kept(self, solution: Solution) -> BuiltOutputs:
        """Return the outputs of a machine, those worked out before while its lanes are the same."""
        kept = self._outputs
        if kept is None or not is_same(made_of(kept.solution), made_of(solution)):
            kept = self._outputs = BuiltOutputs(solution)
        return kept

    def _take(self, of: tuple[object, ...] | None, found: FaultRanking | None) -> None:
        if of is not self._of:
            return  # of an earlier sheet: the newer one is on its way
        self.is_ranking = False
        if found is not self.ranking:
            self.ranking = found
            self.ranked.emit()
