"""The moment of the run at which the shaft is: counts of magazines and items under way in channels; no Qt.

The cursor knows its angle, not its turn: the turn goes on while the shaft runs through 0 degrees, within
those that the history of the run holds, and then begins again.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN
from shaftscore.judge.flow import FlowHistory, Passage


@dataclass(frozen=True)
class RunMoment:
    """What the run is at: turn (from 1), count by magazine, and by channel how far its items are, 0 to 1."""

    turn: int
    counts: Mapping[str, int]
    under_way: Mapping[str, tuple[float, ...]]


class TurnCounter:
    """Counts the turns while the cursor goes round."""

    def __init__(self) -> None:
        """Begin in the first turn."""
        self._deg, self.turn = 0.0, 1

    def follow(self, deg: float) -> None:
        """Take the cursor's next angle: a step through 0 degrees, forward or back, is another turn."""
        step = deg - self._deg
        if step < -TURN / 2:
            self.turn += 1
        elif step > TURN / 2:
            self.turn -= 1
        self._deg = deg

    def keep_within(self, first: int, last: int) -> None:
        """Begin again after the last turn that is known, and go to it from before the first."""
        if self.turn > last:
            self.turn = first
        elif self.turn < first:
            self.turn = last


class RunMoments:
    """The moments of a run; what is under way is found without looking at all that ever was."""

    def __init__(self, history: FlowHistory) -> None:
        """Take what happened in a run."""
        self.history = history
        self._longest = {
            key: max((one.latest_us - one.enters_us for one in passages), default=0)
            for key, passages in history.passages.items()
        }

    def at(self, turn: int, deg: float) -> RunMoment:
        """Return what the run is at in a turn (from 1) at a master angle."""
        at = round((turn - 1 + deg / TURN) * self.history.cycle_us)
        return RunMoment(
            turn=turn,
            counts={key: _count(steps, at) for key, steps in self.history.counts.items()},
            under_way={key: self._under_way(key, at) for key in self.history.passages},
        )

    def _under_way(self, channel: str, at: int) -> tuple[float, ...]:
        """Return how far the items in a channel are at a time, 0 to 1."""
        passages = self.history.passages[channel]
        first = bisect_left(passages, at - self._longest[channel], key=_enters)
        last = bisect_right(passages, at, key=_enters)
        return tuple(
            (at - one.enters_us) / max(1, one.latest_us - one.enters_us)
            for one in passages[first:last]
            if at < one.latest_us
        )


def _enters(passage: Passage) -> int:
    return passage.enters_us


def _count(steps: Sequence[tuple[int, int]], at: int) -> int:
    """Return the count of the last step that is not after a time."""
    place = bisect_right(steps, at, key=lambda step: step[0])
    return steps[max(0, place - 1)][1] if steps else 0
