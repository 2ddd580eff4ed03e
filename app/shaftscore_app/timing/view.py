"""What of the diagram is shown: the axis, the heights of strips, closed groups, hidden and filtered lanes.

It belongs to the window, not to the project. Strips are laid out again only where something that they
depend on has changed.
"""

from __future__ import annotations

from collections.abc import Collection

from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import OVERVIEW, RULERS, Frame
from shaftscore.make.drawing.timing.rows import Rows, Shown, fitting_factor, lay_out, natural_height
from shaftscore.make.drawing.timing.strips import GREATEST_HEIGHT, LEAST_HEIGHT, MANY_LANES
from shaftscore.model import Project


class View:
    """The view's state. heights: those that the person chose, px of the design, by lane."""

    def __init__(self) -> None:
        """Show the whole turn, every lane at its usual height."""
        self.axis = Axis.whole(0.0, 1.0)
        self.heights: dict[str, float] = {}
        self.closed: frozenset[str] = frozenset()
        self.hidden: frozenset[str] = frozenset()
        self.filtered: frozenset[str] = frozenset()
        self._rows = Rows(())
        self._size = (1.0, 1.0)
        self._u = 1.0
        self._asked: tuple[object, ...] = ()

    def lay_out(self, project: Project, width: float, height: float, u: float) -> bool:
        """Stack the rows of a project for a diagram of some size; True if they are others than before."""
        lanes = tuple((lane.id, lane.group, len(project.levels_of(lane))) for lane in project.lanes)
        asked = (lanes, tuple(self.heights.items()), self.closed, self.undrawn, width, height, u)
        if asked == self._asked:
            return False
        self._asked, self._size, self._u = asked, (width, height), u
        left, right = Frame.widths(width, u)
        self.axis = self.axis.resized(left, max(1.0, width - left - right))
        self._rows = lay_out(project, self.shown, u, self._factor(project, height, u))
        return True

    @property
    def shown(self) -> Shown:
        """What of the lanes is shown."""
        return Shown(self.heights, self.closed, self.undrawn)

    @property
    def undrawn(self) -> frozenset[str]:
        """The lanes that are not drawn: hidden ones, and those that the filter leaves out."""
        return self.hidden | self.filtered

    def isolate(self, project: Project, lane_ids: Collection[str]) -> None:
        """Draw some lanes only."""
        self.hidden = frozenset(lane.id for lane in project.lanes if lane.id not in lane_ids)

    def hide(self, lane_ids: Collection[str]) -> None:
        """Leave lanes out of the drawing."""
        self.hidden |= frozenset(lane_ids)

    def show_all(self) -> None:
        """Draw every lane."""
        self.hidden = frozenset()

    def _factor(self, project: Project, height: float, u: float) -> float:
        if len(project.lanes) > MANY_LANES:
            return 1.0
        room = height - round(sum(RULERS) * u) - round(OVERVIEW * u)
        return fitting_factor(project, self.shown, u, room)

    def frame(self, scroll: float) -> Frame:
        """Return where everything stands, the lanes scrolled by `scroll` px."""
        return Frame(*self._size, self.axis, self._rows, scroll, self._u)

    def forget(self) -> None:
        """Lay out again at the next opportunity, since sizes have changed."""
        self._asked = ()

    def show_whole_turn(self) -> None:
        """Show the whole turn."""
        self.axis = Axis.whole(self.axis.left, self.axis.width)

    def set_height(self, lane_id: str, height: float) -> None:
        """Set a strip's height, px of the design, within its bounds."""
        self.heights[lane_id] = min(GREATEST_HEIGHT, max(LEAST_HEIGHT, height))

    def scale_strips(self, project: Project, factor: float) -> None:
        """Make all strips higher or lower."""
        for lane in project.lanes:
            row = self._rows.of_lane(lane.id)
            now = row.height / self._u if row else natural_height(project, lane, self.heights)
            self.set_height(lane.id, now * factor)

    def scroll_for(self, frame: Frame, lane_id: str) -> float:
        """Return the scroll nearest to the present one at which a lane is wholly seen."""
        row = frame.rows.of_lane(lane_id)
        if row is None:
            return frame.scroll
        return min(max(frame.scroll, row.bottom - frame.seen_height), row.top)
