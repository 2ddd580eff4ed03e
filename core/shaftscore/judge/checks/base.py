"""What all checks share: how a check is listed, and how findings of unchanged parts are kept.

A check reads a solution and gives findings. Findings that depend on a few results only are computed
through a `Memo`, under a key and with what they read; they are taken over from the report before as
long as that is the same (by identity, as for lanes).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from shaftscore.judge.findings import Cure, Finding
from shaftscore.solution import LaneSolution, Solution
from shaftscore.solution.lane import Reads, same_reads


@dataclass(frozen=True)
class Kept:
    """Findings with what they were computed from."""

    reads: Reads
    findings: tuple[Finding, ...]


@dataclass
class Memo:
    """Findings of unchanged parts: `before` from the last report, `now` for the next; counts both kinds.

    slow_cures: whether cures are looked for that take longer than a frame of the editor.
    """

    before: Mapping[Hashable, Kept] = field(default_factory=dict)
    slow_cures: bool = True
    now: dict[Hashable, Kept] = field(default_factory=dict)
    reused: int = 0
    computed: int = 0

    def keep(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them."""
        if self.holds(key, reads):
            kept = self.before[key]
            self.reused += 1
        else:
            kept = Kept(reads, tuple(compute()))
            self.computed += 1
        self.now[key] = kept
        return kept.findings

    def holds(self, key: Hashable, reads: Reads) -> bool:
        """Return whether findings are kept under `key` that read the same."""
        kept = self.before.get(key)
        return kept is not None and same_reads(kept.reads, reads)


Judge = Callable[[Solution, LaneSolution], Iterable[Finding]]
"""Judges one lane; may read nothing but the lane's result and the records that this was made from."""

CureFinder = Callable[[Finding], Cure | None]
"""Looks for the cure of one finding."""

SlowCures = Callable[[Solution, LaneSolution], CureFinder]
"""Makes the finder for one lane, where that takes longer than a frame of the editor."""


@dataclass(frozen=True)
class LaneCheck:
    """A row of the table of checks that judges one lane at a time: the rules that it decides, and how.

    slow_cures: adds cures afterwards, unless there is no time for that (`Memo.slow_cures`).
    """

    rules: tuple[str, ...]
    judge: Judge
    slow_cures: SlowCures | None = None

    def findings(self, solution: Solution, lane: LaneSolution, cured: bool) -> Iterator[Finding]:
        """Judge a lane."""
        finder = self.slow_cures(solution, lane) if cured and self.slow_cures else None
        for finding in self.judge(solution, lane):
            yield replace(finding, cure=finder(finding)) if finder else finding


@dataclass(frozen=True)
class MachineCheck:
    """A row of the table of checks that judges the machine as a whole."""

    rules: tuple[str, ...]
    judge: Callable[[Solution, Memo], Iterable[Finding]]


Check = LaneCheck | MachineCheck
"""Any row of the table."""


def run_checks(checks: Sequence[Check], solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Run all checks: those of lanes lane by lane, those of the machine one by one."""
    of_lanes = [check for check in checks if isinstance(check, LaneCheck)]
    for lane_id, lane in solution.lanes.items():
        key = ("lane", lane_id)
        cured = memo.slow_cures or memo.holds(key, (lane, True))
        yield from memo.keep(key, (lane, cured), partial(_judged, of_lanes, solution, lane, cured))
    for check in checks:
        if isinstance(check, MachineCheck):
            yield from check.judge(solution, memo)


def _judged(
    checks: Sequence[LaneCheck], solution: Solution, lane: LaneSolution, cured: bool
) -> Iterator[Finding]:
    for check in checks:
        yield from check.findings(solution, lane, cured)


def with_motion(judge: Judge) -> Judge:
    """Leave out lanes that have no motion: they have their own finding, and no figures."""

    def run(solution: Solution, lane: LaneSolution) -> Iterable[Finding]:
        return () if lane.motion is None else judge(solution, lane)

    return run
