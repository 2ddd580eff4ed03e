"""The machine that is built: 12 selectors in 3 banks, a flap, 6 magazines, 24 gates, one chute, 8 steps.

Levels are left 0, rest 8 and right 16 mm; a turn of 5 rev/min takes 12 s. Each selector visits one level in
one step. The words are those of an invented bar for spices.
"""

from __future__ import annotations

from typing import NamedTuple

NAME, SPEED_RPM = "Spice bar", "5"
STEPS = ("Ready", "Warm", "Earth", "Red", "Round", "Heat", "Gold", "Finish")
BANKS = ("Earth", "Red", "Gold")
LEVELS, FLAP_LEVELS = "left 0, rest 8, right 16", "bin 0, jar 8"
FLAP = "Flap"
DWELL, MOVE = "5", "20"
"""Degrees of a visit and of each move beside it: together a step."""

LANES = tuple(f"Selector {bank}{number}" for bank in "ABC" for number in range(1, 5))


class Visit(NamedTuple):
    """A lane, by its place, visits a level in a step, counted from 1."""

    lane: int
    step: int
    level: str


VISITS = (
    Visit(0, 2, "left"),
    Visit(1, 3, "left"),
    Visit(2, 4, "right"),
    Visit(3, 5, "right"),
    Visit(4, 5, "left"),
    Visit(5, 6, "left"),
    Visit(6, 3, "right"),
    Visit(7, 7, "right"),
    Visit(8, 4, "left"),
    Visit(9, 6, "right"),
    Visit(10, 7, "left"),
    Visit(11, 8, "right"),
)
"""At most two in one step."""

SPICES = ("Cumin", "Coriander", "Paprika", "Chili", "Turmeric", "Ginger")
"""The magazines: left and right of each bank."""

CAPACITY, START = "40", "40"
CHUTE, JAR, STOCK = "Chute", "Jar", "Stock"

FOLDER = "discs"
