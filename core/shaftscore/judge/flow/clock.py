"""The integer clock of the flow: microseconds, turns and places in the turn.

One turn of the master shaft is one *cycle* of a whole number of microseconds. An angle becomes an
*offset* in the cycle, rounded once, so that offset o of turn n (counted from 0) lies at n x cycle + o
exactly, however many turns have passed. A supply's interval is kept as an exact ratio to the cycle and
only the moments at which it sends are rounded, each from the exact one, so that no error adds up: what
is fed once a turn stays once a turn for ever.

Why the run counts on its own where `shaftscore.rules` has slacks over arrays: it follows single items event
by event, through turns in which some are missing, and two events at one instant have an order (arrivals
come before departures). With angles as floats, instants that are equal would differ by rounding, and a state
that comes back would not be recognised. Windows, headways, reloads, diverters and the order at outlets are
computed by the functions of `shaftscore.rules` all the same, over whole microseconds; what magazines hold is
the one thing that both work out, and `tests/core/rules` holds them to the same answer.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from shaftscore.base.angles import TURN, Arcs

US_PER_S = 1_000_000
"""Microseconds in a second."""

US_PER_MIN = 60 * US_PER_S
"""Microseconds in a minute."""


@dataclass(frozen=True)
class Pace:
    """The interval of a supply: `whole` + `part` / `parts` microseconds, 0 <= part < parts."""

    whole: int
    part: int
    parts: int


@dataclass(frozen=True)
class CycleClock:
    """The clock of one run: length of the cycle in µs, and the exact speed it stands for, rev/min."""

    cycle_us: int
    speed_rpm: Fraction

    @staticmethod
    def of(speed_rpm: float) -> CycleClock:
        """Make the clock of a machine that runs at `speed_rpm`."""
        return CycleClock(max(1, rounded(US_PER_MIN / speed_rpm)), exact(speed_rpm))

    def offset(self, deg: float) -> int:
        """Return the time from theta = 0 to `deg`, µs, to the nearest."""
        return rounded(deg * self.cycle_us / TURN)

    def pace(self, rate_per_min: float) -> Pace:
        """Return the exact interval of a supply of that rate."""
        return pace_of(self.cycle_us * self.speed_rpm / exact(rate_per_min))

    def turn(self, time_us: int) -> int:
        """Return the turn in which a time lies, counted from 1."""
        return time_us // self.cycle_us + 1

    def deg(self, time_us: int) -> float:
        """Return the angle of the master shaft at a time, degrees."""
        return (time_us % self.cycle_us) * TURN / self.cycle_us

    def span(self, first_us: int, last_us: int) -> Arcs:
        """Return the stretch of the cycle from one time to a later one (the whole turn if longer)."""
        return Arcs.span(self.deg(first_us), (last_us - first_us) * TURN / self.cycle_us)


def pace_of(interval_us: Fraction) -> Pace:
    """Return an exact interval, µs, as whole microseconds and the part of one that is left."""
    whole = math.floor(interval_us)
    rest = interval_us - whole
    return Pace(whole, rest.numerator, rest.denominator)


def rounded(value: float) -> int:
    """Round to the nearest whole number, in any unit, halves up."""
    return math.floor(value + 0.5)


def microseconds(seconds: float) -> int:
    """Return a time in s as whole µs."""
    return rounded(seconds * US_PER_S)


def exact(value: float) -> Fraction:
    """Return the decimal number that a person typed, exactly, in any unit (7.3 is 73/10)."""
    return Fraction(repr(float(value)))
