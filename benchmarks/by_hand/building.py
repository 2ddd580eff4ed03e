"""How the machine is built: the stages, one after the other, each counted by itself."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import QPoint, QRect, QSize
from PySide6.QtWidgets import QAbstractItemView, QApplication, QDialog

from benchmarks.by_hand import selectors as machine
from benchmarks.by_hand.person import HandsError, Person, beside
from shaftscore.model import Gate
from shaftscore_app.dialogs.exporting import ExportDialog, ExportedDialog
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.dialogs.new_machine.assistant import NewMachine
from shaftscore_app.forms.flow_form import KINDS, FlowForm
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.flow_faces.gates_card import GatesCard
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.views.state_table_model import DWELL, MOVE, STEPS
from shaftscore_app.widgets.dialog import Dialog

D = TypeVar("D", bound=QDialog)


class Builder:
    """Somebody who builds the machine in a window."""

    def __init__(self, app: QApplication, window: MainWindow, person: Person, folder: Path) -> None:
        """Sit before a window without a machine; folder: where the discs are written."""
        self._app, self._window, self._person, self._folder = app, window, person, folder

    # Stages

    def name_it(self) -> None:
        """Begin a machine: name, speed, steps."""
        hands, window = self._person, self._window
        hands.think()
        hands.click(window.start_page.new)
        page = self._assistant().machine
        hands.wait(page.name.hasFocus, "the name can be typed")
        hands.think()
        hands.type(machine.NAME)
        hands.press("Tab", times=3)
        hands.think()
        hands.type(machine.SPEED_RPM)
        hands.press("Tab")
        hands.think()
        hands.type(str(len(machine.STEPS)))
        hands.press("Tab")
        hands.think()
        for step in machine.STEPS:
            hands.type(step)
            hands.press("Return")
        self._next()

    def list_lanes(self) -> None:
        """Type the lanes, and copy group and levels down."""
        hands, grid = self._person, self._assistant().lanes.grid
        hands.think()
        for name in (*machine.LANES, machine.FLAP):
            hands.type(name)
            hands.press("Return")
        hands.think()
        for bank, name in enumerate(machine.BANKS):
            hands.click(cell(grid, 4 * bank, 1))
            hands.type(name)
            hands.press("Return", "Up", "ctrl+c")
            hands.press("shift+Down", times=3)
            hands.press("ctrl+v")
        hands.think()
        hands.click(cell(grid, 0, 2))
        hands.type(machine.LEVELS)
        hands.press("Return", "Up", "ctrl+c")
        hands.click(cell(grid, len(machine.LANES) - 1, 2), keys=("shift",))
        hands.press("ctrl+v")
        hands.think()
        hands.click(cell(grid, len(machine.LANES), 2))
        hands.type(machine.FLAP_LEVELS)
        hands.press("Return")
        self._next()
        self._next()  # the usual parts

    def write_states(self) -> None:
        """Write the state table: rest everywhere, a visit for each selector, and the flap."""
        hands, assistant = self._person, self._assistant()
        view = assistant.table
        if view is None:
            raise HandsError("the assistant has no state table")
        hands.think()
        hands.click(view.turn_button)  # all 13 lanes are seen when they are rows
        hands.think()
        hands.click(state(view, 1, 0))
        hands.click(state(view, len(machine.STEPS), len(machine.LANES) - 1), keys=("shift",))
        hands.type("re")
        hands.press("Return")
        for lane, step, level in sorted(machine.VISITS, key=lambda visit: visit.lane):
            hands.think()
            hands.click(state(view, step, lane))
            hands.type(f"{level[:2]} >")
            hands.press("Return")
        hands.think()
        hands.click(state(view, 2, len(machine.LANES)))
        hands.click(state(view, len(machine.STEPS), len(machine.LANES)), keys=("shift",))
        hands.type("j")
        hands.press("Return")
        self._write_lengths(view)
        hands.think()
        hands.click(assistant.button("Create machine"))
        hands.wait(lambda: self._window.document.is_late_current, "the machine is judged")

    def _write_lengths(self, view: StateTableView) -> None:
        """Type how long the selectors dwell and move."""
        hands = self._person
        for item, text in ((DWELL, machine.DWELL), (MOVE, machine.MOVE)):
            hands.think()
            for lane, keys in ((0, ()), (len(machine.LANES) - 1, ("shift",))):
                index = view.model.at(item, lane)
                hands.click(cell(view.table, index.row(), index.column()), keys=keys)
            hands.type(text)
            hands.press("Return")

    def describe_flow(self) -> None:
        """Describe outlet, chute, stock and magazines in the form of the flow."""
        hands = self._person
        hands.think()
        hands.press("alt+m", "w")
        form = self._flow_form()
        self._show_list(form, "outlets")
        self._add(form, "outlets", machine.JAR)
        self._show_list(form, "channels")
        self._add(form, "channels", machine.CHUTE)
        hands.think()
        hands.press("Tab", times=4)
        hands.type(machine.JAR[0])
        self._show_list(form, "supplies")
        self._add(form, "supplies", machine.STOCK)
        self._show_list(form, "magazines")
        for spice in machine.SPICES:
            self._add(form, "magazines", spice)
            hands.press("Tab")
            hands.type(machine.STOCK[0])
            hands.press("Tab", "Tab")
            hands.type(machine.CAPACITY)
            hands.press("Tab")
            hands.type(machine.START)
        self._accept(self._dialog(FormDialog))

    def _flow_form(self) -> FlowForm:
        editor = self._dialog(FormDialog).editor
        if not isinstance(editor, FlowForm):
            raise HandsError("the form that opened is not that of the flow")
        return editor

    def _show_list(self, form: FlowForm, kind: str) -> None:
        """Click the tab of a kind of part."""
        place, bar = list(KINDS).index(kind), form.tabs.tabBar()
        rect = bar.tabRect(place)
        self._person.think()
        self._person.click(QRect(bar.mapToGlobal(rect.topLeft()), rect.size()))

    def _add(self, form: FlowForm, kind: str, name: str) -> None:
        """Add a part and type its name."""
        hands, editor = self._person, form.lists[kind]
        before = len(editor.drafts())
        hands.think()
        hands.click(editor.add)
        hands.wait(lambda: len(editor.drafts()) > before, f"a part in {kind}")
        hands.type(name)

    def _accept(self, dialog: Dialog) -> None:
        self._person.think()
        self._person.click(dialog.button("OK"))
        self._gone(type(dialog))

    def _gone(self, kind: type[QDialog]) -> None:
        """Wait until no dialog of a kind is shown."""
        self._person.wait(lambda: not self._shown(kind), f"{kind.__name__} is closed")

    def add_gates(self) -> None:
        """Describe the gates of each bank by the card: left and right let out of its two magazines."""
        hands, window = self._person, self._window
        lanes = [lane.id for lane in window.document.committed.lanes]
        for bank in range(len(machine.BANKS)):
            own = lanes[4 * bank : 4 * bank + 4]
            hands.think()
            hands.click(self._header(own[0]))
            hands.click(self._header(own[-1]), keys=("shift",))
            hands.press("ctrl+shift+e")
            hands.wait(self._cards, "the card is shown")
            card = self._cards()[-1]
            for level, spice in zip(("left", "right"), machine.SPICES[2 * bank :], strict=False):
                row = next(one for one in card.rows if one.name.text() == level)
                hands.think()
                hands.click(row.source)
                hands.type(spice[:3].lower())
                hands.press("Return")
            hands.think()
            hands.click(card.apply)
            self._wait_for_gates(8 * (bank + 1))
        hands.wait(lambda: window.document.is_late_current, "the items are judged")

    def _wait_for_gates(self, count: int) -> None:
        self._person.wait(lambda: len(self._gates()) == count, f"{count} gates")

    def _cards(self) -> list[GatesCard]:
        return [one for one in self._window.findChildren(GatesCard) if one.isVisible()]

    def _gates(self) -> Sequence[Gate]:
        flow = self._window.document.committed.flow
        return () if flow is None else flow.gates

    def _header(self, lane_id: str) -> QRect:
        """Return where the header of a lane is on the screen."""
        diagram = self._window.diagram
        row = diagram.frame.rows.of_lane(lane_id)
        if row is None:
            raise HandsError(f"{lane_id} is not to be seen")
        place = QPoint(60, round(diagram.frame.top_of(row) + row.height / 2))
        return beside(QRect(diagram.viewport().mapToGlobal(place), QSize(1, 1)), 0, 0)

    def export(self) -> None:
        """Export the discs into a folder in all formats, and wait for the proof."""
        hands, window = self._person, self._window
        hands.think()
        hands.press("ctrl+e")
        dialog = self._dialog(ExportDialog)
        hands.wait(dialog.folder.hasFocus, "the folder can be typed")
        hands.think()
        hands.type(str(self._folder / machine.FOLDER))
        hands.press("Return")
        hands.wait(lambda: not window.groups.exports.is_running, "the export has ended")
        done = self._dialog(ExportedDialog)
        if not (self._folder / machine.FOLDER / "manifest.json").exists():
            raise HandsError(f"{done.windowTitle()}: no files were written")
        hands.press("Return")
        self._gone(ExportedDialog)

    # What stages share

    def _assistant(self) -> NewMachine:
        return self._dialog(NewMachine)

    def _dialog(self, kind: type[D]) -> D:
        """Return the dialog of a kind that is shown, once it is."""
        self._person.wait(lambda: self._shown(kind), f"{kind.__name__} is shown")
        return self._shown(kind)[-1]

    def _shown(self, kind: type[D]) -> list[D]:
        return [one for one in self._window.findChildren(kind) if one.isVisible()]

    def _next(self) -> None:
        assistant, before = self._assistant(), self._assistant().page
        self._person.think()
        self._person.click(assistant.button("Next"))
        self._person.wait(lambda: assistant.page > before, f"the page after {before}: {assistant.fault}")

    @property
    def stages(self) -> tuple[tuple[str, Callable[[], None]], ...]:
        """The stages, named, in order."""
        return (
            ("Name, speed, steps", self.name_it),
            ("Lanes, banks, levels", self.list_lanes),
            ("State table", self.write_states),
            ("Outlet, chute, magazines", self.describe_flow),
            ("24 gates", self.add_gates),
            ("Export and proof", self.export),
        )


def state(view: StateTableView, step: int, lane: int) -> QRect:
    """Return where the cell of a step, from 1, and a lane, from 0, is on the screen."""
    index = view.model.at(STEPS + step - 1, lane)
    return cell(view.table, index.row(), index.column())


def cell(grid: QAbstractItemView, row: int, column: int) -> QRect:
    """Return where a cell of a grid is on the screen. Raises HandsError where it is not to be seen."""
    index = grid.model().index(row, column)
    shown = grid.visualRect(index).intersected(grid.viewport().rect())
    if shown.width() < 4 or shown.height() < 4:
        raise HandsError(f"row {row}, column {column} of {grid.accessibleName()} is not to be seen")
    return QRect(grid.viewport().mapToGlobal(shown.topLeft()), shown.size())
