"""Where frames and their cells are drawn: as many beside one another as are easy to read."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF

LEAST, MOST = 140.0, 320.0
"""Least and greatest width of a frame while it is easy to read, px of the design."""

HEAD, GAP, PAD, CELL_GAP = 22.0, 9.0, 6.0, 2.0
"""Height of a frame's head; room between frames, at a frame's edge, between cells; px of the design."""

LEAST_CELL = 14.0
"""Least width of a cell, px of the design."""

SHAPE = 0.92
"""Height of a cell to its width."""

Cell = tuple[int, int]


@dataclass(frozen=True)
class FramePlaces:
    """The places of `count` frames of rows x columns cells, `across` beside one another, each `wide` px.

    u: size of the text to that of the design.
    """

    count: int
    rows: int
    columns: int
    across: int
    wide: float
    u: float

    @property
    def cell_wide(self) -> float:
        """Width of a cell's place, px."""
        return (self.wide - 2 * PAD * self.u) / self.columns

    @property
    def cell_high(self) -> float:
        """Height of a cell's place, px."""
        return self.cell_wide * SHAPE

    @property
    def box_high(self) -> float:
        """Height of a frame's box, px."""
        return self.rows * self.cell_high + 2 * PAD * self.u

    @property
    def pitch(self) -> float:
        """Height of a frame with its head and the room below, px."""
        return HEAD * self.u + self.box_high + GAP * self.u

    @property
    def height(self) -> float:
        """Height of all, px."""
        return -(-self.count // self.across) * self.pitch + GAP * self.u

    def box(self, frame: int) -> QRectF:
        """Return the box of a frame, counted from 0."""
        gap = GAP * self.u
        left = gap + (frame % self.across) * (self.wide + gap)
        top = gap + (frame // self.across) * self.pitch + HEAD * self.u
        return QRectF(left, top, self.wide, self.box_high)

    def head(self, frame: int) -> QRectF:
        """Return the place of a frame's name."""
        box = self.box(frame)
        return QRectF(box.left(), box.top() - HEAD * self.u, box.width(), HEAD * self.u)

    def cell(self, frame: int, cell: Cell) -> QRectF:
        """Return the place of a cell."""
        box, gap = self.box(frame), CELL_GAP * self.u / 2
        left = box.left() + PAD * self.u + cell[1] * self.cell_wide
        top = box.top() + PAD * self.u + cell[0] * self.cell_high
        return QRectF(left, top, self.cell_wide, self.cell_high).adjusted(gap, gap, -gap, -gap)

    def frame_at(self, point: QPointF) -> int | None:
        """Return the frame, head included, at a point; None between frames."""
        for frame in range(self.count):
            if self.box(frame).united(self.head(frame)).contains(point):
                return frame
        return None

    def cell_at(self, frame: int, point: QPointF) -> Cell | None:
        """Return the cell of a frame at a point; None beside its cells."""
        box, pad = self.box(frame), PAD * self.u
        x, y = point.x() - box.left() - pad, point.y() - box.top() - pad
        if not (0 <= x < self.columns * self.cell_wide and 0 <= y < self.rows * self.cell_high):
            return None
        return int(y // self.cell_high), int(x // self.cell_wide)


def frame_places(count: int, rows: int, columns: int, *, room: QRectF, u: float) -> FramePlaces:
    """Return the places with the largest frames that all fit into the room, px; else the least ones."""
    gap = GAP * u
    least = max(LEAST * u, columns * LEAST_CELL * u + 2 * PAD * u)
    best: FramePlaces | None = None
    for across in range(1, count + 1):
        wide = min((room.width() - gap) / across - gap, MOST * u)
        places = FramePlaces(count, rows, columns, across, wide, u)
        if wide >= least and places.height <= room.height() and (best is None or wide > best.wide):
            best = places
    if best is not None:
        return best
    across = max(1, min(count, int((room.width() - gap) // (least + gap))))
    wide = min((room.width() - gap) / across - gap, MOST * u)
    return FramePlaces(count, rows, columns, across, max(wide, 20.0 * u), u)
