"""What screen readers find in the diagram: lanes as rows, their blocks as cells, each with its sentence.

Qt asks a *factory* for the interface of a widget when a screen reader first asks for it; nothing of this
runs otherwise. Interfaces are made once and kept, so that a reader meets the same objects again; one whose
lane or block is gone says that it is no longer valid.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QAccessible, QAccessibleInterface

from shaftscore.edits import BlockRef
from shaftscore_app.timing.tags import spoken_block, spoken_lane
from shaftscore_app.widgets.readable import ReadablePart, ReadableWhole, ReadableWidgets

if TYPE_CHECKING:
    from shaftscore_app.timing.widget import TimingDiagram

Text, Role = QAccessible.Text, QAccessible.Role


class AccessiblePart(ReadablePart):
    """What lanes and blocks share; `diagram` is the widget."""

    def __init__(self, diagram: TimingDiagram) -> None:
        """Be a part of a diagram."""
        super().__init__(diagram)
        self.diagram = diagram

    @property
    def place(self) -> QRectF | None:
        """Where it stands in the viewport, px; None while it is not drawn."""
        return None

    def rect(self) -> QRect:
        """Return its place on the screen."""
        place = self.place
        return QRect() if place is None else self.on_screen(place.toAlignedRect())

    def state(self) -> QAccessible.State:
        """Return whether it can be and is selected, and whether it is seen."""
        state = QAccessible.State()
        state.selectable = state.focusable = True
        state.selected = self.is_selected
        state.focused = self.is_selected and self.diagram.hasFocus()
        state.offscreen = self.place is None
        return state

    @property
    def is_selected(self) -> bool:
        """Whether it is what is selected."""
        return False


class BlockPart(AccessiblePart):
    """A block of a lane."""

    def __init__(self, diagram: TimingDiagram, ref: BlockRef) -> None:
        """Stand for the block of a number in a lane."""
        super().__init__(diagram)
        self.ref = ref

    def isValid(self) -> bool:
        """Whether the block is there."""
        project = self.diagram.document.project
        known = self.ref.lane_id in project.lane_index
        return known and self.ref.index < len(project.lane(self.ref.lane_id).blocks)

    def parent(self) -> QAccessibleInterface:
        """Return its lane."""
        return part_of(self.diagram).lane(self.ref.lane_id)

    def role(self) -> QAccessible.Role:
        """Return a cell’s role."""
        return Role.Cell

    @property
    def is_selected(self) -> bool:
        """Whether the block is selected."""
        return self.ref in self.diagram.document.selection.blocks

    def text(self, kind: QAccessible.Text) -> str:
        """Return the sentence that is read."""
        if kind != Text.Name or not self.isValid():
            return ""
        return spoken_block(self.diagram.document.report, self.ref, selected=self.is_selected)

    @property
    def place(self) -> QRectF | None:
        """Where the block's first seen copy stands."""
        scene = self.diagram.scene
        strip = scene.strip(self.ref.lane_id) if self.isValid() else None
        shapes = scene.shapes(self.ref.lane_id) if strip is not None else ()
        for shape in shapes:
            if strip is None or shape.index != self.ref.index:
                continue
            for piece in scene.frame.axis.pieces(shape.start_deg, shape.length_deg):
                top = strip.y(shape.level.output_mm)
                return QRectF(piece.left, top, max(1.0, piece.width), strip.body)
        return None


class AccessibleLane(AccessiblePart):
    """A lane."""

    def __init__(self, diagram: TimingDiagram, lane_id: str) -> None:
        """Stand for a lane."""
        super().__init__(diagram)
        self.lane_id = lane_id
        self._blocks: list[BlockPart] = []

    @property
    def parts(self) -> Sequence[AccessiblePart]:
        """Its blocks."""
        count = len(self.diagram.document.project.lane(self.lane_id).blocks) if self.isValid() else 0
        for index in range(len(self._blocks), count):
            self._blocks.append(BlockPart(self.diagram, BlockRef(self.lane_id, index)))
        return [*self._blocks[:count]]

    def isValid(self) -> bool:
        """Whether the lane is there."""
        return self.lane_id in self.diagram.document.project.lane_index

    def parent(self) -> QAccessibleInterface:
        """Return the diagram."""
        return part_of(self.diagram)

    def role(self) -> QAccessible.Role:
        """Return a row’s role."""
        return Role.Row

    @property
    def is_selected(self) -> bool:
        """Whether the lane is selected, and none of its blocks."""
        selection = self.diagram.document.selection
        return self.lane_id in (selection.lane_id, *selection.lanes) and not selection.blocks

    def text(self, kind: QAccessible.Text) -> str:
        """Return the sentence that is read."""
        if kind != Text.Name or not self.isValid():
            return ""
        return spoken_lane(self.diagram.document.report, self.lane_id)

    @property
    def place(self) -> QRectF | None:
        """Where its strip stands, header included."""
        scene = self.diagram.scene
        strip = scene.strip(self.lane_id)
        if strip is None:
            return None
        return QRectF(0.0, strip.top, scene.frame.axis.right, strip.height)


class DiagramPart(ReadableWhole):
    """The whole diagram."""

    def __init__(self, diagram: TimingDiagram) -> None:
        """Stand for a diagram."""
        super().__init__(diagram)
        self.diagram = diagram
        self._lanes: dict[str, AccessibleLane] = {}

    def lane(self, lane_id: str) -> AccessibleLane:
        """Return the part of a lane."""
        return self._lanes.setdefault(lane_id, AccessibleLane(self.diagram, lane_id))

    @property
    def parts(self) -> Sequence[QAccessibleInterface]:
        """All lanes, in the order of the project, drawn or not; then the search and the filter above them."""
        lanes = [self.lane(lane.id) for lane in self.diagram.document.project.lanes]
        lane_filter = self.diagram.lane_filter
        both = (lane_filter.text, lane_filter.found) if lanes else ()
        return [*lanes, *map(QAccessible.queryAccessibleInterface, both)]

    def role(self) -> QAccessible.Role:
        """Return a table’s role."""
        return Role.Table

    def focusChild(self) -> QAccessibleInterface | None:  # type: ignore[override]
        """Return the selected block, else the selected lane."""
        selection = self.diagram.document.selection
        if selection.lane_id is None:
            return None
        lane = self.lane(selection.lane_id)
        return lane.child(selection.blocks[-1].index) if selection.blocks else lane


_READABLE: ReadableWidgets[TimingDiagram, DiagramPart] = ReadableWidgets(DiagramPart)


def part_of(diagram: TimingDiagram) -> DiagramPart:
    """Return the part that stands for a diagram."""
    return _READABLE.part_of(diagram)


def make_readable(kind: type[TimingDiagram]) -> None:
    """Let Qt know how diagrams of a class are read; done once for a program."""
    _READABLE.install(kind)
