"""Commands of the menus Edit, Lane, Block and View that act on the timing diagram."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import Signal
from PySide6.QtGui import QGuiApplication

from shaftscore.edits import (
    BlockRef,
    Clip,
    Edited,
    clip_of,
    clip_text,
    delete_blocks,
    duplicate_blocks,
    duplicate_lanes,
    group_lanes,
    insert_time,
    mirror_blocks,
    paste_blocks,
    read_clip,
    repeat_blocks,
    shift_lanes,
)
from shaftscore.model import Block, Lane
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.times import AskDialog, Asked, AskedRow, Lanes, Use, count_quantity, way_quantity
from shaftscore_app.document.binding import commit
from shaftscore_app.document.selection import Selection
from shaftscore_app.menus.actions import Reason
from shaftscore_app.timing.steps import step_length
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.widgets.choice import Option
from shaftscore_app.widgets.quantities import master_angle


class TimingCommands(CommandGroup):
    """The commands.

    Signals: status_message(sentence) with what was done, or why something could not be. clipboard_changed()
    when something else was copied, here or elsewhere.
    """

    status_message = Signal(str)
    clipboard_changed = Signal()

    def __init__(self, services: Services, diagram: TimingDiagram) -> None:
        """Serve a window and its diagram."""
        super().__init__(services)
        self._diagram = diagram
        self._held: Clip | None = None
        self._is_looked_at = False
        QGuiApplication.clipboard().dataChanged.connect(self._clipboard_changed)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        diagram = self._diagram
        return {
            "edit.cut": self.cut,
            "edit.copy": self.copy,
            "edit.paste": self.paste,
            "edit.duplicate": self.duplicate,
            "lane.shift": self.ask_shift,
            "lane.group": self.group,
            "lane.up": diagram.move_lane_up,
            "lane.down": diagram.move_lane_down,
            "lane.isolate": diagram.isolate_lanes,
            "lane.hide": diagram.hide_lanes,
            "lane.show_all": diagram.show_all_lanes,
            "block.edge": diagram.next_grip,
            "block.repeat": self.ask_repeat,
            "block.mirror": self.mirror,
            "block.insert_time": self.ask_insert_time,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        block, lane = self._no_block, self._no_lane
        return {
            "edit.cut": block,
            "edit.copy": block,
            "edit.paste": self._no_clip,
            "edit.duplicate": lambda: "" if self._refs or self._lane else "No block and no lane is selected",
            "lane.shift": lambda: "" if self._document.project.lanes else "There are no lanes yet",
            "lane.group": lane,
            "lane.up": lane,
            "lane.down": lane,
            "lane.isolate": lane,
            "lane.hide": lane,
            "lane.show_all": lambda: "" if self._diagram.hides_lanes else "All lanes are drawn",
            "block.edge": block,
            "block.repeat": block,
            "block.mirror": lane,
            "block.insert_time": lambda: "" if self._document.project.lanes else "There are no lanes yet",
        }

    # The clipboard

    def copy(self) -> bool:
        """Put the selected blocks on the clipboard, as text of our own; False without any."""
        refs = self._refs
        if not refs:
            return False
        clip = clip_of(self._document.committed, refs)
        QGuiApplication.clipboard().setText(clip_text(clip))
        return True

    def cut(self) -> None:
        """Copy the selected blocks and delete them."""
        refs, document = self._refs, self._document

        def make() -> Edited:
            edited = delete_blocks(document.committed, refs)
            name = edited.name.replace("Delete", "Cut", 1)
            return Edited(edited.project, name, edited.selection, edited.lane_id)

        if self.copy():
            self._do(make)

    def paste(self) -> None:
        """Lay the clipboard's blocks over the lanes at the cursor; foreign text does nothing."""
        self.look_at_clipboard()
        document, clip = self._document, self._held
        if clip is None:
            self.status_message.emit(self._no_clip())
            return
        lane_id, at = document.selection.lane_id, document.cursor_deg
        self._do(lambda: paste_blocks(document.committed, clip, at, lane_id))

    def look_at_clipboard(self) -> None:
        """Read the clipboard, unless nothing has changed there since.

        Only where somebody asks for it, as by opening a menu: what another program holds has to be fetched
        from it, and one that does not answer would keep this window waiting for seconds.
        """
        if not self._is_looked_at:
            self._held = read_clip(QGuiApplication.clipboard().text())
            self._is_looked_at = True

    def _clipboard_changed(self) -> None:
        self._is_looked_at = False
        self.clipboard_changed.emit()

    def _no_clip(self) -> str:
        """Describe why nothing can be pasted; what another program holds may be blocks."""
        if QGuiApplication.clipboard().ownsClipboard():
            self.look_at_clipboard()
        unknown = not self._is_looked_at
        return "" if unknown or self._held is not None else "There are no blocks on the clipboard"

    # Copies and times

    def duplicate(self) -> None:
        """Lay a copy of the selected blocks one step later; without any, duplicate the selected lanes."""
        refs, document = self._refs, self._document
        lane_ids = document.selection.lane_ids
        if not refs and lane_ids:
            self._duplicate_lanes(lane_ids)
        elif refs:
            by = step_length(document.committed.shaft.step_starts_deg, self._master_deg(refs[-1]))
            self._do(lambda: duplicate_blocks(document.committed, refs, by))

    def _duplicate_lanes(self, lane_ids: tuple[str, ...]) -> None:
        """Duplicate lanes with their rules, gates and loads, and select the copies."""
        document = self._document
        before = set(document.committed.lane_index)
        self._do(lambda: duplicate_lanes(document.committed, lane_ids))
        made = tuple(lane.id for lane in document.committed.lanes if lane.id not in before)
        if made:
            document.select(Selection.of_lanes(made))

    def ask_repeat(self) -> None:
        """Ask how many times the selected blocks shall stand round the turn."""
        refs, document = self._refs, self._document
        if not refs:
            return

        def use(asked: Asked) -> str:
            times = int(asked.numbers["times"])
            return self._try(lambda: repeat_blocks(document.committed, refs, times))

        rows = [AskedRow("times", "How often", 2, count_quantity())]
        self._ask("Repeat", "Repeat round the turn, at equal distances", rows, use).open()

    def mirror(self) -> None:
        """Mirror the selected blocks in time; without any, the selected lane about the cursor."""
        refs, document = self._refs, self._document
        about = None
        if not refs and self._lane is not None:
            refs = tuple(BlockRef(self._lane.id, index) for index in range(len(self._lane.blocks)))
            about = document.cursor_deg
        self._do(lambda: mirror_blocks(document.committed, refs, about))

    def ask_insert_time(self) -> None:
        """Ask where to insert how much time, and in which lanes."""
        document = self._document
        cursor, shaft = document.cursor_deg, document.committed.shaft

        def use(asked: Asked) -> str:
            at, by = asked.numbers["at"], asked.numbers["by"]
            return self._try(lambda: insert_time(document.committed, at, by, asked.lanes))

        rows = [
            AskedRow("at", "At", cursor, master_angle(document)),
            AskedRow("by", "How much", step_length(shaft.step_starts_deg, cursor), way_quantity(document)),
        ]
        dialog = self._ask(
            "Insert time",
            "Insert time: everything after this angle moves later; the last dwell is shortened",
            rows,
            use,
        )
        dialog.offer("In", self._which_lanes())
        dialog.say("A negative value removes time.", muted=True)
        dialog.open()

    def ask_shift(self) -> None:
        """Ask by how much to shift all lanes, or the selected ones."""
        document = self._document

        def use(asked: Asked) -> str:
            lanes = asked.lanes or tuple(lane.id for lane in document.committed.lanes)
            by = asked.numbers["by"]
            return self._try(lambda: shift_lanes(document.committed, lanes, by))

        rows = [AskedRow("by", "Shift by", 0.0, way_quantity(document))]
        dialog = self._ask("Shift in time", "Shift the program of whole lanes in time", rows, use)
        chosen = self._which_lanes()
        dialog.offer("Which", [*chosen[1:], chosen[0]])
        dialog.say("A negative value shifts earlier.", muted=True)
        dialog.open()

    def _which_lanes(self) -> list[Option[Lanes]]:
        """Offer all lanes, and those of which something is selected."""
        chosen = self._document.selection.lane_ids
        options: list[Option[Lanes]] = [Option(None, "All lanes")]
        if chosen and len(chosen) < len(self._document.project.lanes):
            label = self._document.project.lane(chosen[0]).label
            options.append(Option(chosen, label if len(chosen) == 1 else f"{len(chosen)} selected lanes"))
        return options

    # Lanes

    def group(self) -> None:
        """Put the selected lanes into one group; a group that is selected whole is dissolved."""
        document = self._document
        chosen = document.selection.lane_ids
        if not chosen:
            return
        project = document.committed
        groups = {project.lane(lane_id).group for lane_id in chosen}
        members = {lane.id for lane in project.lanes if lane.group in groups}
        dissolved = len(groups) == 1 and groups != {""} and members == set(chosen)
        name = "" if dissolved else _free_name({lane.group for lane in project.lanes})
        self._do(lambda: group_lanes(document.committed, chosen, name))

    # Inside

    @property
    def _refs(self) -> tuple[BlockRef, ...]:
        return self._document.selection.blocks

    @property
    def _lane(self) -> Lane | None:
        lane_id = self._document.selection.lane_id
        return None if lane_id is None else self._document.committed.lane(lane_id)

    def _block(self, ref: BlockRef) -> Block:
        return self._document.committed.lane(ref.lane_id).blocks[ref.index]

    def _master_deg(self, ref: BlockRef) -> float:
        project = self._document.committed
        return self._block(ref).start_deg / project.stack_of(project.lane(ref.lane_id)).turns

    def _no_block(self) -> str:
        return "" if self._refs else "No block is selected"

    def _no_lane(self) -> str:
        return "" if self._lane is not None else "No lane is selected"

    def _ask(self, title: str, heading: str, rows: list[AskedRow], use: Use) -> AskDialog:
        return AskDialog(self._window, self._theme, title, heading, rows=rows, use=use)

    def _try(self, make: Callable[[], Edited]) -> str:
        """Make an edit and have it spoken; gives why it cannot be."""
        fault = commit(self._document, make)
        self._diagram.announce(fault or self._document.undo_name)
        return fault

    def _do(self, make: Callable[[], Edited]) -> None:
        fault = self._try(make)
        if fault:
            self.status_message.emit(fault)


def _free_name(taken: set[str]) -> str:
    """Return a name for a new group."""
    return next(name for number in range(1, len(taken) + 2) if (name := f"Group {number}") not in taken)
