"""Random machines with a build fault planted in them, and what a person at the bench would tick.

All machines are invented. What is ticked comes from the condition of the faulty machine, with one tick in
fifty wrong; a lane that moves or is between its levels at a check is left out, as a person would.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.bringup import BenchCheck, BuildFault, BuiltOutputs, Sighting, SightingSheet, built
from shaftscore.bringup import fault_words as said
from shaftscore.bringup.candidates import disc_families, follower_families, pair_families, wide_faults
from shaftscore.bringup.condition import LaneCondition
from shaftscore.model import (
    Bore,
    Disc,
    Drive,
    Lane,
    MotorSource,
    Pins,
    Project,
    Shaft,
    Stack,
    Stage,
    TranslatingRoller,
)
from shaftscore.solution import Solution, solve
from tests.machines import block, machine

WRONG_ONE_IN = 50
MOVE_DEG = 26.0
LEVELS = (
    {"closed": 0.0, "open": 8.0},
    {"left": 0.0, "rest": 6.0, "right": 12.0},
    {"low": 0.0, "middle": 7.0, "high": 12.0},
)


@dataclass(frozen=True)
class PlantedCase:
    """A machine, the faults in it, what was ticked, and how many of the ticks differ from the drawing."""

    solution: Solution
    outputs: BuiltOutputs
    faults: tuple[BuildFault, ...]
    sheet: SightingSheet
    shows: tuple[int, ...]
    """How many sightings would be others without each of the faults."""


def random_machine(draw: random.Random) -> Project:
    """Return a machine of 6 to 14 lanes with 2 to 5 dwells a turn each, with any bore."""
    lanes = [_lane(draw, number) for number in range(draw.randint(6, 14))]
    bore = Bore(shape=draw.choice(("hex", "hex", "square", "round")), across_mm=10.0)
    pins = Pins(count=draw.choice((2, 3)), radius_mm=15.0, across_mm=3.0) if draw.random() < 0.2 else None
    drive = Drive(
        source=MotorSource(kind="motor", rated_speed_rpm=30.0, rated_torque_nm=1.0, turn="clockwise"),
        stages=(Stage(driver_teeth=12, driven_teeth=draw.choice((36, 40, 48, 60)), kind="external"),),
    )
    turn = draw.choice(("clockwise", "counterclockwise"))
    shaft = Shaft(turn=turn, speed_rpm=5.0, steps=12)  # type: ignore[arg-type]
    return machine(*lanes, shaft=shaft, stacks=(Stack(id="main", bore=bore, pins=pins),), drive=drive)


def _lane(draw: random.Random, number: int) -> Lane:
    levels = draw.choice(LEVELS)
    names, start = list(levels), draw.uniform(0.0, 40.0)
    visits = draw.randint(3, 5)
    room = 360.0 - visits * MOVE_DEG
    shares = np.array([draw.uniform(0.5, 2.0) for _ in range(visits)])
    lengths = (room * shares / shares.sum()).tolist()
    blocks, level = [], draw.choice(names)
    first = level
    for place, length in enumerate(lengths):
        blocks.append(block(level, start % 360.0, start % 360.0 + length))
        start += length + MOVE_DEG
        others = [one for one in names if one != level and (place < visits - 2 or one != first)]
        level = draw.choice(others or [one for one in names if one != level])
    if blocks[-1].level == first:
        blocks = blocks[:-1]
    return Lane(
        id=f"l{number}",
        name=f"Lane {number}",
        code=f"{'AB'[number % 2]}{number // 2 + 1}",
        levels=levels,
        blocks=tuple(blocks),
        station_deg=180.0 * (number % 2),
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=4.0),
        disc=Disc() if draw.random() < 0.25 else Disc(base_radius_mm=26.0),
    )


def random_fault(draw: random.Random, outputs: BuiltOutputs, *, wide: bool | None = None) -> BuildFault:
    """Return a likely fault, every kind of it as likely as another."""
    late = draw.choice((-1, 1)) * draw.uniform(8.0, 60.0)
    wides = [*wide_faults(outputs), said.all_late(late), said.slips(late, draw.uniform(90.0, 250.0))]
    pairs = [fault for family in pair_families(outputs) for fault in family.faults]
    lane = draw.choice(outputs.lanes)
    own = [*disc_families(outputs, lane), *follower_families(outputs, lane)]
    locals_ = [_between(draw, outputs.project, draw.choice(family.faults)) for family in own]
    kinds: dict[str, list[BuildFault]] = {}
    for fault in (*wides, *pairs, *locals_):
        if wide is None or wide == (not fault.lanes):
            kinds.setdefault(fault.kind, []).append(fault)
    return draw.choice(kinds[draw.choice(sorted(kinds))])


def _between(draw: random.Random, project: Project, fault: BuildFault) -> BuildFault:
    """Return a fault of a free size with any size, not one of those that are tried."""
    if fault.kind == "travel":
        share = draw.choice((draw.uniform(0.3, 0.75), draw.uniform(1.25, 2.0)))
        return said.travel(project, fault.lanes[0], share)
    if fault.kind == "late-falls":
        return said.late_falls(project, fault.lanes[0], draw.uniform(5.0, 30.0))
    if fault.kind == "turned-disc":
        return said.turned_disc(project, fault.lanes[0], draw.uniform(8.0, 180.0) * draw.choice((-1, 1)))
    return fault


STOPS_DEG = tuple(10.0 * stop for stop in range(36))
"""Where the shaft is stopped in the one turn of observations."""

HAND_DEG = 0.5
"""How far off a stop the hand really stops, at most."""

AT_LEVEL = 0.15
"""Share of the step between two levels within which a level is ticked; farther off the output is measured."""


def ticked(
    outputs: BuiltOutputs, conditions: Mapping[str, LaneCondition], draw: random.Random
) -> SightingSheet:
    """Return what would be ticked or measured (to 0.5 mm), one in fifty wrong."""
    return SightingSheet(
        tuple(
            _check(outputs, conditions, angle, angle + draw.uniform(-HAND_DEG, HAND_DEG), draw)
            for angle in STOPS_DEG
        )
    )


def _check(
    outputs: BuiltOutputs,
    conditions: Mapping[str, LaneCondition],
    angle: float,
    really: float,
    draw: random.Random,
) -> BenchCheck:
    """Return what is seen where the shaft is stopped near an angle."""
    lanes = outputs.lanes
    return BenchCheck(
        angle, {lane: _sighting(outputs, lane, conditions[lane], really, draw) for lane in lanes}
    )


def _sighting(
    outputs: BuiltOutputs, lane: str, condition: LaneCondition, angle: float, draw: random.Random
) -> Sighting:
    levels = outputs.project.levels_of(outputs.project.lane(lane))
    output = float(outputs.at(condition, np.array([angle]))[0])
    near = min(levels, key=lambda level: abs(levels[level] - output))
    step = min(abs(one - levels[near]) for name, one in levels.items() if name != near)
    if draw.random() < 1 / WRONG_ONE_IN:
        return draw.choice([level for level in levels if level != near])
    return near if abs(levels[near] - output) <= AT_LEVEL * step else round(2 * output) / 2


def planted(seed: int, faults: int) -> PlantedCase:
    """Return a random machine with one or two faults in it."""
    draw = random.Random(seed)
    while True:
        solution = solve(random_machine(draw))
        outputs = BuiltOutputs(solution)
        if len(outputs.lanes) == len(solution.lanes):
            break
    planted_faults = [random_fault(draw, outputs)]
    while len(planted_faults) < faults:
        other = random_fault(draw, outputs)
        first = planted_faults[0]
        apart = other.kind != first.kind or set(other.lanes).isdisjoint(first.lanes)
        if apart and (other.lanes or first.lanes):
            planted_faults.append(other)
    own = _with(outputs, planted_faults)
    shows = tuple(
        _differing(outputs, own, _with(outputs, [one for one in planted_faults if one is not fault]))
        for fault in planted_faults
    )
    return PlantedCase(solution, outputs, tuple(planted_faults), ticked(outputs, own, draw), shows)


def _with(outputs: BuiltOutputs, faults: Sequence[BuildFault]) -> dict[str, LaneCondition]:
    conditions = outputs.drawn()
    for fault in faults:
        conditions = built(outputs.project, conditions, fault)
    return conditions


def _differing(
    outputs: BuiltOutputs, one: Mapping[str, LaneCondition], other: Mapping[str, LaneCondition]
) -> int:
    """Return at how many stops a lane is nearer to another level in one condition than in another."""
    at, count = np.array(STOPS_DEG), 0
    for lane in outputs.lanes:
        heights = np.array(sorted(outputs.project.levels_of(outputs.project.lane(lane)).values()))
        both = [outputs.at(each[lane], at) for each in (one, other)]
        near = [np.argmin(np.abs(values[:, None] - heights), axis=1) for values in both]
        count += int((near[0] != near[1]).sum())
    return count


def is_told(case: PlantedCase, told: Sequence[BuildFault]) -> bool:
    """Return whether told faults are those that were planted, fitted sizes to what a bench can tell.

    Other names of the very same machine count: a lever that moves too far and is crossed with another.
    """
    if _with(case.outputs, told) == _with(case.outputs, case.faults):
        return True
    left = list(told)
    for fault in case.faults:
        match = next((one for one in left if _same(one, fault)), None)
        if match is None:
            return False
        left.remove(match)
    return not left


def _same(one: BuildFault, other: BuildFault) -> bool:
    if one.kind in ("hub-tooth", "all-late") and other.kind in ("hub-tooth", "all-late"):
        return abs(one.angle_deg - other.angle_deg) <= 6.0
    if one.kind == other.kind == "slips":
        return (
            abs(one.angle_deg - other.angle_deg) <= 6.0 and abs(one.slip_at_deg - other.slip_at_deg) <= 30.0
        )
    if one.kind != other.kind or set(one.lanes) != set(other.lanes) or one.stack != other.stack:
        return False
    if one.kind == "travel":
        return abs(one.share - other.share) <= 0.15
    if one.kind in ("late-falls", "turned-disc"):
        return abs(one.angle_deg - other.angle_deg) <= 8.0
    return (one.level, one.turned_over, one.angle_deg) == (other.level, other.turned_over, other.angle_deg)
