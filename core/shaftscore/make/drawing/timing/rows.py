"""Rows from top to bottom: a narrow row for each group, a strip for each lane.

Lanes of one group stand together, groups in order of their first lane; lanes without a group come
where they are in the file and have no group row. Tops are px from the top of the lanes' area, before
scrolling.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from shaftscore.make.drawing.timing.strips import GREATEST_HEIGHT, LEAST_HEIGHT, default_height
from shaftscore.model import Lane, Project

GROUP_HEIGHT = 20.0
"""Height of a group row, px of the design."""

FIT_HEIGHTS = (24.0, 18.0)
"""A strip and a group row are not made lower than this to fit, px of the design."""


@dataclass(frozen=True)
class DiagramRow:
    """One row: the strip of `lane_id`, or the row of a group where that is None.

    lanes: ids of the group's lanes (of a group row). closed: its lanes are not shown.
    """

    top: float
    height: float
    group: str
    lane_id: str | None = None
    lanes: tuple[str, ...] = ()
    closed: bool = False

    @property
    def bottom(self) -> float:
        """Lower end, px."""
        return self.top + self.height


@dataclass(frozen=True)
class Rows:
    """All rows, from top to bottom, with look-ups."""

    rows: tuple[DiagramRow, ...]

    @property
    def height(self) -> float:
        """Height of all rows together, px."""
        return self.rows[-1].bottom if self.rows else 0.0

    @cached_property
    def _tops(self) -> list[float]:
        return [row.top for row in self.rows]

    @cached_property
    def _of_lane(self) -> dict[str, DiagramRow]:
        return {row.lane_id: row for row in self.rows if row.lane_id is not None}

    @cached_property
    def lane_ids(self) -> tuple[str, ...]:
        """Ids of the lanes shown, from top to bottom."""
        return tuple(self._of_lane)

    def of_lane(self, lane_id: str) -> DiagramRow | None:
        """Return the row of a lane; None if its group is closed."""
        return self._of_lane.get(lane_id)

    def at(self, y: float) -> DiagramRow | None:
        """Return the row at a height, px; None beside all rows."""
        if not 0.0 <= y < self.height:
            return None
        return self.rows[bisect_right(self._tops, y) - 1]

    def between(self, top: float, bottom: float) -> Sequence[DiagramRow]:
        """Return the rows that reach into a stretch of heights, px."""
        first = max(0, bisect_right(self._tops, top) - 1)
        last = bisect_right(self._tops, bottom)
        return [row for row in self.rows[first:last] if row.bottom > top and row.top < bottom]


def grouped(project: Project) -> list[tuple[str, list[Lane]]]:
    """Return the lanes by group in order of appearance; each lane without a group stands alone."""
    found: dict[str, list[Lane]] = {}
    order: list[tuple[str, list[Lane]]] = []
    for lane in project.lanes:
        if lane.group and lane.group in found:
            found[lane.group].append(lane)
            continue
        members = [lane]
        found[lane.group] = members
        order.append((lane.group, members))
    return order


def natural_height(project: Project, lane: Lane, heights: Mapping[str, float]) -> float:
    """Return a strip's height in px of the design: the person's own, else by its levels."""
    own = heights.get(lane.id)
    if own is not None:
        return min(GREATEST_HEIGHT, max(LEAST_HEIGHT, own))
    return default_height(len(project.levels_of(lane)), len(project.lanes))


@dataclass(frozen=True)
class Shown:
    """What of the lanes is shown, and how high.

    heights: the person's own, px of the design, by lane. closed: groups whose lanes are not shown.
    hidden: lanes that are not drawn.
    """

    heights: Mapping[str, float] = field(default_factory=dict)
    closed: Collection[str] = ()
    hidden: Collection[str] = ()


def lay_out(project: Project, shown: Shown, u: float = 1.0, factor: float = 1.0) -> Rows:
    """Stack all rows. factor: lowers all strips whose height is not the person's own, so that they fit."""
    rows: list[DiagramRow] = []
    for group, members in grouped(project):
        lanes = [lane for lane in members if lane.id not in shown.hidden]
        is_closed = bool(group) and group in shown.closed
        if group and lanes:
            ids = tuple(lane.id for lane in lanes)
            height = round(max(FIT_HEIGHTS[1], GROUP_HEIGHT * factor) * u)
            rows.append(DiagramRow(_bottom(rows), height, group, None, ids, is_closed))
        for lane in () if is_closed else lanes:
            height = round(_lowered(project, lane, shown.heights, factor) * u)
            rows.append(DiagramRow(_bottom(rows), height, group, lane.id))
    return Rows(tuple(rows))


def _bottom(rows: Sequence[DiagramRow]) -> float:
    return rows[-1].bottom if rows else 0.0


def _lowered(project: Project, lane: Lane, heights: Mapping[str, float], factor: float) -> float:
    height = natural_height(project, lane, heights)
    return height if lane.id in heights else max(min(height, FIT_HEIGHTS[0]), height * factor)


def fitting_factor(project: Project, shown: Shown, u: float, available: float) -> float:
    """Return the factor (at most 1) by which rows are lowered so that all fit into `available` px.

    Where even the lowest strips do not fit, 1: then the lanes scroll at their natural height.
    """
    if lay_out(project, shown, u).height <= available:
        return 1.0
    low, high = 0.1, 1.0
    if lay_out(project, shown, u, low).height > available:
        return 1.0
    for _ in range(20):
        middle = (low + high) / 2
        fits = lay_out(project, shown, u, middle).height <= available
        low, high = (middle, high) if fits else (low, middle)
    return low
