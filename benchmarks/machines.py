"""Projects of any size for the benchmarks: gates of two levels, spread round the turn."""

from __future__ import annotations

from shaftscore.model import (
    Block,
    Channel,
    Drive,
    Flow,
    Gate,
    Lane,
    Load,
    Magazine,
    Outlet,
    Project,
    Shaft,
    Stack,
    Supply,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.project import FORMAT, VERSION
from shaftscore.model.rules import Exclusive, LevelState

PER_STACK = 64


def gates(count: int) -> Project:
    """Make a machine of `count` gates on as many stacks as they need, each excluded from its neighbour.

    Every gate opens for 12 degrees, with moves of 24; neighbours open one after the other.
    """
    lanes = tuple(_gate(index, count) for index in range(count))
    stacks = tuple(Stack(id=f"s{number}") for number in range(-(-count // PER_STACK)))
    rules = tuple(
        Exclusive(kind="exclusive", states=(_open(index), _open(index + 1)))
        for index in range(0, count - 1, 2)
    )
    return Project(
        format=FORMAT,
        version=VERSION,
        name=f"{count} gates",
        shaft=Shaft(turn="clockwise", speed_rpm=6.0),
        stacks=stacks,
        lanes=lanes,
        rules=rules,
    )


def _open(index: int) -> LevelState:
    return LevelState(lane=f"g{index}", level="open")


def _gate(index: int, count: int) -> Lane:
    # Neighbours are half a turn apart, so that no rule is broken.
    start = (index * 300.0 / count + 150.0 * (index % 2)) % 300.0
    blocks = (
        Block(level="open", start_deg=start, end_deg=start + 12.0),
        Block(level="closed", start_deg=start + 36.0, end_deg=start + 336.0),
    )
    return Lane(
        id=f"g{index}",
        name=f"Gate {index}",
        stack=f"s{index // PER_STACK}",
        levels={"closed": 0.0, "open": 10.0},
        blocks=blocks,
        follower={"kind": "translating-roller", "roller_radius_mm": 5.0},
        disc={"base_radius_mm": 75.0, "thickness_mm": 6.0},
    )


def stated_gates(count: int) -> Project:
    """Make the same machine with everything stated: fits, rods, heights, loads with springs, and a drive."""
    bare = gates(count)
    return replaced(
        bare,
        stacks=tuple(replaced(stack, **STATED_STACK) for stack in bare.stacks),
        lanes=tuple(replaced(lane, follower=FOLLOWER, load=LOAD) for lane in bare.lanes),
        drive=DRIVE,
    )


STATED_STACK = {
    "spacer_mm": 5.0,
    "spacer_radius_mm": 25.0,
    "bore": {"across_mm": 12.0},
    "joints": "one-way",
    "fit_clearance_mm": 0.1,
    "rod": {"across_mm": 12.0, "below_mm": 12.0, "above_mm": 12.0, "clamp_n": 600.0},
    "pins": {"count": 2, "radius_mm": 18.0, "across_mm": 4.0, "clearance_mm": 0.05},
    "followers_set": "built",
}

FOLLOWER = TranslatingRoller.model_validate(
    {
        "kind": "translating-roller",
        "roller_radius_mm": 5.0,
        "guide_length_mm": 24.0,
        "overhang_mm": 12.0,
        "guide_friction": 0.15,
        "width_mm": 4.0,
        "arm_thickness_mm": 3.0,
    }
)

LOAD = Load.model_validate(
    {
        "moving_mass_g": 25.0,
        "frictions": (
            {"name": "Greased", "friction_n": 0.2},
            {"name": "Dry", "friction_n": 0.3},
        ),
        "spring": {
            "kind": "extension",
            "wire_mm": 0.5,
            "coil_mm": 5.0,
            "active_coils": 17.0,
            "free_mm": 18.0,
            "installed_mm": 26.5,
            "initial_n": 0.45,
        },
    }
)

DRIVE = Drive.model_validate(
    {
        "source": {
            "kind": "motor",
            "rated_speed_rpm": 36.0,
            "rated_torque_nm": 5.0,
            "stall_torque_nm": 14.0,
            "turn": "counterclockwise",
        },
        "stages": ({"driver_teeth": 12, "driven_teeth": 72, "kind": "external", "efficiency": 0.9},),
    }
)


def fed_gates(count: int, lanes: int = 64) -> Project:
    """Make a machine of some lanes and `count` gates on them, each on a magazine and a supply of its own."""
    names = [f"m{number}" for number in range(count)]
    flow = Flow(
        supplies=tuple(Supply(id=f"s{name}", rate_per_min=7.0) for name in names),
        magazines=tuple(
            Magazine(id=name, source=f"s{name}", capacity=4, start_count=4, travel_s=0.4) for name in names
        ),
        channels=tuple(
            Channel(id=f"c{name}", travel_min_s=0.4, travel_max_s=0.4, headway_s=0.001, to="cup")
            for name in names
        ),
        outlets=(Outlet(id="cup"),),
        gates=tuple(
            Gate(id=f"gate_{name}", state=_open(number % lanes), source=name, to=f"c{name}", item=name)
            for number, name in enumerate(names)
        ),
    )
    return replaced(gates(lanes), flow=flow)
