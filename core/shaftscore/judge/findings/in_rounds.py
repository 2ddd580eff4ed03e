"""Places in a round of the machine as people read them: "212.0°", "cycle 7, 212.0°"."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from shaftscore.base import wording
from shaftscore.base.angles import TURN, Arcs, wrap
from shaftscore.base.wording import degrees
from shaftscore.model.rounds import CYCLE


class CyclePlace(NamedTuple):
    """A cycle of the master, from 1, and the angle of the master in it, degrees."""

    cycle: int
    deg: float


def cycle_place(circle_deg: float, cycles: Fraction) -> CyclePlace:
    """Return where in which cycle an angle of the circle of a round of so many cycles is, degrees."""
    if cycles == CYCLE:
        return CyclePlace(1, circle_deg)
    master = circle_deg * float(cycles)
    return CyclePlace(int(master // TURN) + 1, wrap(master))


def round_angle(circle_deg: float, cycles: Fraction) -> str:
    """Write an angle of the circle of a round: with its cycle where there are several."""
    place = cycle_place(circle_deg, cycles)
    return f"cycle {place.cycle:,}, {degrees(place.deg)}" if cycles > 1 else degrees(place.deg)


def round_range(span: Arcs, cycles: Fraction) -> str:
    """Write one stretch of the circle of a round, with the cycles in which it starts and ends."""
    if cycles == CYCLE:
        return wording.angle_range(span)
    if span.is_full:
        return f"all {int(cycles):,} cycles" if cycles > 1 else "the whole turn"
    start, end = (cycle_place(deg, cycles) for deg in (span.start, span.end))
    last = degrees(end.deg) if end.cycle == start.cycle else f"cycle {end.cycle:,}, {degrees(end.deg)}"
    more = "" if cycles > 1 else f", {int(1 / cycles):,} times a cycle"
    return f"{round_angle(span.start, cycles)} to {last}{more}"


def turn_text(turn: int, cycles: Fraction) -> str:
    """Write the turn of a run, which is a round: "turn 3", or "round 3" where it is not a cycle."""
    return f"turn {turn}" if cycles == CYCLE else f"round {turn}"
