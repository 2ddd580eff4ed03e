"""What all checks share: how a check is listed, and how findings of unchanged parts are kept.

A check reads a solution and gives findings. Findings that depend on a few results only are computed
through a `Memo`, under a key and with what they read; they are taken over from the report before as
long as that is the same (by identity, as for lanes).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

from core.findings import Cure, Finding
from core.solution import LaneSolution, Solution
from core.solution.lane import Reads, same_reads


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
        """Give the findings kept under `key` if they read the same, else compute them."""
        if self.holds(key, reads):
            kept = self.before[key]
            self.reused += 1
        else:
            kept = Kept(reads, tuple(compute()))
            self.computed += 1
        self.now[key] = kept
        return kept.findings

    def holds(self, key: Hashable, reads: Reads) -> bool:
        """Tell whether findings are kept under `key` that read the same."""
        kept = self.before.get(key)
        return kept is not None and same_reads(kept.reads, reads)


@dataclass(frozen=True)
class Check:
    """A row of the table of checks: the rules that it decides, and how."""

    rules: tuple[str, ...]
    run: Callable[[Solution, Memo], Iterable[Finding]]


Judge = Callable[[Solution, LaneSolution], Iterable[Finding]]
"""Judges one lane; may read nothing but the lane's result and the records that this was made from."""


CureFinder = Callable[[Finding], Cure | None]
"""Looks for the cure of one finding."""

SlowCures = Callable[[Solution, LaneSolution], CureFinder]
"""Makes the finder for one lane, where that takes long."""


def each_lane(judge: Judge, *rules: str, slow_cures: SlowCures | None = None) -> Check:
    """Make a check that judges one lane at a time.

    slow_cures: adds cures afterwards, unless there is no time for that (`Memo.slow_cures`).
    """

    def findings(solution: Solution, lane: LaneSolution, cured: bool) -> Iterator[Finding]:
        finder = slow_cures(solution, lane) if cured and slow_cures else None
        for finding in judge(solution, lane):
            yield replace(finding, cure=finder(finding)) if finder else finding

    def run(solution: Solution, memo: Memo) -> Iterator[Finding]:
        for lane_id, lane in solution.lanes.items():
            key, cured = (*rules, lane_id), memo.slow_cures or memo.holds((*rules, lane_id), (lane, True))
            make = partial(findings, solution, lane, cured)
            yield from memo.keep(key, (lane, cured) if slow_cures else (lane,), make)

    return Check(rules, run)


def with_motion(judge: Judge) -> Judge:
    """Leave out lanes that have no motion: they have their own finding, and no figures."""

    def run(solution: Solution, lane: LaneSolution) -> Iterable[Finding]:
        return () if lane.motion is None else judge(solution, lane)

    return run
