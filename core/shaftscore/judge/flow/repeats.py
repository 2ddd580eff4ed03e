"""A run that comes back to a state, or comes back to it but for what its magazines hold.

In the second case all goes on as it did since then, with counts that fall or rise by the same amounts each
time, until a count comes to a limit. Where counts only fall, no magazine that falls was full meanwhile, and
none is emptied yet, nothing that happens depends on the counts: so many such periods are skipped, exactly.
One whose item found no room must keep that item: without, it would be found empty instead. A supply that is
a little too slow would else be followed for hundreds of turns.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

from shaftscore.judge.flow.engine import FlowRun

MOST_PERIOD = 256
"""Turns of the longest period that is skipped; what is kept of a run is as long."""


@dataclass(frozen=True)
class _Turn:
    """What counts at the start of a turn; the lowest ones, magazines found full and held back in it."""

    counts: tuple[int, ...]
    lowest: tuple[int, ...]
    full: frozenset[int]
    held_back: frozenset[int]


class Repeats:
    """The states of a run at the begins of its turns."""

    def __init__(self, run: FlowRun) -> None:
        """Begin with a run before its first turn."""
        self._run = run
        self._turns: deque[_Turn] = deque(maxlen=MOST_PERIOD)
        self._seen: dict[bytes, set[tuple[int, ...]]] = {}
        self._last: dict[bytes, int] = {}
        self._note()

    def _note(self) -> bool:
        """Note the state; returns whether it was there before."""
        self._shape, self._counts = self._run.shape(), tuple(self._run.count)
        known = self._seen.setdefault(self._shape, set())
        before = self._counts in known
        known.add(self._counts)
        return before

    def comes_back(self) -> bool:
        """Return whether the state after a turn was there before; call it after each turn."""
        run, counts, shape = self._run, self._counts, self._shape
        before = self._note()  # which also sends all that is due
        found = frozenset(run.found_full), frozenset(run.held_back)
        self._turns.append(_Turn(counts, tuple(run.lowest), *found))
        self._last[shape] = run.turns - 1
        run.watch_turn()
        return before

    def skip(self, until: int) -> None:
        """Go on by as many whole periods as change nothing but counts, up to a turn."""
        run, began = self._run, self._last.get(self._shape)
        period = 0 if began is None else run.turns - began
        if not 0 < period <= len(self._turns):
            return
        turns = list(self._turns)[-period:]
        gained = [now - before for now, before in zip(self._counts, turns[0].counts, strict=True)]
        periods = min((until - run.turns) // period, self._periods(turns, gained))
        if periods > 0:
            run.skip(periods * period, [periods * more for more in gained])
            run.watch_turn()
            self._turns.clear()
            self._last.clear()
            self._note()

    @staticmethod
    def _periods(turns: list[_Turn], gained: list[int]) -> int:
        """Return for how many periods counts that fall are enough; none where one rises or was full."""
        falling = [store for store, more in enumerate(gained) if more < 0]
        if not falling or max(gained) > 0 or any(store in turn.full for turn in turns for store in falling):
            return 0
        held = frozenset[int]().union(*(turn.held_back for turn in turns))
        spare = {store: min(turn.lowest[store] for turn in turns) - (store in held) for store in falling}
        return min(spare[store] // -gained[store] for store in falling)
