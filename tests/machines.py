"""Small machines for tests: short ways to write lanes and projects. All data are invented."""

from __future__ import annotations

from typing import Any

from shaftscore.base.angles import wrap
from shaftscore.model import (
    FORMAT,
    VERSION,
    Block,
    Exclusive,
    Lane,
    LevelState,
    Order,
    Project,
    RangeState,
    Requires,
    Shaft,
)

BlockText = tuple[str, float, float]
"""(level, start_deg, end_deg)"""

GATE = {"closed": 0.0, "open": 10.0}
"""Levels of an ordinary gate."""


def block(level: str, start: float, end: float, **more: Any) -> Block:
    return Block(level=level, start_deg=float(start), end_deg=float(end), **more)


def lane(name: str, *blocks: BlockText | Block, levels: dict[str, float] | None = None, **more: Any) -> Lane:
    """Make a lane whose id is its name in small letters."""
    made = tuple(one if isinstance(one, Block) else block(*one) for one in blocks)
    return Lane(id=name.lower().replace(" ", "-"), name=name, levels=levels or GATE, blocks=made, **more)


def gate(name: str, start: float, end: float, move: float = 24.0, **more: Any) -> Lane:
    """Make a gate that opens from `start` to `end` with moves of `move` degrees beside it."""
    begin = wrap(end + move)
    length = 360.0 - (end - start) - 2 * move
    return lane(name, ("open", start, end), ("closed", begin, begin + length), **more)


def machine(*lanes: Lane, rpm: float = 6.0, turn: str = "clockwise", **more: Any) -> Project:
    shaft = more.pop("shaft", None) or Shaft(turn=turn, speed_rpm=rpm)  # type: ignore[arg-type]
    return Project(format=FORMAT, version=VERSION, name="Test machine", shaft=shaft, lanes=lanes, **more)


def at(lane_id: str, level: str) -> LevelState:
    return LevelState(lane=lane_id, level=level)


def within(lane_id: str, low: float, high: float) -> RangeState:
    return RangeState(lane=lane_id, from_mm=low, to_mm=high)


def exclusive(*states: LevelState | RangeState, **gap: float) -> Exclusive:
    return Exclusive(kind="exclusive", states=states, **gap)


def requires(when: LevelState | RangeState, need: LevelState | RangeState, **more: float) -> Requires:
    return Requires(kind="requires", when=when, need=need, **more)


def order(first: LevelState | RangeState, then: LevelState | RangeState, **more: float) -> Order:
    return Order(kind="order", first=first, then=then, **more)
