"""What of a lane is drawn: its levels by rank, and its blocks as stretches of the master's turn.

The *rank* of a level is its place among the lane's levels, lowest first, from 0. On a stack that turns
k times a cycle every block stands k times on the axis, each a k-th as long: its *copies*.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from shaftscore.base.angles import TURN
from shaftscore.model import Lane


@dataclass(frozen=True)
class Level:
    """A level of a lane."""

    name: str
    output_mm: float
    rank: int
    guarded: bool


@dataclass(frozen=True)
class BlockShape:
    """A block as it stands on the axis, once: `copy` counts the turns of the lane's stack.

    start_deg and length_deg are of the master shaft; own_length_deg is of the lane's stack.
    """

    index: int
    copy: int
    start_deg: float
    length_deg: float
    own_length_deg: float
    level: Level
    locked: bool

    @property
    def is_stop(self) -> bool:
        """Whether the block is a momentary stop."""
        return self.own_length_deg <= 0.0


@lru_cache(maxsize=1024)
def _levels(items: tuple[tuple[str, float], ...], guarded: tuple[str, ...]) -> tuple[Level, ...]:
    rising = sorted(items, key=lambda item: item[1])
    return tuple(Level(name, mm, rank, name in guarded) for rank, (name, mm) in enumerate(rising))


def levels_of(lane: Lane) -> tuple[Level, ...]:
    """Return a lane's levels, lowest first."""
    return _levels(tuple(lane.levels.items()), lane.guarded)


def highest_mm(lane: Lane) -> float:
    """Return the output that fills the lane's strip, mm."""
    return max(lane.levels.values(), default=0.0)


def shapes_of(lane: Lane, turns: int = 1) -> tuple[BlockShape, ...]:
    """Return every block of a lane, as often as it stands on the axis, by start."""
    by_name: Mapping[str, Level] = {level.name: level for level in levels_of(lane)}
    return tuple(
        BlockShape(
            index,
            copy,
            (block.start_deg + TURN * copy) / turns,
            block.length_deg / turns,
            block.length_deg,
            by_name[block.level],
            block.locked,
        )
        for copy in range(turns)
        for index, block in enumerate(lane.blocks)
    )


def nearest_level(lane: Lane, output_mm: float) -> Level:
    """Return the level nearest to an output. Raises ValueError for a lane without levels."""
    levels = levels_of(lane)
    if not levels:
        raise ValueError(f"{lane.label} has no levels")
    return min(levels, key=lambda level: abs(level.output_mm - output_mm))


def own_letter(lane: Lane, level: str) -> str | None:
    """Return a level's first letter if no other level of the lane begins with it."""
    letter = level[:1].casefold()
    others = [name for name in lane.levels if name != level and name[:1].casefold() == letter]
    return None if others or not letter else level[:1]
