"""Commands that begin with a table: a new machine by the assistant, and reading states from a file."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from shaftscore.base.wording import counted
from shaftscore.edits.table_lanes import TableLanes, levels_for
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.commands.files import FileCommands, samples
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.menus.actions import Reason
from shaftscore_app.views.layout import Docks

if TYPE_CHECKING:
    from shaftscore_app.dialogs.new_machine.level_sets import Levels
    from shaftscore_app.views.state_table import StateTableView


class TableCommands(CommandGroup):
    """The commands."""

    def __init__(self, services: Services, *, files: FileCommands, docks: Docks) -> None:
        """Serve a window and its state table."""
        super().__init__(services)
        self._files, self._docks = files, docks
        docks.late.when_made("table", self._connect)

    def _connect(self, view: StateTableView) -> None:
        view.import_wanted.connect(self.read_file)
        view.makes_lanes = True
        view.lanes_wanted.connect(self._ask_levels)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {"file.new": self.new_machine, "machine.table": self.read_file}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        none = "There are no lanes yet: a table needs lanes with levels"
        return {"machine.table": lambda: "" if self._document.project.lanes else none}

    def new_machine(self) -> None:
        """Open the assistant, after asking about changes."""
        self._files.when_kept(self._ask_new)

    def _ask_new(self) -> None:
        from shaftscore_app.dialogs.new_machine import NewMachine  # late: the start can do without it

        known = {title: partial(read_project, data, title) for title, data in samples().items()}
        NewMachine(
            self._window,
            self._theme,
            samples=known,
            choose_table=self._chosen_table,
            make=self._begin,
            make_program=self._begin_program,
        ).open()

    def _begin_program(self, project: Project) -> None:
        """Begin with what the assistant made, in the Program maker."""
        self._document.open_unsaved(project, None)
        self._docks.show_large("program")

    def _begin(self, project: Project) -> None:
        """Begin with what the assistant made; a machine without any lane is nothing to lose."""
        if not project.lanes:
            self._document.new(project)
            return
        self._document.open_unsaved(project, None)
        if not any(lane.blocks for lane in project.lanes):
            self._docks.show("table")

    def _ask_levels(
        self, table: TableLanes, use: Callable[[Levels], str], otherwise: Callable[[], object]
    ) -> None:
        """Ask once how high the levels of new lanes are; where they are not wanted, show the table."""
        from shaftscore_app.dialogs.new_machine.level_sets import LevelSetsDialog  # late, as the assistant

        known = [levels_for(self._document.committed, one.words) for one in table.sets]
        dialog = LevelSetsDialog(self._window, self._theme, table.sets, replaced=0, use=use, known=known)
        what = f"The machine does not have {counted(len(table.columns), 'lane')} of this table."
        dialog.say(f"{what} They are added after the others, and all of it is written in one step.")
        dialog.rejected.connect(otherwise)
        dialog.open()

    def _chosen_table(self) -> Path | None:
        folder = self._document.path.parent if self._document.path else Path.home()
        return self._picker.table_to_open(self._window, str(folder), "State table from a file")

    def read_file(self) -> None:
        """Let the person choose a file, and show it before it is written."""
        path = self._chosen_table()
        if path is not None:
            self._docks.show("table")
            self._docks.late.when_made("table", lambda view: view.open_file(path))
