"""A motion law: the normalised curve along which a move goes from one level to the next.

x runs from 0 to 1 over the move's angle, y from 0 to 1 over its travel. The factors are what the
handbooks tabulate for a move between two dwells: with travel h in the angle beta at the shaft speed
omega, the peaks are Cv h omega/beta, Ca h omega^2/beta^2 and Cj h omega^3/beta^3, and the largest
power of the inertia is Qm m h^2 omega^3/beta^3. A factor is infinite where the quantity one order
below has a step.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from math import inf

import numpy as np

from shaftscore.kinematics.motion.curve import Curve, CurvePiece, Floats, cut, mirrored_pieces, packed

STEP = 1e-9
"""A change larger than this in a normalised velocity or acceleration is a step."""


@dataclass(frozen=True, eq=False, repr=False)
class Law(Curve):
    """A motion law; see the module's text. Build it with `law_of`.

    name: as in the file format. title: as people read it. symmetric: whether y(1 - x) = 1 - y(x).
    pieces: what the arrays were made of.
    """

    name: str
    title: str
    symmetric: bool
    pieces: tuple[CurvePiece, ...]

    def __repr__(self) -> str:
        return f"Law({self.name})"

    @cached_property
    def mirrored(self) -> Law:
        """The law run mirrored in time, 1 - y(1 - x); itself if symmetric."""
        if self.symmetric:
            return self
        return law_of(self.name, self.title, mirrored_pieces(self.pieces), symmetric=False)

    def steps(self, order: int) -> tuple[tuple[float, float, float], ...]:
        """Return the steps of y' (order 1) or y'' (order 2) between dwells: (x, left, right)."""
        x = np.concatenate(([0.0], self.starts[1:], [1.0]))
        left, right = self.at(x, "left")[order], self.at(x, "right")[order]
        left[0] = right[-1] = 0.0
        places = np.flatnonzero(np.abs(right - left) > STEP)
        return tuple((float(x[i]), float(left[i]), float(right[i])) for i in places)

    @cached_property
    def cv(self) -> float:
        """Largest |y'|, a factor without unit."""
        return self.peaks[0][0]

    @cached_property
    def ca(self) -> float:
        """Largest |y''|, a factor without unit; infinite where the velocity has a step."""
        return inf if self.steps(1) else self.peaks[1][0]

    @cached_property
    def cj(self) -> float:
        """Largest |y'''|; infinite where velocity or acceleration has a step."""
        return inf if self.steps(1) or self.steps(2) else self.peaks[2][0]

    @cached_property
    def cj_between_steps(self) -> float:
        """Largest |y'''| apart from steps, a factor: what is left of a law whose `cj` is infinite."""
        return self.peaks[2][0]

    @cached_property
    def qm(self) -> float:
        """Largest |y' y''|, a factor without unit; infinite where the velocity has a step."""
        return inf if self.steps(1) else self._largest_power()

    def _largest_power(self) -> float:
        """Maximise |y' y''| on each piece: its slope y''^2 + y' y''' is zero there, or at an end."""
        best = 0.0
        for index in range(len(self.starts)):
            x = np.linspace(self.edges[index], self.edges[index + 1], 129)
            low, high = _around_best(x, self._power(index, x))
            for _ in range(40):
                x = np.linspace(low, high, 9)
                low, high = _around_best(x, self._power(index, x))
            best = max(best, float(self._power(index, np.array([low, (low + high) / 2, high])).max()))
        return best

    def _power(self, index: int, x: Floats) -> Floats:
        _, velocity, acceleration = self._evaluate(np.full(len(x), index), x, 3)
        power: Floats = np.abs(velocity * acceleration)
        return power


def _around_best(x: Floats, values: Floats) -> tuple[float, float]:
    best = int(np.argmax(values))
    return float(x[max(best - 1, 0)]), float(x[min(best + 1, len(x) - 1)])


def law_of(name: str, title: str, pieces: Sequence[CurvePiece], *, symmetric: bool) -> Law:
    """Make a law of pieces that lead from y(0) = 0 to y(1) = 1."""
    return Law(*packed(pieces), name=name, title=title, symmetric=symmetric, pieces=tuple(pieces))


def rest_of(law: Law, x: float) -> Law:
    """Return what is left of a law from x on, as a law of its own from 0 to 1."""
    begin = float(law.at(np.array([x]), orders=1)[0, 0])
    rest = [
        piece._replace(poly=(piece.poly[0] - begin, *piece.poly[1:])) for piece in cut(law.pieces, x, 1.0)
    ]
    # The lengths must add up to 1 in spite of rounding.
    left = sum(piece.length for piece in rest)
    return law_of(
        law.name, law.title, [piece.scaled(1 / left, 1 / (1 - begin)) for piece in rest], symmetric=False
    )
