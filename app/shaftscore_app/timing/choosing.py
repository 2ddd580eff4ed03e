"""Selecting many blocks with a rectangle drawn on empty ground.

The corner where it began is remembered as an angle and a height among all lanes, so that the view may
scroll under it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from shaftscore.base.angles import ahead
from shaftscore.edits import BlockRef
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.cycle import shapes_in
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.rows import DiagramRow
from shaftscore.make.drawing.timing.shapes import highest_mm
from shaftscore.model import Project
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing.drag import START_PX
from shaftscore_app.timing.gestures import Where
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.scene import Overlay

Box = tuple[float, float, float, float]
"""Left, top, right and bottom, px of the diagram; it may reach out of what is seen."""


def blocks_in(project: Project, frame: Frame, box: Box, cycle: int = 1) -> Iterator[BlockRef]:
    """Yield the blocks that begin and end in a box and whose body it touches, from the top, by start.

    Long dwells at rest, which most boxes cut, are thus left out.
    """
    left, top, right, bottom = box
    low, width = frame.axis.deg(left), frame.axis.deg(right) - frame.axis.deg(left)
    for row in frame.rows.rows:
        if row.lane_id is None or frame.top_of(row) > bottom or frame.top_of(row) + row.height < top:
            continue
        lane = project.lane(row.lane_id)
        strip = frame.strip(row, highest_mm(lane))
        found = {
            shape.index
            for shape in shapes_in(lane, LaneCycle.of(project, lane, cycle))
            if top <= strip.y(shape.level.output_mm) + strip.body
            and bottom >= strip.y(shape.level.output_mm)
            and ahead(low, shape.start_deg) + shape.length_deg <= width
        }
        yield from (BlockRef(lane.id, index) for index in sorted(found))


@dataclass
class Choose:
    """Draw a rectangle.

    before: the selection at the press, to which Ctrl adds. row: where it began; a click there selects the
    lane, or opens and closes the group.
    """

    host: Host
    begin: Where
    before: Selection
    row: DiagramRow | None = None
    deg: float = field(init=False)
    height: float = field(init=False)
    is_drawing: bool = field(default=False, init=False)

    def __post_init__(self) -> None:
        """Remember the corner."""
        frame = self.host.frame
        self.deg = frame.axis.deg(self.begin.x)
        self.height = self.begin.y + frame.scroll

    def move(self, where: Where) -> None:
        """Select what lies in the rectangle."""
        frame = self.host.frame
        x, y = frame.axis.x(self.deg), self.height - frame.scroll
        if not self.is_drawing and max(abs(where.x - x), abs(where.y - y)) < START_PX * frame.u:
            return
        self.is_drawing = True
        axis = frame.axis
        right = min(axis.right, max(axis.left, where.x))
        bottom = min(frame.lanes_bottom, max(frame.lanes_top, where.y))
        box = (min(x, right), min(y, bottom), max(x, right), max(y, bottom))
        document = self.host.document
        kept = self.before.blocks if self.begin.ctrl or self.begin.shift else ()
        found = [ref for ref in blocks_in(document.project, frame, box, document.cycle) if ref not in kept]
        document.select(Selection.of_blocks((*kept, *found), self.before.finding))
        self.host.set_overlay(Overlay(band=box))

    def release(self) -> None:
        """Leave selected what is, or do what a click does."""
        self.host.set_overlay(Overlay())
        if self.is_drawing:
            return
        if self.row is not None and self.row.lane_id is None:
            self.host.set_group_closed(self.row.group, not self.row.closed)
        elif not (self.begin.ctrl or self.begin.shift):
            self.host.document.select_lane(self.row.lane_id if self.row is not None else None)

    def cancel(self) -> None:
        """Put the selection back."""
        self.host.set_overlay(Overlay())
        self.host.document.select(self.before)
