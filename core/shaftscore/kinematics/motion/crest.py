"""The way of a follower over a round crest that the disc turns away from under it.

phi is how far the disc has turned since the end of the dwell, radians. The frame is the station's: the
station line is +x outward, the axis at 0, counterclockwise positive seen from the top. A roller's
centre that rolls over a fillet keeps one distance, `pitch_mm` (fillet and roller radius together), from
the fillet's centre, which stands below the roller where the dwell ends and turns with the disc.
"""

from __future__ import annotations

from cmath import exp, phase
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from math import acos, cos, pi, sin, sqrt
from typing import NamedTuple, Protocol

from shaftscore.model import SwingingRoller, TranslatingRoller

_SHORT = 1 - 1e-9
"""How near to the place where the way is vertical it is still used."""


class Crest(NamedTuple):
    """The way over the crest: phi -> lift less the lift at the top and two derivatives, up to a phi."""

    fall: Callable[[float], tuple[float, float, float]]
    limit_rad: float


class CentrePath(Protocol):
    """Where a roller's centre stands at each lift."""

    def at(self, lift_mm: float) -> tuple[complex, complex, complex]:
        """Return the centre and its two derivatives by lift."""
        ...

    def meets(self, centre: complex, pitch_mm: float) -> float | None:
        """Return the lift, mm, at which the roller rests outside, pitch_mm off a centre; None if never."""
        ...


@dataclass(frozen=True)
class TravelLine:
    """The path of a translating roller: along_mm outward at lift 0, offset_mm to the clockwise side."""

    along_mm: float
    offset_mm: float

    def at(self, lift_mm: float) -> tuple[complex, complex, complex]:
        """Return the centre and its two derivatives by lift."""
        return complex(self.along_mm + lift_mm, -self.offset_mm), 1 + 0j, 0j

    def meets(self, centre: complex, pitch_mm: float) -> float | None:
        """Return the lift, mm, at which the roller rests pitch_mm off a centre."""
        across = -self.offset_mm - centre.imag
        if abs(across) > pitch_mm:
            return None
        return centre.real + sqrt(pitch_mm**2 - across**2) - self.along_mm


@dataclass(frozen=True)
class Swing:
    """The path of a roller on an arm: about `pivot`, from `arm` (pivot to roller) at lift 0.

    outward: +1 if the arm swings counterclockwise as the lift grows. Lift is the arc of the roller.
    """

    pivot: complex
    arm: complex
    outward: int

    def at(self, lift_mm: float) -> tuple[complex, complex, complex]:
        """Return the centre and its two derivatives by lift."""
        turn = 1j * self.outward / abs(self.arm)
        arm = self.arm * exp(turn * lift_mm)
        return self.pivot + arm, arm * turn, arm * turn**2

    def meets(self, centre: complex, pitch_mm: float) -> float | None:
        """Return the lift, mm, at which the roller rests pitch_mm off a centre: where two circles meet."""
        length, reach = abs(self.arm), centre - self.pivot
        cosine = (length**2 + abs(reach) ** 2 - pitch_mm**2) / (2 * length * abs(reach))
        if abs(cosine) > 1:
            return None
        return length * (self.outward * phase(reach / self.arm) + acos(cosine))


def path_of(
    follower: TranslatingRoller | SwingingRoller, base_radius_mm: float, offset_mm: float
) -> CentrePath | None:
    """Return a roller's path over a disc; None where it cannot stand at lift 0.

    offset_mm: of a translating roller, whose record may leave it open.
    """
    radius = base_radius_mm + follower.roller_radius_mm
    if isinstance(follower, TranslatingRoller):
        along = radius**2 - offset_mm**2
        return TravelLine(sqrt(along), offset_mm) if along > 0 else None
    distance, length = follower.pivot_distance_mm, follower.arm_mm
    cosine = (radius**2 + distance**2 - length**2) / (2 * radius * distance)
    if abs(cosine) >= 1:
        return None
    side = 1 if follower.pivot_side == "counterclockwise" else -1
    pivot = distance * exp(1j * side * acos(cosine))
    # From a pivot on the counterclockwise side the roller swings counterclockwise to go outward.
    return Swing(pivot, radius - pivot, side)


def roller_crest(path: CentrePath, top_mm: float, pitch_mm: float, sense: int) -> Crest | None:
    """Return the way of a roller's centre over a round crest that it leaves at lift top_mm.

    sense: +1 where the disc turns counterclockwise, else -1. None where the fillet does not fit in
    between the roller and the axis. With q from the fillet's centre C to the roller's centre P, q q* stays
    pitch^2, which gives both derivatives.
    """
    top = path.at(top_mm)[0]
    start = top * (1 - pitch_mm / abs(top))
    if abs(top) <= pitch_mm:
        return None

    def fall(phi: float) -> tuple[float, float, float]:
        centre = start * exp(1j * sense * phi)
        lift = path.meets(centre, pitch_mm)
        if lift is None:
            raise ValueError(f"no roller rests on the crest {phi!r} rad after the dwell")
        place, along, bend = path.at(lift)
        moved = 1j * sense * centre
        q = (place - centre).conjugate()
        over, under = (q * moved).real, (q * along).real
        slope = over / under
        dq = (along * slope - moved).conjugate()
        d_over = (dq * moved - q * centre).real
        d_under = (dq * along + q * bend * slope).real
        return lift - top_mm, slope, (d_over * under - over * d_under) / under**2

    limit = _last(lambda phi: path.meets(start * exp(1j * sense * phi), pitch_mm) is not None, pi / 2)
    return Crest(fall, limit * _SHORT)


def flat_crest(radius_mm: float, fillet_mm: float) -> Crest | None:
    """Return the way of a flat face over a round crest: y = fillet + (radius - fillet) cos phi."""
    c = radius_mm - fillet_mm
    if c <= 0:
        return None
    return Crest(lambda phi: (c * (cos(phi) - 1), -c * sin(phi), -c * cos(phi)), pi / 2 * _SHORT)


def _last(holds: Callable[[float], bool], end: float) -> float:
    """Find how far from 0 on `holds` is true without a break, at most to `end`."""
    steps = [end * step / 256 for step in range(257)]
    low, high = next(((a, b) for a, b in pairwise(steps) if not holds(b)), (end, end))
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if holds(middle) else (low, middle)
    return low
