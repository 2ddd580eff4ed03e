"""Twelve selectors in three banks, with two gates each, that let seeds fall into one chute.

A bench sower for plug trays with a single chute: in each of eight steps one selector of every bank drops a
seed, twice a turn each, basil in one step and cress four steps later. As typed in the state table all banks
drop at once, and the seeds meet in the chute.
"""

from __future__ import annotations

from collections.abc import Mapping

from shaftscore.base.angles import wrap
from shaftscore.model import (
    Channel,
    Disc,
    Flow,
    Gate,
    Lane,
    Magazine,
    Outlet,
    Project,
    RangeState,
    Reload,
    Shaft,
    Stack,
    Supply,
    Tolerances,
    TranslatingRoller,
    replaced,
)
from tests.machines import at, block, machine

BANKS = ("A", "B", "C")
DWELL, MOVE, STEP = 5.0, 35.0, 45.0
REST = 180.0 - DWELL - 2 * MOVE
"""105 degrees: the rest between two drops."""

LIFT = 9.24
"""From one level of a selector to the next, mm."""

BY_HAND = {"A": 0.0, "B": 15.0, "C": 30.0}
"""How far a person shifts the banks, so that seeds follow one another every 15 degrees."""


def selector(bank: str, number: int, shift: float = 0.0) -> Lane:
    """A selector that drops basil in the middle of step `number` and cress half a turn later."""
    start = number * STEP + (STEP - DWELL) / 2 + shift
    places = [
        ("basil", start, DWELL),
        ("shut", start + DWELL + MOVE, REST),
        ("cress", start + 180.0, DWELL),
        ("shut", start + 180.0 + DWELL + MOVE, REST),
    ]
    blocks = sorted((wrap(begin), level, length) for level, begin, length in places)
    return Lane(
        id=f"{bank}{number + 1}".lower(),
        name=f"Selector {bank}{number + 1}",
        group=f"Bank {bank}",
        levels={"basil": 0.0, "shut": LIFT, "cress": 2 * LIFT},
        blocks=tuple(block(level, begin, begin + length) for begin, level, length in blocks),
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=4.0),
        disc=Disc(base_group="selectors"),
    )


def one_chute(shifts: Mapping[str, float] | None = None) -> Project:
    """The machine, its banks shifted; as typed without."""
    moved = dict.fromkeys(BANKS, 0.0) | dict(shifts or {})
    lanes = [selector(bank, number, moved[bank]) for bank in BANKS for number in range(4)]
    magazines = tuple(
        Magazine(
            id=f"{seed}_{bank}".lower(), source=f"{seed}_hopper", travel_s=0.5, capacity=8, start_count=8
        )
        for bank in BANKS
        for seed in ("basil", "cress")
    )
    gates = tuple(
        Gate(
            id=f"{lane.id}_{seed}",
            state=RangeState(lane=lane.id, from_mm=low, to_mm=low + 1.0),
            source=f"{seed}_{lane.group[-1]}".lower(),
            to="chute",
            item=seed,
            item_s=0.1,
            reload=Reload(state=at(lane.id, "shut"), item_s=0.5),
        )
        for lane in lanes
        for seed, low in (("basil", 0.0), ("cress", 2 * LIFT - 1.0))
    )
    flow = Flow(
        supplies=tuple(Supply(id=f"{seed}_hopper", rate_per_min=150) for seed in ("basil", "cress")),
        magazines=magazines,
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.2, headway_s=0.95, to="tray"),),
        outlets=(Outlet(id="tray"),),
        gates=gates,
    )
    project = machine(
        *lanes, rpm=2.0, shaft=Shaft(turn="counterclockwise", speed_rpm=2.0, steps=8), flow=flow
    )
    stack = Stack(id="main", joints="one-way", fit_clearance_mm=0.1)
    sizes = Tolerances(profile_mm=0.05, zero_mm=0.05, disc_angle_deg=0.2, speed_percent=8.0)
    return replaced(project, name="One chute", stacks=(stack,), tolerances=sizes)
