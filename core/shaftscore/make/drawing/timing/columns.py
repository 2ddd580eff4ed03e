"""Where findings stand: a column over the strips of the lanes concerned.

A column reaches over the whole strip of every lane concerned, from where the finding begins to where it
ends, at least 7 px wide; lanes that stand next to one another make one column.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from shaftscore.base.angles import TURN, Arcs
from shaftscore.judge.findings import Finding
from shaftscore.make.drawing.timing.axis import Axis
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
    whole = ordered[0]
    for column in ordered[1:]:
        if column.left <= whole.right:
            whole = replace(whole, right=max(whole.right, column.right))
        else:
            yield whole
            whole = column
    yield whole


def has_column(finding: Finding) -> bool:
    """Return whether a finding has a place on the axis that is not the whole turn."""
    return finding.span is not None and not finding.span.is_full and bool(finding.lanes)


def column_spans(axis: Axis, span: Arcs, u: float = 1.0) -> list[tuple[float, float]]:
    """Return left and right of the column over one stretch, once for each seen copy, px."""
    start, length = span.spans[0]
    reach = max(0.0, LEAST_WIDTH * u / axis.px_per_deg - length) / 2
    return [(piece.begin, piece.end) for piece in axis.pieces(start - reach, min(TURN, length + 2 * reach))]


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


def columns_of(frame: Frame, finding: Finding) -> Iterator[Column]:
    """Yield the columns of a finding that are at least partly seen."""
    if finding.span is None or not has_column(finding):
        return
    for rows in stacked(frame.rows, finding.lanes):
        top, bottom = frame.top_of(rows[0]), frame.top_of(rows[-1]) + rows[-1].height - 1.0
        if bottom <= frame.lanes_top or top >= frame.lanes_bottom:
            continue
        lanes = tuple(row.lane_id for row in rows if row.lane_id is not None)
        for left, right in column_spans(frame.axis, finding.span, frame.u):
            yield Column(finding, lanes, left, right, top, bottom)
