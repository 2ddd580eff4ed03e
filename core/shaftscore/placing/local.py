"""Local search for a lower torque: small changes of one lane at a time, judged by the real torque.

Turns, ways and choices stay as they are, so what must hold is a set of linear inequalities, and a change
of a few variables is judged by those that name them. A change is kept if it lowers the peak, breaks no
rule and leaves the least normalised margin where it must stay. Same seed, same answer: what is counted is
tries, never time.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from math import inf
from typing import Literal

import numpy as np
import numpy.typing as npt

from shaftscore.base.progress import Progress
from shaftscore.base.wording import newton_metres
from shaftscore.placing.affine import STEP_DEG, STEPS, Affine
from shaftscore.placing.lanes import MovableLane
from shaftscore.placing.model import Arranging
from shaftscore.placing.torque import Torques, height

Aim = Literal["margin", "torque", "least-change"]

SIZES = (1, 1, 2, 5, 10, 20, 40)
"""Sizes of changes, steps."""

EASE = 1e-6
"""What was reached may be missed by this (steps, N·m, normalised margin)."""


class Local:
    """A placement that is changed bit by bit."""

    def __init__(
        self,
        arranging: Arranging,
        values: Sequence[int],
        torques: Torques,
        seed: int,
        *,
        shift_only: bool = False,
    ) -> None:
        """Begin with complete values that hold; shift_only: lanes turn as a whole, no block moves alone."""
        self._arranging, self._torques, self._shift_only = arranging, torques, shift_only
        self.values = list(values)
        self._chance = random.Random(seed)
        changes = set(arranging.change.terms)
        self._rows = [
            row
            for row in arranging.problem.inequalities
            if not changes & row.expression.terms.keys() and all(values[number] for number in row.literals)
        ]
        self._slack = np.array([row.expression.at(self.values) for row in self._rows])
        self._errors = np.array([row.margin for row in self._rows])
        self._limits = self._errors > 0
        self._by_variable = self._named()
        self._lanes = [lane for lane in arranging.lanes.moving.values() if lane.own_starts]
        self._moved_by: dict[int, list[str]] = {}
        for lane in self._lanes:
            for number in dict.fromkeys(n for e in (*lane.starts, *lane.lengths) for n in e.terms):
                self._moved_by.setdefault(number, []).append(lane.lane.id)
        for lane in self._lanes:
            if lane.lane.id in torques.loaded:
                self._take(lane.lane.id)
        self.height = height(torques.total)

    def _named(self) -> dict[int, tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]]:
        """Return, for each variable, the inequalities that name it and with which coefficient."""
        found: dict[int, list[tuple[int, float]]] = {}
        for number, row in enumerate(self._rows):
            for variable, by in row.expression.terms.items():
                found.setdefault(variable, []).append((number, by))
        return {
            variable: (np.array([n for n, _ in rows], dtype=np.int64), np.array([by for _, by in rows]))
            for variable, rows in found.items()
        }

    def _take(self, lane_id: str) -> bool:
        """Compute a lane's torque; return whether it has one."""
        torque = self._torques.of(self._arranging.lane(lane_id, self.values))
        if torque is not None:
            self._torques.by_lane[lane_id] = torque
        return torque is not None

    @property
    def margin(self) -> float:
        """The least normalised margin, a factor of the error; infinite where nothing limits it."""
        margins = self._slack[self._limits] / self._errors[self._limits]
        return float(np.min(margins, initial=inf)) * STEP_DEG

    def lower(self, floor: float, tries: int, progress: Progress, what: str) -> None:
        """Try changes that keep the margin at a floor (a factor of the error), or as it is where it is less.

        Raises shaftscore.base.errors.Cancelled if progress does.
        """
        for number in range(tries if self._lanes else 0):
            if number % 16 == 0:
                peak = newton_metres(float(self._torques.total.max()))
                progress.report(number / tries, f"{what}; trying {peak}")
            by = self._change(self._lane())
            if by:
                self._try(by, floor)

    def _lane(self) -> MovableLane:
        """Choose a lane by its share of the torque where that is high."""
        total = self._torques.total
        weights = np.maximum(total, 0.0) ** 16
        at = self._chance.choices(range(len(total)), weights=(weights + 1e-30).tolist())[0]
        shares = [max(float(self._share(lane.lane.id)[at]), 0.0) + 1e-9 for lane in self._lanes]
        return self._chance.choices(self._lanes, weights=shares)[0]

    def _share(self, lane_id: str) -> npt.NDArray[np.float64]:
        return self._torques.by_lane.get(lane_id, np.zeros(int(STEPS)))

    def _change(self, lane: MovableLane) -> dict[int, int]:
        """Make up a change: of one part, of a part and its neighbours, or of the whole lane."""
        size = self._chance.choice(SIZES) * self._chance.choice((-1, 1))
        count = len(lane.parts)
        index = self._chance.randrange(count)
        start, length = (_variable(e) for e in (lane.starts[index], lane.lengths[index]))
        before, after = (index - 1) % count, (index + 1) % count
        kind = self._chance.randrange(6)
        if self._shift_only or kind == 0 or lane.rigid or lane.alike:
            return dict.fromkeys(lane.own_starts, size)
        changes: dict[int | None, int] = {start: size}
        if kind == 1:
            changes |= {length: -size}
        elif kind == 2:
            changes = {length: size}
        elif kind == 3:
            changes |= {length: -2 * size}
        elif kind == 4:
            changes |= {
                _variable(lane.lengths[before]): size,
                _variable(lane.starts[after]): size,
                _variable(lane.lengths[after]): -size,
            }
        return {} if None in changes else {n: by for n, by in changes.items() if n is not None}

    def _try(self, by: dict[int, int], floor: float) -> None:
        """Make a change, and take it back unless it is good."""
        variables = self._arranging.problem.variables
        for number, step in by.items():
            if not variables[number].least <= self.values[number] + step <= variables[number].most:
                return
        rows, slack = self._after(by)
        if rows.size and float(slack.min()) < -EASE:
            return
        before, margin = self._slack[rows].copy(), self.margin
        self._slack[rows] = slack
        for number, step in by.items():
            self.values[number] += step
        if self.margin < min(floor, margin) - EASE or not self._is_lower(by):
            self._slack[rows] = before
            for number, step in by.items():
                self.values[number] -= step

    def _after(self, by: dict[int, int]) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.float64]]:
        """Return the inequalities that a change concerns, and what is left in each after it."""
        named = [
            (self._by_variable[number], step) for number, step in by.items() if number in self._by_variable
        ]
        if not named:
            return np.empty(0, dtype=np.int64), np.empty(0)
        every = np.concatenate([rows for (rows, _), _ in named])
        more = np.concatenate([coefficients * step for (_, coefficients), step in named])
        rows, where = np.unique(every, return_inverse=True)
        return rows, self._slack[rows] + np.bincount(where, weights=more, minlength=len(rows))

    def _is_lower(self, by: dict[int, int]) -> bool:
        """Judge the change that was just made by the torque of all lanes that it moves; keep it if lower."""
        moved = dict.fromkeys(lane for number in by for lane in self._moved_by.get(number, ()))
        loaded = [lane for lane in moved if lane in self._torques.loaded]
        kept = {lane: self._torques.by_lane[lane] for lane in loaded if lane in self._torques.by_lane}
        if loaded and all(self._take(lane) for lane in loaded):
            now = height(self._torques.total)
            if now < self.height - 1e-9:
                self.height = now
                return True
        self._torques.by_lane.update(kept)
        return False


def _variable(expression: Affine) -> int | None:
    """Return the one variable of a start or a length; None where it is fixed."""
    return next(iter(expression.terms), None)
