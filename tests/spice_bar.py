"""The Spice bar: 12 selectors in 3 banks of 4 and a flap, invented, with the program of one recipe."""

from __future__ import annotations

from dataclasses import replace

from shaftscore.model import (
    Channel,
    Flow,
    Gate,
    LaneGrid,
    LevelState,
    Magazine,
    Outlet,
    Project,
    Shaft,
    Supply,
)
from shaftscore.program.frames import ProgramFrame
from shaftscore.program.meaning import ProgramDraft, ProgramTiming
from shaftscore.program.places import resized, without_place
from shaftscore.program.present import draft_of
from tests.machines import lane, machine

LEVELS = {"left": 0.0, "rest": 8.0, "right": 16.0}
BANKS = "ABC"
NAMES = ("Ready", "Warm", "Earth", "Red", "Round", "Heat", "Gold", "Finish")
RECIPE: tuple[dict[str, str], ...] = (
    {},
    {"a1": "left", "b3": "right"},
    {"a2": "left", "c1": "left"},
    {"a3": "right", "b1": "left"},
    {"a4": "right", "c2": "right"},
    {"b2": "left", "c3": "left"},
    {"b4": "right", "c4": "right"},
    {"a1": "right"},
)
"""What is painted in each step."""


def spice_bar(banks: str = BANKS) -> Project:
    """Return the machine, or some of its banks, without a program but for the flap's."""
    selectors = [
        lane(f"{bank}{number}", levels=LEVELS, group=f"Bank {bank}", code=f"{bank}{number}")
        for bank in banks
        for number in range(1, 5)
    ]
    flap = lane(
        "Flap", ("bin", 10.0, 30.0), ("jar", 60.0, 340.0), levels={"bin": 0.0, "jar": 10.0}, code="D1"
    )
    gates = tuple(
        Gate(
            id=f"{own.id}-{level}",
            state=LevelState(lane=own.id, level=level),
            **{"from": f"m{index // 2}", "to": "chute", "item": "spoon"},  # type: ignore[arg-type]
        )
        for index, own in enumerate(selectors)
        for level in ("left", "right")
    )
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=tuple(
            Magazine(id=f"m{number}", capacity=20, start_count=20, **{"from": "hopper"})  # type: ignore[arg-type]
            for number in range(6)
        ),
        channels=(Channel(id="chute", travel_min_s=0.5, travel_max_s=0.75, headway_s=0.15, to="jar"),),
        outlets=(Outlet(id="jar"),),
        gates=gates,
    )
    shaft = Shaft(turn="clockwise", speed_rpm=5.0, steps=8, step_names=NAMES)
    return machine(*selectors, flap, shaft=shaft, flow=flow)


def painted_draft(project: Project) -> ProgramDraft:
    """Return the recipe as a draft: visits of 10° after 16°, moves of 14°; the flap is left out."""
    draft = draft_of(project)
    grid = without_flap(draft)
    frames = tuple(
        ProgramFrame(name, {own: level for own, level in cells.items() if own in draft.meanings})
        for name, cells in zip(NAMES, RECIPE, strict=True)
    )
    timing = ProgramTiming(first_deg=16.0, stagger_deg=12.0, move_deg=14.0)
    draft = replace(draft, frames=frames, timing=timing, grid=grid)
    return draft.with_meaning(grid.lanes, rest="rest", kind="visit", hold_deg=10.0)


def without_flap(draft: ProgramDraft) -> LaneGrid:
    """Return the draft's grid without the flap."""
    return resized(without_place(draft.grid, "flap"), draft.grid.rows - 1, 4)
