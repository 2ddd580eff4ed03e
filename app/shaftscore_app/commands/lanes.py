"""Commands of the menu Lane about one lane: comparing laws, and points typed or from a table."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path

from shaftscore.base.errors import ProjectError
from shaftscore.edits import Edited, read_points, set_points, use_law
from shaftscore.judge.loads import compare_laws
from shaftscore.model import Lane, LawName, MotionPoint, Project
from shaftscore_app.commands.services import CommandGroup
from shaftscore_app.dialogs.files import RefusedDialog
from shaftscore_app.dialogs.laws import LawsDialog
from shaftscore_app.dialogs.points import PointsDialog
from shaftscore_app.document.binding import commit
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.files import read_within


class LaneStudies(CommandGroup):
    """The commands."""

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {
            "lane.compare": self.compare,
            "lane.point_table": self.type_points,
            "lane.points": self.ask_points,
        }

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return {
            "lane.compare": self._no_moves,
            "lane.point_table": self._no_table,
            "lane.points": self._no_table,
        }

    def compare(self) -> None:
        """Compare all laws on the selected lane."""
        lane = self._lane
        if lane is not None and not self._no_moves():
            comparison = compare_laws(self._document.committed, lane.id)

            def use(law: LawName) -> str:
                return self._do(lambda project: use_law(project, lane.id, law))

            LawsDialog(self._window, self._theme, lane, comparison, use).open()

    def type_points(self) -> None:
        """Show the table of the selected lane's points, to type in."""
        lane = self._lane
        if lane is not None and not self._no_table():
            self._open(lane, lane.points or ())

    def ask_points(self) -> None:
        """Ask for a table and show its points."""
        lane = self._lane
        if lane is not None and not self._no_table():
            self._ask_file(lambda points: self._open(lane, points))

    def show_points(self, lane: Lane, path: Path) -> None:
        """Show the points of a table, or what is wrong with it."""
        self._read_file(path, lambda points: self._open(lane, points))

    # Inside

    def _ask_file(self, then: Callable[[Sequence[MotionPoint]], object]) -> None:
        """Ask for a table, and take its points."""
        folder = "" if self._document.path is None else str(self._document.path.parent)
        path = self._picker.table_to_open(self._window, folder, "Points from CSV")
        if path is not None:
            self._read_file(path, then)

    def _read_file(self, path: Path, then: Callable[[Sequence[MotionPoint]], object]) -> None:
        try:
            points = read_points(read_within(path), path.name)
        except ProjectError as error:
            again = partial(self._ask_file, then)
            RefusedDialog(self._window, self._theme, path.name, error, again).open()
            return
        then(points)

    def _open(self, lane: Lane, points: Sequence[MotionPoint]) -> None:
        def use(written: Sequence[MotionPoint]) -> str:
            return self._do(lambda project: set_points(project, lane.id, written))

        def ask_file(dialog: PointsDialog) -> None:
            self._ask_file(dialog.show_points)

        PointsDialog(self._window, self._theme, lane, points, use=use, ask_file=ask_file).open()

    def _do(self, edit: Callable[[Project], Edited]) -> str:
        document = self._document
        return commit(document, lambda: edit(document.committed))

    @property
    def _lane(self) -> Lane | None:
        lane_id = self._document.selection.lane_id
        return None if lane_id is None else self._document.committed.lane(lane_id)

    def _no_moves(self) -> str:
        lane = self._lane
        if lane is None:
            return "No lane is selected"
        if lane.kind != "disc":
            return f"{lane.label} is of kind {lane.kind}: its motion follows no law"
        return "" if lane.blocks else f"{lane.label} has no blocks yet"

    def _no_table(self) -> str:
        lane = self._lane
        if lane is None:
            return "No lane is selected"
        kinds = ("disc", "points")
        return "" if lane.kind in kinds else f"{lane.label} is of kind {lane.kind}: it takes no points"
