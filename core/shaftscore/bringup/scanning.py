"""All lanes late by one angle, from the first check or from a later one on: every angle at once.

What a shifted machine predicts is compared with every sighting in one array (shifts, sightings); sums over
the checks then give every place at which the shaft may have slipped.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.bringup.comparing import HAND_DEG, ComparedSheet, Flags, LaneSightings
from shaftscore.bringup.condition import Conditions, LaneCondition
from shaftscore.kinematics.followers import Reals

Counts = npt.NDArray[np.int64]

MOST_SIGHTINGS = 6400
"""Sightings that are scanned: of a larger sheet every second, third ... one. Causes are counted over all."""


@dataclass(frozen=True, eq=False)
class ShiftScan:
    """What every shift explains: shifts_deg (s,) late; explained, against (s, checks).

    by_lane: explained and against, (2, s, lanes). run_deg: where the checks are, (checks,) run angles in
    rising order.
    """

    shifts_deg: Reals
    explained: Counts
    against: Counts
    by_lane: Counts
    run_deg: Reals

    @property
    def _unshifted(self) -> Counts:
        """Differences that no shift explains before it is there, (checks,)."""
        return np.asarray(self.against[self._zero])

    @property
    def _zero(self) -> int:
        return int(np.argmin(np.abs(self.shifts_deg)))

    def scores(self) -> Reals:
        """Return the score of every shift from every check on, a share of all sightings: (s, checks)."""
        gain = self.explained - self.against / 2
        after = np.cumsum(gain[:, ::-1], axis=1)[:, ::-1]
        before = np.concatenate(([0], np.cumsum(self._unshifted)[:-1])) / 2
        return after - before

    def hopes(self, differences: Counts) -> Reals:
        """Return the score that each shift could have if two lanes were explained by another fault, (s,).

        differences: of each lane, (lanes,). A share of all sightings.
        """
        gain = self.by_lane[0] - self.by_lane[1] / 2
        missing = np.sort(differences - gain, axis=1)[:, ::-1]
        return np.asarray(gain.sum(axis=1) + missing[:, :2].sum(axis=1))


def scan(compared: ComparedSheet, conditions: Conditions, shifts_deg: Reals) -> ShiftScan:
    """Compare every shift of conditions with a sheet; shifts_deg: (s,) degrees late, with 0 among them."""
    runs = np.array([check.run_deg for check in compared.sheet.checks])
    order = np.argsort(runs, kind="stable")
    place = np.empty(len(runs), np.int64)
    place[order] = np.arange(len(runs))
    explained = np.zeros((len(shifts_deg), len(runs)), np.int64)
    against, by_lane = np.zeros_like(explained), []
    every = 1 + compared.lane_sightings // MOST_SIGHTINGS
    for lane, all_seen in compared.lanes.items():
        seen = all_seen.every(every)
        right, wrong = _held_against(compared, conditions[lane], seen, shifts_deg)
        at = place[seen.check]
        np.add.at(explained.T, at, right.T.astype(np.int64))
        np.add.at(against.T, at, wrong.T.astype(np.int64))
        by_lane.append((right.sum(axis=1), wrong.sum(axis=1)))
    lanes = np.array(by_lane).transpose(1, 2, 0)
    return ShiftScan(shifts_deg, explained, against, lanes, runs[order])


def _held_against(
    compared: ComparedSheet, condition: LaneCondition, seen: LaneSightings, shifts_deg: Reals
) -> tuple[Flags, Flags]:
    """Return which differences of a lane each shift explains, and which it contradicts, (s, n) each."""
    way = -1.0 if condition.backward else 1.0
    run = seen.run_deg[None, :] - way * shifts_deg[:, None]
    return seen.held_against(*compared.outputs.within(condition, run, HAND_DEG))


def middle_of_best(values: Reals, scores: Reals) -> int:
    """Return the middle of the run of best scores that is nearest to a value of 0: values, scores (n,)."""
    best = np.flatnonzero(scores >= scores.max() - 1e-9)
    runs = np.split(best, np.flatnonzero(np.diff(best) > 1) + 1)
    nearest = min(runs, key=lambda run: float(np.min(np.abs(values[run]))))
    return int(nearest[len(nearest) // 2])
