"""Local search: small changes of one lane at a time, judged by the real torque and the exact rules.

Turns, ways and choices stay as they are, so what must hold is a set of linear inequalities, and a change
of a few variables is judged by those that name them. A change is kept if it makes the aim better and
breaks none of the guards, which hold what was reached before. Same seed, same answer: what is counted is
tries, never time.
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from math import inf
from typing import Literal

import numpy as np
import numpy.typing as npt

from shaftscore.base.progress import Progress
from shaftscore.base.wording import degrees, newton_metres
from shaftscore.placing.affine import STEP_DEG, STEPS
from shaftscore.placing.lanes import MovableLane
from shaftscore.placing.model import Arranging
from shaftscore.placing.torque import Torques, height

Aim = Literal["margin", "torque", "least-change"]

SIZES = (1, 1, 2, 5, 10, 20, 40)
"""Sizes of changes, steps."""

EASE = 1e-6
"""What was reached may be missed by this (steps, N·m)."""


@dataclass
class Guards:
    """What must not be lost: margin (steps), height of the torque (N·m), sum of changes (steps)."""

    margin: float = 0.0
    height: float = inf
    change: float = inf


class Local:
    """A placement that is changed bit by bit."""

    def __init__(self, arranging: Arranging, values: Sequence[int], torques: Torques, seed: int) -> None:
        """Begin with complete values that hold."""
        self._arranging, self._torques = arranging, torques
        self.values = list(values)
        self._chance = random.Random(seed)
        changes = set(arranging.change.terms)
        self._rows = [
            row
            for row in arranging.problem.inequalities
            if not changes & row.expression.terms.keys() and all(values[number] for number in row.literals)
        ]
        self._slack = np.array([row.expression.at(self.values) for row in self._rows])
        self._limits = np.array([row.margin > 0 for row in self._rows], dtype=bool)
        self._by_variable = self._named()
        self._lanes = [lane for lane in arranging.lanes.moving.values() if len(lane.parts) > 1]
        self._owner = {
            number: index
            for index, lane in enumerate(self._lanes)
            for expression in (*lane.starts, *lane.lengths)
            for number in expression.terms
        }
        self._drawn = arranging.drawn_positions()
        for lane in self._lanes:
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

    def _take(self, lane_id: str) -> None:
        if lane_id in self._torques.loaded:
            torque = self._torques.of(self._arranging.lane(lane_id, self.values))
            if torque is not None:
                self._torques.by_lane[lane_id] = torque

    @property
    def margin(self) -> float:
        """The smallest margin, steps; infinite where nothing limits it."""
        return float(np.min(self._slack, where=self._limits, initial=inf))

    @property
    def so_far(self) -> str:
        """What is reached, in words: margin and peak torque."""
        margin = "no margin" if self.margin == inf else f"margin {degrees(self.margin * STEP_DEG)}"
        peak = float(self._torques.total.max())
        return f"{margin}, peak {newton_metres(peak)}" if self._torques.by_lane else margin

    @property
    def change(self) -> float:
        """The sum of all changes, steps."""
        return sum(abs(self.values[variable] - drawn) for variable, drawn in self._drawn.items())

    def improve(self, aim: Aim, guards: Guards, tries: int, progress: Progress, what: str) -> None:
        """Try changes and tell the best so far; raises shaftscore.base.errors.Cancelled if progress does."""
        if not self._lanes:
            return
        for number in range(tries):
            if number % 16 == 0:
                progress.report(number / tries, f"{what}, {self.so_far}")
            lane = self._lane(aim)
            by = self._change(lane, aim)
            if by:
                self._try(lane, by, aim, guards)

    def _lane(self, aim: Aim) -> MovableLane:
        """Choose a lane: for torque by its share where that is high, for the margin where that is small."""
        if aim == "margin" and self.margin < inf:
            return self._chance.choice(self._tight())
        if aim != "torque" or not self._torques.by_lane:
            return self._chance.choice(self._lanes)
        total = self._torques.total
        weights = np.maximum(total, 0.0) ** 16
        at = self._chance.choices(range(len(total)), weights=(weights + 1e-30).tolist())[0]
        shares = [max(float(self._share(lane.lane.id)[at]), 0.0) + 1e-9 for lane in self._lanes]
        return self._chance.choices(self._lanes, weights=shares)[0]

    def _tight(self) -> list[MovableLane]:
        """Return the lanes that the smallest margin depends on."""
        row = self._rows[int(np.argmin(np.where(self._limits, self._slack, inf)))]
        lanes = {self._owner[n]: None for n in row.expression.terms if n in self._owner}
        return [self._lanes[number] for number in lanes] or self._lanes

    def _share(self, lane_id: str) -> npt.NDArray[np.float64]:
        return self._torques.by_lane.get(lane_id, np.zeros(int(STEPS)))

    def _change(self, lane: MovableLane, aim: Aim) -> dict[int, int]:
        """Make up a change: of one part, of a part and its neighbours, of the whole lane, or back."""
        if aim == "least-change":
            return self._back(lane)
        size = self._chance.choice(SIZES) * self._chance.choice((-1, 1))
        count = len(lane.parts)
        index = self._chance.randrange(count)
        start, length = (_variable(e) for e in (lane.starts[index], lane.lengths[index]))
        before, after = (index - 1) % count, (index + 1) % count
        kind = self._chance.randrange(6)
        if kind == 0 or lane.rigid:
            return {number: size for e in lane.starts if (number := _variable(e)) is not None}
        if start is None:
            return {}
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

    def _back(self, lane: MovableLane) -> dict[int, int]:
        """Go back towards what was drawn: one part or all of a lane, wholly or in part."""
        numbers = [n for e in (*lane.starts, *lane.lengths) if (n := _variable(e)) is not None]
        if self._chance.random() < 0.5:
            index = self._chance.randrange(len(lane.parts))
            some = (_variable(lane.starts[index]), _variable(lane.lengths[index]))
            numbers = [n for n in some if n is not None]
        share = self._chance.choice((1.0, 1.0, 0.5, 0.2))
        return {
            number: by
            for number in numbers
            if (by := round((self._drawn[number] - self.values[number]) * share))
        }

    def _try(self, lane: MovableLane, by: dict[int, int], aim: Aim, guards: Guards) -> None:
        variables = self._arranging.problem.variables
        for number, step in by.items():
            if not variables[number].least <= self.values[number] + step <= variables[number].most:
                return
        rows, slack = self._after(by)
        if rows.size and float(slack.min()) < -EASE:
            return
        before = self._slack[rows].copy(), self.margin, self.change, self.height
        self._slack[rows] = slack
        for number, step in by.items():
            self.values[number] += step
        if not self._better(lane, before[1:], aim, guards):
            self._slack[rows] = before[0]
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

    def _better(
        self, lane: MovableLane, before: tuple[float, float, float], aim: Aim, guards: Guards
    ) -> bool:
        """Judge the change that was just made; keep its torque if it is good."""
        margin, change, high = before
        if self.margin < min(guards.margin, margin) - EASE or self.change > max(guards.change, change) + EASE:
            return False
        if aim == "margin" and not self.margin > margin + EASE:
            return False
        if aim == "least-change" and not self.change < change - EASE:
            return False
        lane_id = lane.lane.id
        if lane_id not in self._torques.loaded:
            return aim != "torque"
        torque = self._torques.of(self._arranging.lane(lane_id, self.values))
        if torque is None:
            return False
        kept = self._torques.by_lane.get(lane_id)
        self._torques.by_lane[lane_id] = torque
        now = height(self._torques.total)
        good = now < high - 1e-9 if aim == "torque" else now <= max(guards.height, high) + EASE
        if good:
            self.height = now
        elif kept is not None:
            self._torques.by_lane[lane_id] = kept
        return good


def _variable(expression: object) -> int | None:
    """Return the one variable of a start or a length; None where it is fixed."""
    terms = getattr(expression, "terms", {})
    return next(iter(terms), None)
