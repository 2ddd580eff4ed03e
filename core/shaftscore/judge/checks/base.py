"""What all checks share: how a check is listed, and how findings of unchanged parts are kept.

A check reads a solution and gives findings. Findings that depend on a few results only are computed
through a `Memo`, under a key and with what they read; they are taken over from the report before as
long as that is the same (`shaftscore.solution.incremental`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import islice

from shaftscore.judge.findings import Cure, Finding
from shaftscore.kinematics.profiles.plainly import plainly_together
from shaftscore.rules.kinds import lanes_of_rule
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.incremental import QUICK, RUN, Incremental, Reads, runs_of


@dataclass(frozen=True, eq=False)
class Curable:
    """A finding with what looks for its cure, when there is time for that.

    blocks: how many blocks are laid out again each time an edit is tried. slow: whether it searches long.
    """

    finding: Finding
    find: Callable[[], Cure | None]
    blocks: int = 0
    slow: bool = False


MOST_BLOCKS = 50_000
"""Cures of one report are looked for until so many blocks were laid out again for them; the findings that
come later keep none. A count, not a clock, so that a project always gets the same ones."""

LIVE_BLOCKS = 100
"""The same where a frame of the editor waits: the cures of two findings of usual lanes."""

FEW_BLOCKS = 30
"""A cure costs at least as much as so many blocks."""


@dataclass
class CureBudget:
    """The work that may be spent on cures in one report.

    slow: whether there is time, also for cures that search long; else only for a few. none: whether no cure
    is wanted at all. spent: blocks that were laid out again so far.
    """

    slow: bool = True
    none: bool = False
    spent: int = 0

    def take(self, curable: Curable) -> bool:
        """Return whether there is work left for a finding's cure, and take it."""
        cost = FEW_BLOCKS + curable.blocks
        most = MOST_BLOCKS if self.slow else LIVE_BLOCKS
        if self.none or self.spent + cost > most or (curable.slow and not self.slow):
            return False
        self.spent += cost
        return True


@dataclass(frozen=True)
class Memo:
    """Findings that are kept while what they read is the same, and the cures that there is time for.

    kept: the store, of which this is the part for one examination or for one thing within it. most: findings
    of a part that are made, the first ones; all if None.
    """

    kept: Incremental = field(default_factory=Incremental)
    cures: CureBudget = field(default_factory=CureBudget)
    most: int | None = None

    @property
    def is_quick(self) -> bool:
        """Whether a frame of the editor waits, or cures are not wanted: few are looked for."""
        return not self.cures.slow

    @property
    def may_stand_in(self) -> bool:
        """Whether a frame of the editor waits, so that what was last said of a machine may stand in."""
        return self.kept.stage is QUICK

    def keep(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them."""
        return self.kept.keep(key, reads, lambda _: tuple(compute()))

    def keep_curable(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding | Curable]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them and their cures.

        Findings whose cures were left out in a hurry are computed again when there is time.
        """
        return self.kept.keep(key, reads, lambda inside: tuple(self._cured(compute(), inside)))

    def keep_parts(
        self, key: Hashable, reads: Reads, compute: Callable[[Memo], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them by a memo inside."""
        return self.kept.keep(key, reads, lambda inside: self._first(compute, inside))

    def keep_together(
        self, key: Hashable, reads: Reads, compute: Callable[[Memo], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Return the findings of a run of parts: kept under `key` if it reads the same, else part by part."""
        return self.kept.keep_together(key, reads, lambda inside: self._first(compute, inside))

    def _first(
        self, compute: Callable[[Memo], Iterable[Finding]], inside: Incremental
    ) -> tuple[Finding, ...]:
        """Return the findings that are made by a memo inside."""
        return tuple(islice(compute(replace(self, kept=inside)), self.most))

    def _cured(self, made: Iterable[Finding | Curable], inside: Incremental) -> Iterator[Finding]:
        """Yield findings with their cures, if there is one and time to look for it."""
        for one in made:
            if not isinstance(one, Curable):
                yield one
            elif self.cures.take(one):
                yield replace(one.finding, cure=one.find())
            else:
                if self.is_quick:
                    inside.leave_out()
                yield one.finding


Judge = Callable[[Solution, LaneSolution], Iterable[Finding | Curable]]
"""Judges one lane; may read nothing but the lane's result and the records that this was made from."""


@dataclass(frozen=True)
class LaneCheck:
    """A row of the table of checks that judges one lane at a time: the rules that it decides, and how."""

    rules: tuple[str, ...]
    judge: Judge


@dataclass(frozen=True)
class MachineCheck:
    """A row of the table of checks that judges the machine as a whole."""

    rules: tuple[str, ...]
    judge: Callable[[Solution, Memo], Iterable[Finding]]


Check = LaneCheck | MachineCheck
"""Any row of the table."""


def run_checks(
    checks: Sequence[Check], solution: Solution, memo: Memo, lanes: Collection[str] | None = None
) -> Iterator[Finding]:
    """Run all checks: those of lanes lane by lane (of some lanes alone where given), then the machine's."""
    of_lanes = [check for check in checks if isinstance(check, LaneCheck)]
    chosen = [lane for lane_id, lane in solution.lanes.items() if lanes is None or lane_id in lanes]
    for number, run in runs_of(chosen):
        yield from memo.keep_together(
            ("lanes judged", number), tuple(run), partial(_judged_lanes, of_lanes, solution, run)
        )
    for check in checks:
        if isinstance(check, MachineCheck):
            yield from check.judge(solution, memo)


def _judged_lanes(
    checks: Sequence[LaneCheck], solution: Solution, run: Sequence[LaneSolution], memo: Memo
) -> Iterator[Finding]:
    new = [lane.profile for lane in run if lane.profile is not None and not lane.profile.knows_plainly]
    if len(new) > 1:  # one is read by itself when it is asked
        for profile, found in zip(new, plainly_together(new), strict=True):
            profile.take_plainly(found)
    for lane in run:
        key = ("lane", lane.lane.id)
        yield from memo.keep_curable(key, (lane,), partial(_judged, checks, solution, lane))


def rule_runs(solution: Solution, kept: Incremental) -> Iterator[tuple[int, range, Reads]]:
    """Yield the runs of a project's rules: its number, the rules' numbers, the rules with their lanes."""
    for number, run in runs_of(solution.project.rules):
        named = kept.keep(
            ("lanes of rules", number),
            tuple(run),
            lambda _, run=run: tuple(lane for rule in run for lane in lanes_of_rule(rule)),  # type: ignore[misc]
        )
        first = number * RUN
        yield number, range(first, first + len(run)), (*run, *map(solution.lanes.get, named))


def _judged(
    checks: Sequence[LaneCheck], solution: Solution, lane: LaneSolution
) -> Iterator[Finding | Curable]:
    for check in checks:
        yield from check.judge(solution, lane)


def with_motion(judge: Judge) -> Judge:
    """Leave out lanes that have no motion: they have their own finding, and no figures."""

    def run(solution: Solution, lane: LaneSolution) -> Iterable[Finding | Curable]:
        return () if lane.motion is None else judge(solution, lane)

    return run
