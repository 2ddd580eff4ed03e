"""Small projects for tests of edits."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from shaftscore.edits import BlockRef
from shaftscore.model import FORMAT, VERSION, Block, Lane, Project, Shaft

LEVELS = {"closed": 0.0, "half": 5.0, "open": 10.0}

Row = tuple[str, float, float] | tuple[str, float, float, dict[str, Any]]
"""Level, start, end, and what else a block carries."""


def block(row: Row) -> Block:
    level, start, end = row[:3]
    return Block(level=level, start_deg=float(start), end_deg=float(end), **(row[3] if len(row) > 3 else {}))


def lane(*rows: Row, own_id: str = "mint", **fields: Any) -> Lane:
    return Lane(id=own_id, name=own_id.title(), levels=LEVELS, blocks=tuple(map(block, rows)), **fields)


def machine(*lanes: Lane, **fields: Any) -> Project:
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    return Project(format=FORMAT, version=VERSION, shaft=shaft, lanes=lanes, **fields)


def one(*rows: Row) -> Project:
    """Return a project of one lane, Mint."""
    return machine(lane(*rows))


def rows_of(project: Project, lane_id: str = "mint") -> list[tuple[str, float, float]]:
    return [(b.level, b.start_deg, b.end_deg) for b in project.lane(lane_id).blocks]


def ref(index: int, lane_id: str = "mint") -> BlockRef:
    return BlockRef(lane_id, index)


def runs(blocks: Sequence[Block]) -> list[str]:
    """Return the levels round the turn, neighbours of one level taken together, starting anywhere."""
    levels = [b.level for b in blocks]
    return [
        level for before, level in zip(levels[-1:] + levels, levels, strict=False) if before != level
    ] or levels[:1]


def same_round(first: Sequence[str], second: Sequence[str]) -> bool:
    """Return whether two rounds are the same but for where they start."""
    return len(first) == len(second) and any(
        [*first[start:], *first[:start]] == list(second) for start in range(max(1, len(first)))
    )
