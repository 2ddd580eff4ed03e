"""What all checks share: how a check is listed, and how findings of unchanged parts are kept.

A check reads a solution and gives findings. Findings that depend on a few results only are computed
through a `Memo`, under a key and with what they read; they are taken over from the report before as
long as that is the same (by identity, as for lanes).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass, field

from core.findings import Finding
from core.solution import LaneSolution, Solution
from core.solution.lane import Reads, same_reads


@dataclass(frozen=True)
class Kept:
    """Findings with what they were computed from."""

    reads: Reads
    findings: tuple[Finding, ...]


@dataclass
class Memo:
    """Findings of unchanged parts: `before` from the last report, `now` for the next; counts both kinds."""

    before: Mapping[Hashable, Kept] = field(default_factory=dict)
    now: dict[Hashable, Kept] = field(default_factory=dict)
    reused: int = 0
    computed: int = 0

    def keep(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Give the findings kept under `key` if they read the same, else compute them."""
        kept = self.before.get(key)
        if kept is None or not same_reads(kept.reads, reads):
            kept = Kept(reads, tuple(compute()))
            self.computed += 1
        else:
            self.reused += 1
        self.now[key] = kept
        return kept.findings


@dataclass(frozen=True)
class Check:
    """A row of the table of checks: the rules that it decides, and how.

    late: takes longer than a frame of the editor, so it is left out while a block is held.
    """

    rules: tuple[str, ...]
    run: Callable[[Solution, Memo], Iterable[Finding]]
    late: bool = False


Judge = Callable[[Solution, LaneSolution], Iterable[Finding]]
"""Judges one lane; may read nothing but the lane's result and the records that this was made from."""


def each_lane(judge: Judge, *rules: str) -> Check:
    """Make a check that judges one lane at a time."""

    def run(solution: Solution, memo: Memo) -> Iterable[Finding]:
        for lane_id, lane in solution.lanes.items():
            key = (*rules, lane_id)
            yield from memo.keep(key, (lane,), lambda lane=lane: judge(solution, lane))  # type: ignore[misc]

    return Check(rules, run)


def with_motion(judge: Judge) -> Judge:
    """Leave out lanes that have no motion: they have their own finding, and no figures."""

    def run(solution: Solution, lane: LaneSolution) -> Iterable[Finding]:
        return () if lane.motion is None else judge(solution, lane)

    return run
