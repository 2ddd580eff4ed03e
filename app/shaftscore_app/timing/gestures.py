"""What a press of the mouse begins: each gesture follows the pointer and ends in a release or a cancel.

A gesture talks to the diagram through `Host` alone. Places are px of the diagram.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Protocol

from shaftscore.edits import Edited
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.rows import DiagramRow
from shaftscore.make.drawing.timing.shapes import BlockShape, highest_mm
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing.drag import START_PX, Drag, Pointer
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.needs import need_text, shortest_beside
from shaftscore_app.timing.scene import Holding
from shaftscore_app.timing.steps import toggled
from shaftscore_app.timing.tags import status_text, tag_of


@dataclass(frozen=True)
class Where:
    """The pointer: its place, the modifiers that matter."""

    x: float
    y: float
    alt: bool = False
    shift: bool = False
    ctrl: bool = False


class Gesture(Protocol):
    """One gesture."""

    def move(self, where: Where) -> None:
        """Follow the pointer."""
        ...

    def release(self) -> None:
        """Finish."""
        ...

    def cancel(self) -> None:
        """Put everything back."""
        ...


@dataclass
class HoldBlock:
    """Drag a block: preview on each move, one step on release, everything back on cancel.

    shape: the block where it stood. before: the selection at the press. way: farthest from the press, px.
    shown: the edit that the document shows now.
    """

    host: Host
    drag: Drag
    shape: BlockShape
    before: Selection
    begin: Where
    way: float = 0.0
    shown: object = None

    @property
    def is_dragging(self) -> bool:
        """Whether the press has become a drag."""
        return self.drag.held is not None

    @cached_property
    def needed_deg(self) -> float | None:
        """What the move beside the held edge needs at least, as the lane was at the press."""
        return shortest_beside(self.host.document.report, self.drag.press.ref, self.drag.press.grip)

    def pointer(self, where: Where) -> Pointer:
        """Turn a place into what the story of the drag needs."""
        frame = self.host.frame
        self.way = max(self.way, abs(where.x - self.begin.x), abs(where.y - self.begin.y))
        row = frame.rows.of_lane(self.drag.lane.id)
        mm = (
            frame.strip(row, highest_mm(self.drag.lane)).output(where.y)
            if row
            else self.drag.press.pointer_mm
        )
        return Pointer(
            frame.axis.deg(where.x), mm, self.way, frame.axis.px_per_deg, free=where.alt, flip=where.shift
        )

    def move(self, where: Where) -> None:
        """Hold the block where the pointer is."""
        held = self.drag.move(self.pointer(where))
        if held is None:
            if self.drag.is_stuck and self.way >= START_PX:
                self.host.tell(f"{self.drag.lane.label} {self.drag.block.level} is locked; Ctrl+L unlocks it")
            return
        document, needed = self.host.document, self.needed_deg
        if held.edited is not self.shown:
            self.shown = held.edited
            # At home too something is held: what takes long waits until it is let go.
            document.preview(held.edited or Edited(self.drag.project, "", self.before.blocks))
        tag = tag_of(document.report, held)
        need = need_text(document.report, held.ref, self.drag.press.grip, needed)
        tag = replace(tag, cure=" · ".join(filter(None, (tag.cure, need))))
        self.host.set_holding(Holding(held, self.shape, self.drag.lane.id, tag))
        self.host.tell(status_text(document.project, held, self.locked))

    @property
    def locked(self) -> int:
        """How many of the held blocks are locked and stay."""
        if self.drag.press.copies:
            return 0
        blocks = [self.drag.project.lane(ref.lane_id).blocks[ref.index] for ref in self.drag.press.refs]
        return sum(block.locked for block in blocks)

    def release(self) -> None:
        """Let the block go where it is."""
        edited = self.drag.release()
        self.host.set_holding(None)
        if not self.is_dragging:
            self._click()
        if edited is not None:
            self.host.document.perform(edited)
        elif self.host.document.is_previewing:
            self.host.document.preview(None)
        self.host.tell("")

    def _click(self) -> None:
        """Select the block alone, or with Ctrl add it or take it out; with Shift the press did it."""
        document, ref = self.host.document, self.drag.press.ref
        if self.begin.ctrl:
            document.select(toggled(self.before, ref))
        elif not self.begin.shift:
            document.select(Selection.of_blocks((ref,), document.selection.finding))

    def cancel(self) -> None:
        """Put the block back, and the selection."""
        self.drag.cancel()
        self.host.set_holding(None)
        if self.host.document.is_previewing:
            self.host.document.preview(None)
        self.host.document.select(self.before)
        self.host.tell("")


@dataclass
class TurnCursor:
    """Drag the cursor; offset: from the pointer to the cursor, px."""

    host: Host
    offset: float
    before: float

    def move(self, where: Where) -> None:
        """Turn the shaft to the pointer."""
        deg = self.host.frame.axis.deg(where.x + self.offset)
        step = 0.1 if where.alt else 0.5
        self.host.document.set_cursor(round(deg / step) * step)

    def release(self) -> None:
        """Leave the cursor where it is."""

    def cancel(self) -> None:
        """Turn the shaft back."""
        self.host.document.set_cursor(self.before)


@dataclass
class ResizeStrip:
    """Drag the lower border of a lane's header."""

    host: Host
    row: DiagramRow
    begin: Where
    before: float = field(init=False)

    def __post_init__(self) -> None:
        """Remember the height."""
        self.before = self.row.height / self.host.frame.u

    def move(self, where: Where) -> None:
        """Follow with the border."""
        if self.row.lane_id is not None:
            self.host.set_height(self.row.lane_id, self.before + (where.y - self.begin.y) / self.host.frame.u)

    def release(self) -> None:
        """Leave the strip as it is."""

    def cancel(self) -> None:
        """Restore the strip's height."""
        if self.row.lane_id is not None:
            self.host.set_height(self.row.lane_id, self.before)


@dataclass
class Pan:
    """Drag the whole view with the middle button."""

    host: Host
    begin: Where
    axis: Axis = field(init=False)
    scroll: float = field(init=False)

    def __post_init__(self) -> None:
        """Remember the view."""
        self.axis = self.host.frame.axis
        self.scroll = self.host.frame.scroll

    def move(self, where: Where) -> None:
        """Follow with the view."""
        self.host.set_axis(self.axis.scrolled(self.begin.x - where.x))
        self.host.set_scroll(self.scroll + self.begin.y - where.y)

    def release(self) -> None:
        """Leave the view where it is."""

    def cancel(self) -> None:
        """Put the view back."""
        self.host.set_axis(self.axis)
        self.host.set_scroll(self.scroll)


@dataclass
class LookElsewhere:
    """Drag along the bar of the whole turn: the middle of the view follows."""

    host: Host
    bar: Axis
    axis: Axis = field(init=False)

    def __post_init__(self) -> None:
        """Remember the view."""
        self.axis = self.host.frame.axis

    def move(self, where: Where) -> None:
        """Bring the pointer's angle to the middle of the view."""
        if not self.axis.is_whole:
            middle = self.bar.deg(where.x)
            self.host.set_axis(replace(self.axis, start_deg=middle - self.axis.length_deg / 2))

    def release(self) -> None:
        """Leave the view where it is."""

    def cancel(self) -> None:
        """Put the view back."""
        self.host.set_axis(self.axis)
