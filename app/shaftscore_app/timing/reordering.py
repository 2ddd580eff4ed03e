"""Moving lanes among lanes, with the mouse by their headers and with keys.

A lane takes the group of the lane beside which it comes to stand. A *gap* is a place between two rows.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from shaftscore.edits import Edited, move_lane
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore.make.drawing.timing.rows import DiagramRow, grouped
from shaftscore.model import Project
from shaftscore_app.timing.drag import START_PX
from shaftscore_app.timing.gestures import Where
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.scene import Overlay


@dataclass(frozen=True)
class Gap:
    """Where a lane would go: before or after another lane, into its group; y: the gap's height, px."""

    beside: str
    after: bool
    y: float


def gap_at(frame: Frame, y: float) -> Gap | None:
    """Return the gap nearest to a height; None without lanes."""
    rows = frame.rows.rows
    if not rows:
        return None
    row = frame.row_at(min(max(y, frame.lanes_top), frame.lanes_bottom - 1.0)) or rows[-1]
    top = frame.top_of(row)
    if row.lane_id is None:
        return _gap_at_group(row, top)
    after = y > top + row.height / 2
    return Gap(row.lane_id, after, top + row.height * after)


def _gap_at_group(row: DiagramRow, top: float) -> Gap:
    """At a group's row the lane goes in front of its first lane, or behind the last of a closed one."""
    return Gap(row.lanes[-1 if row.closed else 0], row.closed, top + row.height)


def moved_to(project: Project, lane_id: str, beside: str, *, after: bool) -> Edited | None:
    """Move a lane beside another one, into its group; None where it stands there already."""
    if beside == lane_id:
        return None
    rest = [lane.id for lane in project.lanes if lane.id != lane_id]
    place, group = rest.index(beside) + after, project.lane(beside).group
    edited = move_lane(project, lane_id, place=place, group=group)
    same = [lane.id for lane in edited.project.lanes] == [lane.id for lane in project.lanes]
    return None if same and group == project.lane(lane_id).group else edited


def moved_by(project: Project, lane_id: str, way: int) -> Edited | None:
    """Move a lane one place up (way -1) or down (way 1) as the rows stand; None at the end.

    At the edge of its group it goes over into the next one.
    """
    order = [lane.id for _, lanes in grouped(project) for lane in lanes]
    place = order.index(lane_id) + way
    if not 0 <= place < len(order):
        return None
    stays = project.lane(order[place]).group == project.lane(lane_id).group
    return moved_to(project, lane_id, order[place], after=(way > 0) == stays)


@dataclass
class MoveLane:
    """Drag a lane by its header; a line shows where it would go."""

    host: Host
    lane_id: str
    begin: Where
    gap: Gap | None = field(default=None, init=False)
    project: Project = field(init=False)

    def __post_init__(self) -> None:
        """Remember the lanes as they stand."""
        self.project = self.host.document.committed

    def move(self, where: Where) -> None:
        """Show the gap under the pointer."""
        frame = self.host.frame
        if self.gap is None and abs(where.y - self.begin.y) < START_PX * frame.u:
            return
        self.gap = gap_at(frame, where.y)
        if self.gap is not None:
            label = self.host.document.project.lane(self.gap.beside).label
            self.host.set_overlay(Overlay(drop_y=self.gap.y))
            self.host.tell(f"{'Below' if self.gap.after else 'Above'} {label}")

    def release(self) -> None:
        """Move the lane there as one step."""
        self.cancel()
        if self.gap is not None:
            edited = moved_to(self.project, self.lane_id, self.gap.beside, after=self.gap.after)
            if edited is not None:
                self.host.document.perform(edited)

    def cancel(self) -> None:
        """Leave the lane where it is."""
        self.host.set_overlay(Overlay())
        self.host.tell("")
