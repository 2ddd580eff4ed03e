"""Many motions at once: their runs, and where they are within bands, in one call each.

What one motion is asked by itself (`LaneMotion.runs`, `LaneMotion.stretches`) is the reference: a group
answers the same for all of its motions, from one table of all their segments.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate, chain, pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.motion.lane_motion import STEP_SHARE, LaneMotion
from shaftscore.kinematics.motion.runs import RunTable, SegmentTable
from shaftscore.kinematics.motion.stretches import MotionStretch, stretches_within

Flags = npt.NDArray[np.bool_]
"""True or false for motions, (m,)."""

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
        smooth = self._without_corners().tolist()
        bounds = zip(
            self.motions, pairwise(self.first_segment), pairwise(self.first_run), smooth, strict=True
        )
        for motion, (first, stop), (first_run, stop_run), has_no_corner in bounds:
            table = self.table.part(first, stop)
            runs = self.runs.part(table, first, first_run, stop_run)
            motion.take_tables(table, runs, has_no_corner=has_no_corner)

    def _without_corners(self) -> Flags:
        """Return of which motions the velocity has no step, neither in a segment nor between two: (m,)."""
        table, first = self.table, np.array(self.first_segment)
        motion = np.repeat(np.arange(len(self.motions)), np.diff(first))
        scale = (STEP_SHARE * np.maximum.reduceat(table.peaks(1), first[:-1]))[motion]
        solid = np.flatnonzero(table.lengths_deg > 0)
        owner = motion[solid]
        before = np.append(solid[-1:], solid[:-1])
        begins = np.searchsorted(owner, np.arange(len(self.motions) + 1))
        before[begins[:-1]] = solid[begins[1:] - 1]  # each turn closes
        steps = np.abs(table.ends(1, 0)[solid] - table.ends(1, 1)[before])
        corner = (steps > scale[solid]) | (table.inner_steps(1)[solid] > scale[solid])
        return np.asarray(np.bincount(owner[corner], minlength=len(self.motions)) == 0)

    def stretches(self, bands: Sequence[Band]) -> list[list[tuple[MotionStretch, ...]]]:
        """Find where each motion lies within its own bands: what `LaneMotion.stretches` returns of each."""
        each = zip(self.motions, bands, self.first_segment, self.first_run, strict=False)
        asked = [motion.asked(*ends, first, first_run) for motion, ends, first, first_run in each]
        return stretches_within(self.runs, asked)
