"""The machine that is built: 12 selectors in 3 banks, a flap, 6 magazines, 24 gates, one chute, 8 steps.

Levels are left 0, rest 8 and right 16 mm; a turn of 5 rev/min takes 12 s. Each selector visits one level in
one step. The words are those of an invented bar for spices.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from shaftscore.model import Flow, Lane, Project

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


def faults_of(project: Project) -> Iterator[str]:
    """Yield what is not as it was meant in a project that was built."""
    shaft, flow = project.shaft, project.flow or Flow()
    if (project.name, shaft.speed_rpm, shaft.step_names) != (NAME, float(SPEED_RPM), STEPS):
        yield f"{project.name}, {shaft.speed_rpm} rev/min, {len(shaft.step_names)} named steps"
    if [lane.label for lane in project.lanes] != [*LANES, FLAP]:
        yield f"{len(project.lanes)} lanes"
        return
    for place, lane in enumerate(project.lanes[:-1]):
        yield from _lane_faults(place, lane)
    stores = [(store.id, str(store.capacity), str(store.start_count)) for store in flow.magazines]
    if [store[1:] for store in stores] != [(CAPACITY, START)] * len(SPICES):
        yield f"magazines {stores}"
    if len({(gate.state, gate.source) for gate in flow.gates}) != 2 * len(LANES) or len(flow.channels) != 1:
        yield f"{len(flow.gates)} gates, {len(flow.channels)} channels"


def _lane_faults(place: int, lane: Lane) -> Iterator[str]:
    visit = VISITS[place]
    levels = [block.level for block in lane.blocks]
    if sorted(levels) != sorted([visit.level, "rest"]) or list(lane.levels.values()) != [0.0, 8.0, 16.0]:
        yield f"{lane.label} has {levels} of {dict(lane.levels)}"
        return
    (at,) = [block for block in lane.blocks if block.level == visit.level]
    begin = 360.0 / len(STEPS) * (visit.step - 1)
    if not begin <= at.start_deg <= at.end_deg <= begin + 360.0 / len(STEPS):
        yield f"{lane.label} visits {visit.level} at {at.start_deg} to {at.end_deg}"
    if lane.group != BANKS[place // 4]:
        yield f"{lane.label} is in {lane.group}"
