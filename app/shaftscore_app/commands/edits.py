"""Commands of the menus Edit, Lane, Block and Machine: edits of what is selected."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu

from shaftscore.edits import (
    BlockRef,
    Edited,
    add_lane,
    delete_lanes,
    set_block_law,
    set_lane,
    set_levels,
    set_locked,
)
from shaftscore.model import Block, Lane, LawName, Project
from shaftscore_app.commands.services import CommandGroup
from shaftscore_app.commands.table_text import ask_table
from shaftscore_app.dialogs.lanes import USUAL_LEVELS, LaneDialog, LevelRows
from shaftscore_app.document.binding import commit
from shaftscore_app.menus.actions import Reason
from shaftscore_app.views.properties.laws import law_options
from shaftscore_app.views.properties.several import in_turn

LOG = "Log of an encoder and switches"
"""Title of the choice of a log."""


class EditCommands(CommandGroup):
    """The commands.

    Signals: status_message(sentence) with why something could not be done; properties_wanted() when a field
    of Properties is to be typed in; window_wanted() when the window of the selected block is.
    """

    status_message = Signal(str)
    properties_wanted = Signal()
    window_wanted = Signal()

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {
            "edit.undo": self._document.undo,
            "edit.redo": self._document.redo,
            "edit.select_none": self._document.select_blocks,
            "lane.new": self.new_lane,
            "lane.rename": self.rename_lane,
            "lane.levels": self.change_levels,
            "lane.as_built": self.correct_as_built,
            "lane.delete": self.delete_lane,
            "block.values": self.properties_wanted.emit,
            "block.lock": self.set_locked,
            "block.window": self.window_wanted.emit,
            "block.law": self.fill_laws,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        document = self._document
        no_block, no_lane = "No block is selected", "No lane is selected"
        block = self._needs(lambda: bool(document.selection.blocks), no_block)
        lane = self._needs(lambda: document.selection.lane_id is not None, no_lane)
        return {
            "edit.undo": self._needs(lambda: document.can_undo, "Nothing to take back"),
            "edit.redo": self._needs(lambda: document.can_redo, "Nothing was taken back"),
            "edit.select_all": self._needs(lambda: bool(document.project.lanes), "There are no lanes yet"),
            "edit.delete": block,
            "lane.rename": lane,
            "lane.levels": lane,
            "lane.as_built": self._needs(lambda: bool(document.project.lanes), "There are no lanes yet"),
            "lane.delete": lane,
            "block.add": lane,
            "block.values": block,
            "block.up": block,
            "block.down": block,
            "block.lock": block,
            "block.window": self._needs(
                lambda: len(document.selection.blocks) == 1, "A window is given to one block: select one"
            ),
            "block.law": block,
        }

    @staticmethod
    def _needs(holds: Callable[[], bool], otherwise: str) -> Reason:
        return lambda: "" if holds() else otherwise

    # Blocks

    def set_locked(self, locked: bool) -> None:
        """Lock or unlock the selected blocks."""
        refs = self._refs
        self._do(lambda: set_locked(self._document.committed, refs, locked))

    @property
    def all_locked(self) -> bool:
        """Whether every selected block is locked (and there is one)."""
        blocks = self._blocks
        return bool(blocks) and all(block.locked for block in blocks)

    def fill_laws(self, menu: QMenu) -> None:
        """List the laws for the moves that lead to the selected blocks."""
        current = {block.law for block in self._blocks}
        lanes = {self._document.project.lane(ref.lane_id).law for ref in self._refs}
        own = next(iter(lanes)) if len(lanes) == 1 else ""
        for option in law_options(own) if own else law_options():
            action = menu.addAction(f"{option.text}, {option.remark}" if option.remark else option.text)
            action.setCheckable(True)
            action.setChecked(current == {option.value})
            action.triggered.connect(lambda _checked=False, law=option.value: self._set_law(law))

    def _set_law(self, law: LawName | None) -> None:
        def change(project: Project, ref: BlockRef) -> Edited:
            return set_block_law(project, ref, law)

        refs = self._refs
        if len(refs) == 1:
            self._do(lambda: change(self._document.committed, refs[0]))
        elif refs:
            self._do(
                lambda: in_turn(self._document.committed, refs, change, f"Set the law of {len(refs)} blocks")
            )

    # Lanes

    def new_lane(self) -> None:
        """Ask for name and levels and add a lane below the selected one."""
        selected = self._lane
        group = selected.group if selected else ""
        levels = dict(selected.levels) if selected and selected.levels else dict(USUAL_LEVELS)
        LaneDialog(
            self._window,
            self._theme,
            title="Add lane",
            heading="Add lane",
            rows=LevelRows(self._theme, levels),
            make=self._add_lane,
            named=("", group),
        ).open()

    def _add_lane(self, dialog: LaneDialog) -> str:
        name = dialog.name.text().strip()
        if not name:
            return "Give the lane a name"
        document, levels = self._document, dialog.rows.levels()
        after = document.selection.lane_id
        group = dialog.group.text().strip()

        def make() -> Edited:
            edited = add_lane(document.committed, name, group, levels, after)
            return _guarding(edited, edited.lane_id or "", dialog.rows.guarded())

        return commit(document, make)

    def rename_lane(self, lane_id: str | None = None) -> None:
        """Let the person type another name for a lane (the selected one if None)."""
        lane_id = lane_id or self._document.selection.lane_id
        if lane_id is not None:
            self._document.select_lane(lane_id)
            self.properties_wanted.emit()

    def change_levels(self) -> None:
        """Ask for other names and heights of the lane's levels."""
        lane = self._lane
        if lane is not None:
            rows = LevelRows(self._theme, lane.levels, lane.guarded)
            heading = f"Levels of {lane.label}"
            LaneDialog(
                self._window,
                self._theme,
                title="Set levels",
                heading=heading,
                rows=rows,
                make=self._set_levels,
            ).open()

    def _set_levels(self, dialog: LaneDialog) -> str:
        lane, document = self._lane, self._document
        if lane is None:
            return "The lane is not there any more"
        levels, guarded, renamed = dialog.rows.levels(), dialog.rows.guarded(), dialog.rows.renamed()

        def make() -> Edited:
            edited = set_levels(document.committed, lane.id, levels, renamed)
            return _guarding(edited, lane.id, guarded)

        return commit(document, make)

    def correct_as_built(self) -> None:
        """Ask for what was measured, and correct offsets and play by it."""
        from shaftscore_app.dialogs.as_built import AsBuiltDialog  # late: the start can do without it

        ask = partial(ask_table, self.services, LOG)
        AsBuiltDialog(self._window, self._theme, self._document, ask).open()

    def delete_lane(self) -> None:
        """Delete the selected lanes, or the lane of the last selected block, as one step."""
        document = self._document
        selection = document.selection
        chosen = selection.lane_ids if not selection.blocks else selection.lane_ids[-1:]
        if chosen:
            self._do(lambda: delete_lanes(document.committed, chosen))

    # Inside

    @property
    def _refs(self) -> tuple[BlockRef, ...]:
        return self._document.selection.blocks

    @property
    def _blocks(self) -> list[Block]:
        project = self._document.project
        return [project.lane(ref.lane_id).blocks[ref.index] for ref in self._refs]

    @property
    def _lane(self) -> Lane | None:
        lane_id = self._document.selection.lane_id
        return None if lane_id is None else self._document.project.lane(lane_id)

    def _do(self, make: Callable[[], Edited]) -> None:
        fault = commit(self._document, make)
        if fault:
            self.status_message.emit(fault)


def _guarding(edited: Edited, lane_id: str, guarded: tuple[str, ...]) -> Edited:
    """Add to an edit which levels of a lane are guarded; the step keeps its name."""
    if set(edited.project.lane(lane_id).guarded) == set(guarded):
        return edited
    guarding = set_lane(edited.project, lane_id, guarded=guarded)
    return Edited(guarding.project, edited.name, edited.selection, lane_id)
