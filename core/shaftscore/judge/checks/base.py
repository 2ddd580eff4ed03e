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
class KeptFindings:
    """Findings with what they were computed from."""

    reads: Reads
    findings: tuple[Finding, ...]


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
class Memo:
    """Findings of unchanged parts: `before` from the last report, `now` for the next; counts both kinds.

    slow_cures: whether there is time for cures; else few are looked for, and none that searches long.
    spent: what cures have cost, in blocks laid out again. left_out: how many were not looked for.
    """

    before: Mapping[Hashable, KeptFindings] = field(default_factory=dict)
    slow_cures: bool = True
    now: dict[Hashable, KeptFindings] = field(default_factory=dict)
    reused: int = 0
    computed: int = 0
    spent: int = 0
    left_out: int = 0

    def keep(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them."""
        if self.holds(key, reads):
            kept = self.before[key]
            self.reused += 1
        else:
            kept = KeptFindings(reads, tuple(compute()))
            self.computed += 1
        self.now[key] = kept
        return kept.findings

    def holds(self, key: Hashable, reads: Reads) -> bool:
        """Return whether findings are kept under `key` that read the same."""
        kept = self.before.get(key)
        return kept is not None and same_reads(kept.reads, reads)

    def keep_curable(
        self, key: Hashable, reads: Reads, compute: Callable[[], Iterable[Finding | Curable]]
    ) -> tuple[Finding, ...]:
        """Return the findings kept under `key` if they read the same, else compute them and their cures.

        Findings whose cures were left out in a hurry are computed again when there is time.
        """
        for done in (True,) if self.slow_cures else (True, False):
            if self.holds(key, (*reads, done)):
                return self.keep(key, (*reads, done), tuple)
        left_out = self.left_out
        made = tuple(self._cured(one) if isinstance(one, Curable) else one for one in compute())
        done = self.slow_cures or self.left_out == left_out
        return self.keep(key, (*reads, done), lambda: made)

    def _cured(self, curable: Curable) -> Finding:
        """Return a finding with its cure, if there is one and time to look for it."""
        cost = FEW_BLOCKS + curable.blocks
        most = MOST_BLOCKS if self.slow_cures else LIVE_BLOCKS
        if self.spent + cost > most or (curable.slow and not self.slow_cures):
            self.left_out += 1
            return curable.finding
        self.spent += cost
        return replace(curable.finding, cure=curable.find())


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


def run_checks(checks: Sequence[Check], solution: Solution, memo: Memo) -> Iterator[Finding]:
    """Run all checks: those of lanes lane by lane, those of the machine one by one."""
    of_lanes = [check for check in checks if isinstance(check, LaneCheck)]
    for lane_id, lane in solution.lanes.items():
        key = ("lane", lane_id)
        yield from memo.keep_curable(key, (lane,), partial(_judged, of_lanes, solution, lane))
    for check in checks:
        if isinstance(check, MachineCheck):
            yield from check.judge(solution, memo)


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
