"""The moment of the run at which the shaft is: counts of magazines and items under way in channels; no Qt.

The cursor knows its angle, not its turn: the turn goes on while the shaft runs through 0 degrees, within
those that the history of the run holds, and then begins again.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import TURN
from shaftscore.judge.flow import FlowHistory


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


def moment_of(history: FlowHistory, turn: int, deg: float) -> RunMoment:
    """Return what the run is at in a turn (from 1) at a master angle."""
    at = round((turn - 1 + deg / TURN) * history.cycle_us)
    return RunMoment(
        turn=turn,
        counts={key: _count(steps, at) for key, steps in history.counts.items()},
        under_way={
            key: tuple(
                (at - one.enters_us) / max(1, one.latest_us - one.enters_us)
                for one in passages
                if one.enters_us <= at < one.latest_us
            )
            for key, passages in history.passages.items()
        },
    )


def _count(steps: Sequence[tuple[int, int]], at: int) -> int:
    """Return the count of the last step that is not after a time."""
    place = bisect_right(steps, at, key=lambda step: step[0])
    return steps[max(0, place - 1)][1] if steps else 0
