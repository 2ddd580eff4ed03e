"""Many motions at once: their runs, and where they are within bands, in one call each.

What one motion is asked by itself (`LaneMotion.runs`, `LaneMotion.stretches`) is the reference: a group
answers the same for all of its motions, from one table of all their segments.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, chain, pairwise

import numpy as np

from shaftscore.kinematics.motion.lane_motion import LaneMotion
from shaftscore.kinematics.motion.runs import RunTable, SegmentTable
from shaftscore.kinematics.motion.stretches import MotionStretch, stretches_within

Band = tuple[Sequence[float], Sequence[float]]
"""Lower and upper ends of bands of outputs, mm."""


@dataclass(frozen=True, eq=False)
class MotionGroup:
    """Some motions and the table of all their segments; build it with `MotionGroup.of`.

    first_segment, first_run: where each motion's begin, and where the last one's end: one more than motions.
    """

    motions: tuple[LaneMotion, ...]
    table: SegmentTable
    runs: RunTable
    first_segment: tuple[int, ...]
    first_run: tuple[int, ...]

    @classmethod
    def of(cls, motions: Sequence[LaneMotion]) -> MotionGroup:
        """Lay the segments of some motions out in one table, and let each know its part of it."""
        table = SegmentTable.of(chain.from_iterable(motion.segments for motion in motions))
        firsts = tuple(accumulate((len(motion.segments) for motion in motions), initial=0))
        first_runs = tuple(np.searchsorted(table.runs.segment, firsts).tolist())
        group = cls(tuple(motions), table, table.runs, firsts, first_runs)
        group._hand_out()
        return group

    def _hand_out(self) -> None:
        bounds = zip(self.motions, pairwise(self.first_segment), pairwise(self.first_run), strict=True)
        for motion, (first, stop), (first_run, stop_run) in bounds:
            table = self.table.part(first, stop)
            motion.take_tables(table, self.runs.part(table, first, first_run, stop_run))

    def stretches(self, bands: Sequence[Band]) -> list[list[tuple[MotionStretch, ...]]]:
        """Find where each motion lies within its own bands: what `LaneMotion.stretches` returns of each."""
        each = zip(self.motions, bands, self.first_segment, self.first_run, strict=False)
        asked = [motion.asked(*ends, first, first_run) for motion, ends, first, first_run in each]
        return stretches_within(self.runs, asked)
