"""What keys and commands do to the selected block, the selection and the cursor.

Each edit is one undo step; presses of a key on the same block within 600 ms of each other join into one
(`Document.perform` with a merge key). Each is also spoken.
"""

from __future__ import annotations

from collections.abc import Callable

from shaftscore.base.errors import EditError
from shaftscore.edits import BlockRef, Edited, delete_blocks
from shaftscore.kinematics.course import LaneCycle
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore_app.timing import steps
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.reordering import moved_by
from shaftscore_app.timing.tags import spoken_place

FINE_DEG = 0.1
"""What Alt makes of the grid, degrees."""


class Doing:
    """The commands of the diagram; `grip` is what the arrow keys hold of a block."""

    def __init__(self, host: Host) -> None:
        """Act on the document of `host`."""
        self.host = host
        self.grip = Grip.WHOLE
        self._presses = 0

    @property
    def ref(self) -> BlockRef | None:
        """The block that keys act on: the last one selected."""
        blocks = self.host.document.selection.blocks
        return blocks[-1] if blocks else None

    def selection_changed(self) -> None:
        """Keep presses on one block apart from those on another."""
        self._presses += 1
        if self.ref is None:
            self.grip = Grip.WHOLE

    # Edits

    def attempt(self, make: Callable[[], Edited | None], merge_as: str | None = None) -> bool:
        """Make an edit as one step, or say why it cannot be made. True if it was made."""
        try:
            edited = make()
        except EditError as error:
            self.host.tell(str(error))
            self.host.announce(str(error))
            return False
        if edited is None:
            return False
        presses = self._presses
        self.host.document.perform(edited, None if merge_as is None else (merge_as, presses))
        self._presses = presses
        return True

    def nudge(self, way: int, *, fine: bool = False, other: bool = False) -> None:
        """Move the selected block, or the edge held with E, by the grid; other: as with Shift."""
        ref = self.ref
        if ref is None:
            return
        habits = self.host.habits
        grid = FINE_DEG if fine or not habits.snapping else habits.grid_deg
        project, stay = self.host.document.committed, other == habits.moves_keep
        refs = self.host.document.selection.blocks

        def make() -> Edited:
            if len(refs) > 1 and self.grip is Grip.WHOLE:
                return steps.nudge_all(project, refs, grid, way, stay=stay)
            return steps.nudge(project, ref, self.grip, grid, way, stay=stay)

        if self.attempt(make, f"nudge {self.grip.value}"):
            self._speak_place()

    def change_level(self, way: int, *, other: bool = False) -> None:
        """Move the selected block to its next level; other: as with Shift."""
        ref = self.ref
        if ref is None:
            return
        project, stay = self.host.document.committed, other == self.host.habits.moves_keep
        refs = self.host.document.selection.blocks

        def make() -> Edited | None:
            if len(refs) > 1:
                return steps.change_levels(project, refs, way, stay=stay)
            return steps.change_level(project, ref, way, stay=stay)

        if self.attempt(make, "level"):
            self._speak_place()

    def add_at_cursor(self) -> None:
        """Add a block to the selected lane at the cursor."""
        document = self.host.document
        lane_id = document.selection.lane_id
        if lane_id is None:
            self.host.tell("Select a lane first: click its header")
            return
        lane = document.committed.lane(lane_id)
        own = LaneCycle.of(document.committed, lane, document.cycle).own(document.cursor_deg)
        level = steps.level_to_add(lane, own)
        if level is None:
            self.host.tell(f"{lane.label} has no levels yet")
            return
        self.add(lane_id, own, level)

    def add(self, lane_id: str, own_deg: float, level: str, *, fine: bool = False) -> None:
        """Add a block that starts at the grid line nearest to an own angle."""
        grid = FINE_DEG if fine else self.host.habits.grid_deg
        project = self.host.document.committed
        self.attempt(lambda: steps.add_at(project, lane_id, own_deg, level, grid))

    def delete_selected(self) -> None:
        """Delete the selected blocks."""
        document = self.host.document
        refs = document.selection.blocks
        if refs:
            self.attempt(lambda: delete_blocks(document.committed, refs))

    def move_lane(self, way: int) -> None:
        """Move the selected lane up (way -1) or down (way 1) among the lanes."""
        document = self.host.document
        lane_id = document.selection.lane_id
        if lane_id is not None:
            self.attempt(lambda: moved_by(document.committed, lane_id, way), f"move lane {lane_id}")
            self.host.reveal_lane(lane_id)

    def next_grip(self) -> None:
        """Hold the start, the end, or the whole of the block with the arrow keys, in turn."""
        self.grip = steps.NEXT_GRIP[self.grip]
        held = {Grip.WHOLE: "whole block", Grip.START: "start edge", Grip.END: "end edge"}[self.grip]
        self.host.tell(f"Arrows move the {held}")
        self.host.announce(held)

    def edit_values(self) -> None:
        """Ask for the values of the selected block to be typed."""
        if self.ref is not None:
            self.host.ask_values(self.ref)

    def _speak_place(self) -> None:
        if self.ref is not None:
            self.host.announce(spoken_place(self.host.document.report, self.ref))

    # Selection and cursor

    def select_more(self) -> None:
        """Select the lane; again: its group, then all."""
        document = self.host.document
        document.select(steps.more(document.project, document.selection))

    def turn_cursor(self, by_deg: float) -> None:
        """Turn the shaft by so many degrees."""
        self.set_cursor(self.host.document.cursor_deg + by_deg)

    def step(self, way: int) -> None:
        """Turn the shaft to the next step, or to the step before."""
        document = self.host.document
        starts = document.project.shaft.step_starts_deg
        self.set_cursor(steps.step_from(starts, document.cursor_deg, way))

    def set_cursor(self, deg: float) -> None:
        """Turn the shaft to an angle and show it."""
        self.host.document.set_cursor(deg)
        self.host.reveal_angle(self.host.document.cursor_deg)
