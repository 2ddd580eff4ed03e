"""What gestures, keys and commands need of the diagram, and nothing more."""

from __future__ import annotations

from typing import Protocol

from shaftscore.edits import BlockRef
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame
from shaftscore_app.document import Document
from shaftscore_app.timing.drag import DragHabits
from shaftscore_app.timing.scene import Holding, Overlay


class Host(Protocol):
    """The diagram, as its parts see it."""

    document: Document
    habits: DragHabits

    @property
    def frame(self) -> Frame:
        """Where everything stands now."""
        ...

    def set_axis(self, axis: Axis) -> None:
        """Show another stretch of the turn."""
        ...

    def set_scroll(self, scroll: float) -> None:
        """Scroll the lanes."""
        ...

    def set_height(self, lane_id: str, height: float) -> None:
        """Set a strip's height, px of the design."""
        ...

    def set_group_closed(self, group: str, closed: bool) -> None:
        """Close or open a group."""
        ...

    def set_holding(self, holding: Holding | None) -> None:
        """Show a held block, or none."""
        ...

    def set_overlay(self, overlay: Overlay) -> None:
        """Show a rectangle of selection, time being opened, or where a lane would go."""
        ...

    def reveal_angle(self, deg: float) -> None:
        """Scroll the axis just so far that an angle is seen."""
        ...

    def reveal_lane(self, lane_id: str) -> None:
        """Scroll the lanes just so far that a lane is seen."""
        ...

    def ask_values(self, ref: BlockRef) -> None:
        """Ask for a block's values to be typed."""
        ...

    def isolate_lanes(self) -> None:
        """Draw only the lanes of which something is selected."""
        ...

    def hide_lanes(self) -> None:
        """Leave the lanes of which something is selected out of the drawing."""
        ...

    def show_all_lanes(self) -> None:
        """Draw every lane."""
        ...

    def ask_menu(self) -> None:
        """Ask for the menu of what is selected."""
        ...

    def tell(self, text: str) -> None:
        """Show a text in the status bar."""
        ...

    def announce(self, text: str) -> None:
        """Have a screen reader speak."""
        ...
