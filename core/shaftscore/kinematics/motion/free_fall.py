"""How a follower comes down a drop: on the edge while the load can hold it there, else in free fall.

Heights are of the roller above the foot of the drop, mm; phi is radians of own angle from the end of the
dwell. The free fall has a closed form: a parabola, or with a spring's rate part of a swing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import pi, sqrt

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.motion.curve import Curve, CurvePiece, Floats, cut
from shaftscore.kinematics.motion.edge import DropEdge
from shaftscore.model import Load

Flags = npt.NDArray[np.bool_]

Beyond = Callable[[Floats], Floats]
"""Height of the edge above the foot at phi, past the drop's own edge: 0 on the dwell, then the next move."""


@dataclass(frozen=True)
class Free:
    """A free fall: m z'' = -(pull + rate z), brought to radians of own angle.

    drive_mm: pull / m / omega^2; rate: k / m / omega^2; z is the lift above the level it falls to.
    """

    drive_mm: float
    rate: float

    def acceleration(self, z_mm: float | Floats) -> float | Floats:
        """Return z'' (mm/rad^2) at a height, mm; (n,) or one."""
        return -(self.drive_mm + self.rate * z_mm)

    def piece(self, z_mm: float, velocity: float, length: float) -> CurvePiece:
        """Return the fall from z_mm with a velocity (mm/rad) for `length` rad."""
        if self.rate == 0:
            return CurvePiece(length, (z_mm, velocity, -self.drive_mm / 2))
        omega, rest = sqrt(self.rate), self.drive_mm / self.rate
        waves = ((z_mm + rest, omega, pi / 2), (velocity / omega, omega, 0.0))
        return CurvePiece(length, (-rest,), waves)


def free_fall(load: Load, ratio: float, foot_mm: float, speed_rpm: float) -> Free | str | None:
    """Bring the load to the roller and to radians; None without mass: then nothing lags behind.

    The slowest fall counts: the weakest spring within its tolerance against the most friction.
    """
    force, spring = ratio if load.at == "output" else 1.0, load.spring_force.weakest
    rate = spring.rate_n_per_mm * force**2
    pull = (spring.preload_n + load.external_n - load.friction_most_n) * force + rate * foot_mm
    if pull <= 0:
        return f"against a load that does not pull the follower down ({pull!r} N at the foot)"
    if load.moving_mass_g == 0:
        return None
    # N / g = 1e6 mm/s^2; omega in rad/s.
    per_mass = 1e6 / (load.moving_mass_g * force**2) / (speed_rpm * 2 * pi / 60) ** 2
    return Free(pull * per_mass, rate * per_mass)


def come_down(edge: DropEdge, free: Free, beyond: Beyond) -> list[CurvePiece]:
    """Follow the edge while the load can, fall freely, and follow the edge again from the landing.

    Returns pieces in rad and in mm of lift less the lift at the top; they end where the follower rests on
    the dwell, or where the next move catches it.
    """
    off = _leaves_at(edge, free)
    if off is None:
        return list(edge.pieces)
    above, velocity, _ = (float(value) for value in edge.at(np.array([off]))[:, 0])
    landing = _lands_after(edge, free, off, free.piece(above, velocity, 1.0), beyond)
    falling = free.piece(above, velocity, landing)
    falling = falling._replace(poly=(falling.poly[0] - edge.height_mm, *falling.poly[1:]))
    return [*cut(edge.pieces, 0.0, off), falling, *cut(edge.pieces, off + landing, edge.length_rad)]


def _leaves_at(edge: DropEdge, free: Free) -> float | None:
    """Find where the edge first falls faster than the follower can; only the crest does."""

    def outruns(phi: Floats) -> Flags:
        above, _, acceleration = edge.at(phi)
        return np.asarray(acceleration < free.acceleration(above))

    return _first(outruns, 0.0, edge.crest_rad * (1 - 1e-12), 513)


def _lands_after(edge: DropEdge, free: Free, off: float, falling: CurvePiece, beyond: Beyond) -> float:
    """Find how long (rad) after leaving the edge the follower, `falling`, meets an edge again."""
    path = Curve.of([falling])
    above, velocity = (float(value) for value in path.at(np.zeros(1))[:2, 0])
    # A fall under its least force takes longer than the true one, and so does a quarter of a swing.
    longest = (sqrt(velocity**2 + 2 * free.drive_mm * above) + velocity) / free.drive_mm
    longest = min(longest, pi / 2 / sqrt(free.rate)) if free.rate else longest

    def through(after: Floats) -> Flags:
        height = np.maximum(edge.at(off + after)[0], beyond(off + after))
        return np.asarray((after > 0) & (path.at(after, orders=1)[0] <= height))

    # A little more, so that rounding cannot hide the landing.
    return _first(through, 0.0, longest * (1 + 1e-9), 2049) or 0.0


def _first(true: Callable[[Floats], Flags], low: float, high: float, count: int) -> float | None:
    """Find the first place of low..high where `true` holds, among `count` and then to rounding."""
    if true(np.array([low]))[0]:
        return low
    for zoom in (count, *[33] * 12):
        places = np.linspace(low, high, zoom)
        holds = np.flatnonzero(true(places))
        if not len(holds):
            return None
        low, high = float(places[max(holds[0] - 1, 0)]), float(places[holds[0]])
    return high
