"""Projects of any size for the benchmarks: gates of two levels, spread round the turn."""

from __future__ import annotations

from shaftscore.model import Block, Lane, Project, Shaft, Stack
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
    # Neighbours stand half a turn apart, so that no rule is broken.
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
