"""Where findings stand: a column over the strips of the lanes concerned.

A column reaches over the whole strip of every lane concerned, from where the finding begins to where it
ends, at least 7 px wide; lanes that stand next to one another make one column.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import TURN, Angles
from shaftscore.judge.findings import Finding
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.rows import DiagramRow, Rows

LEAST_WIDTH = 7.0
"""A column is at least this wide, px of the design."""

MOST_APART = 120
"""Where there are more columns than this, those that overlap are drawn as one."""


@dataclass(frozen=True)
class Column:
    """One seen column of a finding, px of the diagram."""

    finding: Finding
    lanes: tuple[str, ...]
    left: float
    right: float
    top: float
    bottom: float

    @property
    def middle(self) -> float:
        """Middle, px."""
        return (self.left + self.right) / 2


def drawn_columns(columns: Sequence[Column]) -> tuple[Column, ...]:
    """Return the columns as they are drawn, in their order: all, or, of many, those that overlap as one.

    One column stands for overlapping ones over the same lanes with the same severity, under the first's
    finding, so that no number of findings makes a picture long to paint.
    """
    if len(columns) <= MOST_APART:
        return tuple(columns)
    groups: dict[tuple[object, ...], list[Column]] = {}
    for column in columns:
        group = (column.finding.severity, column.lanes, column.top, column.bottom)
        groups.setdefault(group, []).append(column)
    return tuple(joined for group in groups.values() for joined in _joined(group))


def _joined(columns: Sequence[Column]) -> Iterator[Column]:
    ordered = sorted(columns, key=lambda column: column.left)
    first, right = ordered[0], ordered[0].right
    for column in ordered[1:]:
        if column.left <= right:
            right = max(right, column.right)
        else:
            yield _reaching(first, right)
            first, right = column, column.right
    yield _reaching(first, right)


def _reaching(column: Column, right: float) -> Column:
    return Column(column.finding, column.lanes, column.left, right, column.top, column.bottom)


def has_column(finding: Finding) -> bool:
    """Return whether a finding has a place on the axis that is not the whole turn."""
    return finding.span is not None and not finding.span.is_full and bool(finding.lanes)


def stacked(rows: Rows, lane_ids: Sequence[str]) -> Iterator[list[DiagramRow]]:
    """Yield the rows of some lanes, those that stand next to one another together."""
    found = [row for lane_id in dict.fromkeys(lane_ids) if (row := rows.of_lane(lane_id)) is not None]
    group: list[DiagramRow] = []
    for row in sorted(found, key=lambda row: row.top):
        if group and row.top - group[-1].bottom > 0.5:
            yield group
            group = []
        group.append(row)
    if group:
        yield group


@dataclass(frozen=True)
class ColumnRows:
    """Lanes that stand next to one another, and the upper and lower end of a column over them, px."""

    lanes: tuple[str, ...]
    top: float
    bottom: float


def columns_of(frame: Frame, findings: Sequence[Finding]) -> tuple[Column, ...]:
    """Return the columns of findings that are at least partly seen, in the order of the findings."""
    placed = [finding for finding in findings if has_column(finding)]
    spans = np.array([finding.span.spans[0] for finding in placed if finding.span is not None]).reshape(-1, 2)
    lengths = np.clip(spans[:, 1], min(TURN, LEAST_WIDTH * frame.u / frame.axis.px_per_deg), TURN)
    starts = spans[:, 0] - (lengths - spans[:, 1]) / 2
    over: dict[tuple[str, ...], tuple[ColumnRows, ...]] = {}
    found: list[Column] = []
    for finding, edges in zip(placed, _seen_edges(frame, starts, lengths), strict=True):
        if finding.lanes not in over:
            over[finding.lanes] = tuple(_seen_rows(frame, finding.lanes))
        for rows in over[finding.lanes]:
            found += [Column(finding, rows.lanes, *edge, rows.top, rows.bottom) for edge in edges]
    return tuple(found)


def _seen_edges(frame: Frame, starts: Angles, lengths: Angles) -> list[list[tuple[float, float]]]:
    """Return left and right of the seen copies of each of n stretches, px."""
    found: list[list[tuple[float, float]]] = [[] for _ in starts]
    places, lefts = frame.axis.seen_copies(starts, lengths)
    rights = lefts + lengths[places] * frame.axis.px_per_deg
    for place, left, right in zip(places.tolist(), lefts.tolist(), rights.tolist(), strict=True):
        found[place].append((left, right))
    return found


def _seen_rows(frame: Frame, lane_ids: Sequence[str]) -> Iterator[ColumnRows]:
    """Yield the rows of some lanes that are at least partly seen."""
    for rows in stacked(frame.rows, lane_ids):
        top, bottom = frame.top_of(rows[0]), frame.top_of(rows[-1]) + rows[-1].height - 1.0
        if bottom > frame.lanes_top and top < frame.lanes_bottom:
            yield ColumnRows(tuple(row.lane_id for row in rows if row.lane_id is not None), top, bottom)
