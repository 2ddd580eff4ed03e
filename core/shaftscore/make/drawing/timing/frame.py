"""The regions of the diagram: headers, rulers, strips, read-outs and the bar of the whole turn.

corner   | degrees, steps, seconds, findings | at the cursor
headers  | strips                            | read-outs
         | whole turn                        |
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.rows import DiagramRow, Rows
from shaftscore.make.drawing.timing.strips import Strip

RULERS = (22.0, 20.0, 18.0, 16.0)
"""Heights of the rulers of degrees, steps and seconds, and of the rail of findings, px of the design."""

OVERVIEW = 16.0
"""Height of the bar of the whole turn, px of the design."""

WIDE = (176.0, 92.0)
NARROW = (148.0, 78.0)
"""Widths of headers and read-outs in a wide and in a narrow diagram, px of the design."""

WIDE_FROM = 1080.0
"""A diagram at least this wide has the wide headers, px of the design."""


class Region(Enum):
    """A region of the diagram."""

    CORNER = "corner"
    DEGREES = "degrees"
    STEPS = "steps"
    SECONDS = "seconds"
    RAIL = "rail"
    CURSOR = "cursor"
    HEADERS = "headers"
    STRIPS = "strips"
    READOUTS = "readouts"
    OVERVIEW = "overview"


@dataclass(frozen=True)
class Frame:
    """Where everything stands: size of the whole, px; what of rows and axis is shown."""

    width: float
    height: float
    axis: Axis
    rows: Rows
    scroll: float
    u: float

    @staticmethod
    def widths(width: float, u: float) -> tuple[float, float]:
        """Return the widths of headers and read-outs for a diagram of `width` px."""
        headers, readouts = WIDE if width >= WIDE_FROM * u else NARROW
        return float(round(headers * u)), float(round(readouts * u))

    @property
    def is_wide(self) -> bool:
        """Whether there is room for level names in the headers."""
        return self.width >= WIDE_FROM * self.u

    @property
    def lanes_top(self) -> float:
        """Where the rulers end and the lanes begin, px."""
        return self.ruler_top(4)

    @property
    def lanes_bottom(self) -> float:
        """Where the lanes' area ends and the bar of the whole turn begins, px."""
        return self.height - round(OVERVIEW * self.u)

    @property
    def seen_height(self) -> float:
        """Height of the lanes' area, px."""
        return max(0.0, self.lanes_bottom - self.lanes_top)

    @property
    def strips_bottom(self) -> float:
        """Lower end of the last strip, or of the lanes' area if they reach further, px."""
        return min(self.lanes_bottom, self.lanes_top + self.rows.height - self.scroll)

    @property
    def greatest_scroll(self) -> float:
        """How far the lanes can be scrolled, px."""
        return max(0.0, self.rows.height - self.seen_height)

    def ruler_top(self, index: int) -> float:
        """Upper end of the ruler `index` (0 degrees, 1 steps, 2 seconds, 3 findings; 4: the end), px."""
        return float(round(sum(RULERS[:index]) * self.u))

    def top_of(self, row: DiagramRow) -> float:
        """Upper end of a row on the screen, px."""
        return self.lanes_top + row.top - self.scroll

    def strip(self, row: DiagramRow, highest_mm: float) -> Strip:
        """Return the strip of a lane's row on the screen; its lowest px line is the hairline below it."""
        return Strip(self.top_of(row), row.height, highest_mm, self.u)

    def row_at(self, y: float) -> DiagramRow | None:
        """Return the row at a height of the screen, px; None outside the lanes' area."""
        if not self.lanes_top <= y < self.lanes_bottom:
            return None
        return self.rows.at(y - self.lanes_top + self.scroll)

    def seen_rows(self) -> tuple[DiagramRow, ...]:
        """Return the rows that are at least partly seen."""
        return tuple(self.rows.between(self.scroll, self.scroll + self.seen_height))

    def region(self, x: float, y: float) -> Region:
        """Return the region at a place, px."""
        column = 0 if x < self.axis.left else 1 if x < self.axis.right else 2
        if y >= self.lanes_bottom:
            return Region.OVERVIEW
        if y >= self.lanes_top:
            return (Region.HEADERS, Region.STRIPS, Region.READOUTS)[column]
        if column != 1:
            return Region.CORNER if column == 0 else Region.CURSOR
        rulers = (Region.DEGREES, Region.STEPS, Region.SECONDS, Region.RAIL)
        return next(region for index, region in enumerate(rulers) if y < self.ruler_top(index + 1))

    def border_at(self, y: float) -> DiagramRow | None:
        """Return the lane's row whose lower border is within 3 px, for resizing."""
        for row in self.seen_rows():
            if row.lane_id is not None and abs(self.top_of(row) + row.height - y) <= 3.0 * self.u:
                return row
        return None
