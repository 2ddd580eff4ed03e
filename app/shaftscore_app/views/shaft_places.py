"""Where the parts of the Shaft view's drawing are on the screen."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF

from shaftscore.make.drawing.shaft import DrawnRoller, ShaftPart, SideView
from shaftscore_app.theme import Theme

BENDING, AXIS, ARROW, TABLE = 84, 52, 96, 360
"""Widths of the bending line, the axis of heights, the room for arrows and the table, px of the design."""

PAD, HEAD = 12, 34
"""Room around all, and above the drawing for headings, px of the design."""

LEAST = 190
"""With less room than this for the parts the table is left out, px of the design."""

ROW = 16
"""Least distance of two rows of the table, px of the design."""


@dataclass(frozen=True)
class ShaftPlaces:
    """Scale and columns of the drawing, px.

    axis: where the shaft's middle is at z 0. scale: px/mm. bending: middle of the bending line. heights: x
    of the axis of heights. table: the table's box. Columns that are not drawn are None.
    """

    axis: QPointF
    scale: float
    bending: float | None
    heights: float | None
    table: QRectF | None
    row: float

    @classmethod
    def made(cls, side: SideView, area: QRectF, theme: Theme, layers: tuple[bool, bool, bool]) -> ShaftPlaces:
        """Lay the drawing out; layers: whether bending, heights and a table are drawn."""
        px, (bending, heights, table) = theme.px, layers
        left = area.left() + px(PAD)
        middle = left + px(BENDING) / 2 if bending else None
        left += px(BENDING) if bending else 0
        scale_at = left + px(AXIS) - px(8) if heights else None
        left += px(AXIS) if heights else 0
        room = area.right() - px(PAD) - left - px(ARROW)
        box = None
        if table and heights and room - px(TABLE) >= px(LEAST):
            box = QRectF(area.right() - px(PAD + TABLE), area.top(), px(TABLE), area.height())
            room -= px(TABLE)
        low, high = side.box[2], side.box[3]
        wide, tall = side.box[1] - side.box[0], high - low
        free = area.height() - px(HEAD + PAD)
        scale = max(0.02, min(max(room, 1.0) / wide, max(free, 1.0) / tall))
        x = left + (room - wide * scale) / 2 - side.box[0] * scale
        y = area.top() + px(HEAD) + (free - tall * scale) / 2 + high * scale
        return cls(QPointF(x, y), scale, middle, scale_at, box, px(ROW))

    def x(self, mm: float) -> float:
        """Return where a distance from the axis is."""
        return self.axis.x() + mm * self.scale

    def y(self, z_mm: float) -> float:
        """Return where a height is."""
        return self.axis.y() - z_mm * self.scale

    def z_of(self, y: float) -> float:
        """Return the height at a place, mm."""
        return (self.axis.y() - y) / self.scale

    def box(self, one: ShaftPart | DrawnRoller) -> QRectF:
        """Return the box of a part or a roller."""
        top_left = QPointF(self.x(one.left_mm), self.y(one.top_mm))
        return QRectF(top_left, QPointF(self.x(one.right_mm), self.y(one.bottom_mm)))

    def rows(self, side: SideView) -> Iterator[tuple[DrawnRoller, float]]:
        """Yield the rollers whose rows have room, from the top down, with the middle of each row."""
        last = -1e9
        for roller in sorted(side.rollers, key=lambda one: -one.z_mm):
            y = self.y(roller.z_mm)
            if y - last >= self.row:
                last = y
                yield roller, y

    def row_boxes(self, side: SideView) -> Iterator[tuple[str, QRectF]]:
        """Yield the lane and the box of every row of the table."""
        if self.table is None:
            return
        for roller, y in self.rows(side):
            box = QRectF(self.table.left(), y - self.row / 2, self.table.width(), self.row)
            yield roller.lane_id, box
