"""The State table view, by real mouse and key events."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

from shaftscore.base.samples import sample_folder
from shaftscore.edits.state_table import filled, read_states
from shaftscore.model import Project, replaced
from shaftscore.model.loader import load_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.views.state_table_model import CELL, DWELL, MOVE, STEPS, Cell, own_steps_text
from shaftscore_app.views.state_table_sheet import REST, WRITE, StateSheetDialog
from shaftscore_app.widgets.cell_line import CellLine
from tests.app.conftest import Answers, WindowMaker
from tests.machines import gate, lane, machine

KEY, MOD = Qt.Key, Qt.KeyboardModifier
SAMPLES = sample_folder()


def two() -> Project:
    """A gate that opens in step 4 of 12, and one without blocks."""
    return machine(gate("Mint", 101.0, 109.0, move=20.0), lane("Rose"))


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    return make_window(two())


@pytest.fixture
def view(qtbot, window: MainWindow) -> StateTableView:
    return opened(qtbot, window)


def click(qtbot, view: StateTableView, item: int, number: int, modifier: Qt.KeyboardModifier | None = None):
    rect = view.table.visualRect(view.model.at(item, number))
    view.table.scrollTo(view.model.at(item, number))
    rect = view.table.visualRect(view.model.at(item, number))
    qtbot.mouseClick(
        view.table.viewport(), Qt.MouseButton.LeftButton, modifier or MOD.NoModifier, rect.center()
    )


def focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def press(qtbot, key: Qt.Key, modifier: Qt.KeyboardModifier = MOD.NoModifier) -> None:
    """Press a key where the focus is, as a keyboard does."""
    qtbot.keyClick(focus(), key, modifier)


def type_text(qtbot, text: str) -> None:
    for letter in text:
        qtbot.keyClicks(focus(), letter)


def opened(qtbot, window: MainWindow) -> StateTableView:
    """Go to the table by its key."""
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    qtbot.keyClick(window, KEY.Key_2, MOD.ControlModifier)
    view = window.docks.view(StateTableView)
    qtbot.waitUntil(view.table.hasFocus)
    qtbot.waitUntil(lambda: view._is_seen)  # told once the docks are laid out
    return view


def column(view: StateTableView, lane_id: str) -> list[str]:
    project = view.model._document.project
    return list(filled(read_states(project, project.lane(lane_id)).column))


def shown(view: StateTableView, item: int, number: int) -> Cell:
    cell = view.model.data(view.model.at(item, number), CELL)
    assert isinstance(cell, Cell)
    return cell


def test_it_shows_what_the_diagram_says(view: StateTableView) -> None:
    assert [shown(view, STEPS + step, 0).text for step in (2, 3, 4)] == ["closed", "open", "closed"]
    assert (shown(view, DWELL, 0).text, shown(view, MOVE, 0).text) == ("8°", "20°")
    assert (shown(view, DWELL, 1).quiet, shown(view, MOVE, 1).text) == (True, "20°")
    assert shown(view, STEPS, 1).text == ""


def test_first_letters_and_keys_write_a_lane_from_nothing(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS + 2, 1)
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Return)
    assert view.current == (STEPS + 3, 1)
    assert column(view, "rose") == ["closed"] * 2 + ["open"] + ["closed"] * 9
    type_text(qtbot, "O")
    press(qtbot, KEY.Key_Down)
    press(qtbot, KEY.Key_Up)
    press(qtbot, KEY.Key_Delete)
    assert column(view, "rose")[2:5] == ["open", "open", "closed"]
    document = view.model._document
    assert document.undo_names == ("Write Rose in the state table",) * 2
    assert document.selection.lane_id == "rose"
    document.undo()
    document.undo()
    assert document.project.lane("rose").blocks == ()
    assert shown(view, STEPS + 2, 1).text == ""


def test_several_chosen_cells_are_written_at_once_as_one_step(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS + 5, 1)
    for _ in range(3):
        press(qtbot, KEY.Key_Down, MOD.ShiftModifier)
    press(qtbot, KEY.Key_Left, MOD.ShiftModifier)
    type_text(qtbot, "op")
    press(qtbot, KEY.Key_Return)
    assert column(view, "rose")[4:10] == ["closed", *["open"] * 4, "closed"]
    assert column(view, "mint")[2:10] == ["closed", "open", "closed", *["open"] * 4, "closed"]
    assert view.model._document.undo_names == ("Write 2 lanes in the state table",)


def test_tab_goes_right_while_typing_and_leaves_the_view_otherwise(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS, 0)
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Tab)
    assert view.current == (STEPS, 1)
    assert column(view, "mint")[0] == "open"
    press(qtbot, KEY.Key_Tab)
    assert not view.table.hasFocus()


def test_escape_leaves_a_cell_as_it_was(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS, 0)
    type_text(qtbot, "o")
    assert isinstance(QApplication.focusWidget(), QLineEdit)
    press(qtbot, KEY.Key_Escape)
    assert not view.model._document.can_undo
    assert view.table.hasFocus()


def test_f2_edits_the_cell_and_not_the_lanes_name(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS + 3, 0)
    press(qtbot, KEY.Key_F2)
    line = QApplication.focusWidget()
    assert isinstance(line, QLineEdit)
    assert line.text() == "open"
    press(qtbot, KEY.Key_Escape)


def test_a_level_that_is_not_there_changes_nothing_and_is_explained(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS, 0)
    type_text(qtbot, "ajar")
    press(qtbot, KEY.Key_Return)
    assert '"ajar" is not one of Mint\'s levels (closed, open)' in view.line.text()
    assert not view.model._document.can_undo
    press(qtbot, KEY.Key_Down)
    assert view.line.text().startswith("Type a level")


def test_lengths_are_typed_in_any_unit_and_go_back_to_usual(qtbot, view: StateTableView) -> None:
    click(qtbot, view, DWELL, 0)
    type_text(qtbot, "0.5 s")
    press(qtbot, KEY.Key_Return)
    type_text(qtbot, "10")
    press(qtbot, KEY.Key_Return)
    (opened,) = (b for b in view.model._document.project.lane("mint").blocks if b.level == "open")
    assert (opened.start_deg, opened.end_deg) == (96.0, 114.0)
    assert (shown(view, DWELL, 0).text, shown(view, MOVE, 0).text) == ("18°", "10°")
    click(qtbot, view, DWELL, 0)
    press(qtbot, KEY.Key_Delete)
    assert shown(view, DWELL, 0) == Cell("20°", quiet=True)


def test_lengths_of_a_lane_without_blocks_wait_for_them(qtbot, view: StateTableView) -> None:
    click(qtbot, view, MOVE, 1)
    type_text(qtbot, "6")
    press(qtbot, KEY.Key_Return)
    assert not view.model._document.can_undo
    assert shown(view, MOVE, 1).text == "6°"
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Return)
    (opened,) = (b for b in view.model._document.project.lane("rose").blocks if b.level == "open")
    assert (opened.start_deg, opened.end_deg) == (3.0, 27.0)


def test_no_time_is_said_with_the_numbers(qtbot, view: StateTableView) -> None:
    click(qtbot, view, MOVE, 0)
    type_text(qtbot, "200")
    press(qtbot, KEY.Key_Return)
    assert "Mint: no time for closed" in view.line.text()
    assert not view.model._document.can_undo


def test_cells_are_copied_cut_and_pasted(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS + 2, 0)
    press(qtbot, KEY.Key_Down, MOD.ShiftModifier)
    press(qtbot, KEY.Key_C, MOD.ControlModifier)
    assert QGuiApplication.clipboard().text() == "closed\nopen"
    click(qtbot, view, STEPS + 8, 1)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert column(view, "rose")[8:11] == ["closed", "open", "closed"]
    click(qtbot, view, STEPS + 9, 1)
    press(qtbot, KEY.Key_X, MOD.ControlModifier)
    assert QGuiApplication.clipboard().text() == "open"
    assert column(view, "rose") == ["closed"] * 12


COPIER = """
import sys
from PySide6.QtWidgets import QApplication, QWidget
app = QApplication([])
window = QWidget()
window.show()
app.clipboard().setText("open\\nclosed\\nopen")
app.processEvents()
print("copied", flush=True)
app.exec()
"""


@pytest.mark.display(reason="offscreen programs share no clipboard")
def test_the_first_paste_of_what_another_program_copied_is_written(qtbot, view: StateTableView) -> None:
    """A head is clicked, so that the lane is chosen, and Ctrl+V comes before Qt has heard of the copy."""
    with subprocess.Popen([sys.executable, "-c", COPIER], stdout=subprocess.PIPE) as other:
        assert other.stdout is not None
        assert other.stdout.readline() == b"copied\n"
        header = view.table.horizontalHeader()
        place = QPoint(header.sectionViewportPosition(1) + 8, 6)
        qtbot.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=place)
        press(qtbot, KEY.Key_V, MOD.ControlModifier)
        other.terminate()
    assert column(view, "rose")[:4] == ["open", "closed", "open", "closed"]


def test_cells_fill_what_is_chosen_from_its_upper_left_cell(qtbot, view: StateTableView) -> None:
    """Two cells fill four; the selection was drawn upwards, so that the current cell is another."""
    QGuiApplication.clipboard().setText("closed\nopen")
    click(qtbot, view, STEPS, 1)
    for _ in range(3):
        press(qtbot, KEY.Key_Down, MOD.ShiftModifier)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert column(view, "rose")[:5] == ["closed", "open"] * 2 + ["closed"]


def test_a_table_pasted_while_a_cell_is_typed_is_not_squeezed_into_it(qtbot, view: StateTableView) -> None:
    QGuiApplication.clipboard().setText("open\nclosed")
    click(qtbot, view, STEPS, 1)
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert column(view, "rose")[:3] == ["open", "closed", "closed"]


def test_the_whole_table_goes_to_a_spreadsheet_and_back(qtbot, view: StateTableView) -> None:
    qtbot.mouseClick(view.copy_button, Qt.MouseButton.LeftButton)
    text = QGuiApplication.clipboard().text()
    assert text.splitlines()[0] == "Step\tMint\tRose"
    QGuiApplication.clipboard().setText(text.replace("4\topen\t", "4\topen\topen"))
    click(qtbot, view, STEPS + 7, 1)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert column(view, "rose")[2:5] == ["open"] * 3  # the empty cells are as the step before
    assert column(view, "mint")[3] == "open"


def _dialog(window: MainWindow) -> StateSheetDialog:
    (dialog,) = window.findChildren(StateSheetDialog)
    return dialog


def test_a_paste_with_faults_marks_the_cells_and_lets_them_be_corrected(
    qtbot, window: MainWindow, view: StateTableView
) -> None:
    QGuiApplication.clipboard().setText("opne\topen\nclosed\tclosed")
    click(qtbot, view, STEPS, 0)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    dialog = _dialog(window)
    assert not window.document.can_undo
    assert not dialog.button(WRITE).isEnabled()
    assert dialog.button(REST).isEnabled()
    assert dialog.faults.item(0).text().startswith('Row 1, column 1: "opne" is not one of Mint\'s levels')
    assert dialog.table.item(0, 0).toolTip()
    dialog.table.item(0, 0).setText("open")
    assert dialog.faults.count() == 0
    qtbot.mouseClick(dialog.button(WRITE), Qt.MouseButton.LeftButton)
    assert column(view, "mint")[:2] == ["open", "closed"]
    assert column(view, "rose")[:2] == ["open", "closed"]


def test_a_table_is_read_from_a_file(
    qtbot, window: MainWindow, view: StateTableView, answers: Answers, tmp_path: Path
) -> None:
    answers.table = tmp_path / "table.csv"
    answers.table.write_text("Step;Rose;Musk\n1;open;open\n2;closed;open\n", "utf-8")
    qtbot.mouseClick(view.file_button, Qt.MouseButton.LeftButton)
    dialog = _dialog(window)
    assert dialog.faults.item(0).text().startswith('Row 1, column 3: there is no lane "Musk"')
    qtbot.mouseClick(dialog.button(REST), Qt.MouseButton.LeftButton)
    assert column(view, "rose") == ["open", *["closed"] * 11]
    assert window.document.undo_names == ("Write Rose in the state table",)


def test_a_file_that_cannot_be_read_is_said(qtbot, view: StateTableView, answers: Answers, tmp_path: Path):
    answers.table = tmp_path / "gone.csv"
    qtbot.mouseClick(view.file_button, Qt.MouseButton.LeftButton)
    assert view.line.text().startswith("gone.csv cannot be read")


def test_what_has_outgrown_the_table_is_shown_protected_and_rewritten_on_purpose(
    qtbot, make_window: WindowMaker
) -> None:
    window = make_window(load_project(SAMPLES / "tea_blender.shaft"))
    view, document = opened(qtbot, window), window.document
    number = document.project.lane_index["shaker"]
    cell = shown(view, STEPS + 9, number)
    assert (cell.text, cell.crowded) == ("tap, then rest", True)
    assert cell.protected
    click(qtbot, view, STEPS + 9, number)
    assert view.line.text() == "Read-only: step 10 holds tap and rest."
    type_text(qtbot, "t")
    press(qtbot, KEY.Key_Delete)
    assert not document.can_undo
    qtbot.mouseClick(view.rewrite_button, Qt.MouseButton.LeftButton)
    assert document.undo_names == ("Write Shaker again from the state table",)
    assert not shown(view, STEPS + 9, number).protected
    document.undo()
    assert shown(view, STEPS + 9, number) == cell


def test_a_visit_is_shown_typed_and_keeps_the_others_where_they_are(qtbot, make_window: WindowMaker) -> None:
    """A lane that visits a level and returns within its step; what one types changes that step alone."""
    levels = {"shut": 0.0, "cress": 5.0, "basil": 10.0}
    blocks = (("cress", 11, 16), ("shut", 26, 61), ("basil", 71, 76), ("shut", 86, 361))
    window = make_window(machine(lane("S1", *blocks, levels=levels)))
    view, document = opened(qtbot, window), window.document
    before = document.project.lanes[0].blocks
    assert shown(view, STEPS, 0) == Cell("cress, then shut", rank=1, ranks=3, now=True)
    click(qtbot, view, STEPS, 0)
    type_text(qtbot, "b,")
    assert QApplication.focusWidget().text() == "basil, then shut"
    press(qtbot, KEY.Key_Return)
    assert shown(view, STEPS, 0).text == "basil, then shut"
    after = document.project.lanes[0].blocks
    assert [(a.level, b.level) for a, b in zip(before, after, strict=True) if a != b] == [("cress", "basil")]
    press(qtbot, KEY.Key_Up)
    press(qtbot, KEY.Key_C, MOD.ControlModifier)
    press(qtbot, KEY.Key_Down)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    made = [(b.level, b.start_deg, b.end_deg) for b in document.project.lanes[0].blocks]
    assert made[2:4] == [("basil", 41.0, 46.0), ("shut", 56.0, 61.0)]
    press(qtbot, KEY.Key_Delete)
    assert (shown(view, STEPS + 1, 0).text, shown(view, STEPS + 1, 0).quiet) == ("shut", True)
    assert document.project.lanes[0].blocks == after
    assert view.line.text().startswith("Type a level")


def test_the_same_letter_again_goes_to_the_next_level(qtbot, make_window: WindowMaker) -> None:
    selector = replaced(lane("S1"), levels={"left": 0.0, "rest": 8.0, "right": 16.0})
    view = opened(qtbot, make_window(machine(selector)))
    for step, typed in enumerate(("r", "rr", "rrr", "ri", "l")):
        click(qtbot, view, STEPS + step, 0)
        type_text(qtbot, typed)
        press(qtbot, KEY.Key_Return)
    assert column(view, "s1")[:5] == ["rest", "right", "rest", "right", "left"]


def test_it_can_be_turned_and_keeps_its_place(qtbot, view: StateTableView) -> None:
    click(qtbot, view, STEPS + 3, 0)
    qtbot.mouseClick(view.turn_button, Qt.MouseButton.LeftButton)
    assert (view.model.rowCount(), view.model.columnCount()) == (2, 14)
    assert view.current == (STEPS + 3, 0)
    view.table.setFocus()
    press(qtbot, KEY.Key_Down)
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Return)
    assert column(view, "rose")[3] == "open"
    QGuiApplication.clipboard().setText("open\tclosed")
    click(qtbot, view, STEPS, 1)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert column(view, "rose")[:4] == ["open", "closed", "closed", "open"]


def test_the_step_of_the_shaft_is_marked_and_its_head_turns_the_shaft(qtbot, view: StateTableView) -> None:
    document = view.model._document
    document.set_cursor(100.0)
    assert [shown(view, STEPS + step, 0).now for step in range(12)].index(True) == 3
    header = view.table.verticalHeader()
    view.table.scrollTo(view.model.at(STEPS + 5, 0))
    place = QPoint(5, header.sectionViewportPosition(STEPS + 5) + 5)
    qtbot.mouseClick(header.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert document.cursor_deg == 150.0
    assert view.model.is_now(STEPS + 5)


def test_a_drag_in_the_diagram_and_a_new_lane_are_followed(qtbot, view: StateTableView) -> None:
    from shaftscore.edits import BlockRef, add_lane, place_block

    document = view.model._document
    document.preview(place_block(document.committed, BlockRef("mint", 0), 131.0))
    qtbot.waitUntil(lambda: shown(view, STEPS + 4, 0).text == "open")
    document.preview(None)
    assert shown(view, STEPS + 3, 0).text == "open"
    document.perform(add_lane(document.committed, "Sage", "", {"in": 0.0, "out": 4.0}))
    assert view.model.columnCount() == 3
    assert view.current is not None


def test_without_lanes_it_says_what_will_stand_here(qtbot, make_window: WindowMaker) -> None:
    window = make_window(None)
    window.docks.show("table")
    assert "One row per step" in window.docks.view(StateTableView).empty.text()
    qtbot.waitUntil(lambda: not window.docks.view(StateTableView).copy_button.isEnabled())


@pytest.mark.parametrize("typed", ["tap, then rest", "tap, rest", "rest, tap"])
def test_a_visit_may_be_typed_with_and_without_its_joiner(qtbot, typed: str) -> None:
    line = CellLine(None, ["tap", "rest"], ["tap, then rest", "rest, then tap"], ", then ")
    qtbot.addWidget(line)
    for letter in typed:
        qtbot.keyClicks(line, letter)
    assert line.text() == ("rest, then tap" if typed == "rest, tap" else "tap, then rest")


def test_a_pasted_table_offers_to_make_the_lanes_that_are_missing(qtbot, make_window: WindowMaker) -> None:
    """Asked once, with levels and heights; one step makes lanes and states, and Cancel keeps the table."""
    from shaftscore_app.dialogs.new_machine.level_sets import LevelSetsDialog

    window = make_window(None)
    window.document.new()
    window.docks.show("table")
    view = window.docks.view(StateTableView)
    text = "Step\tOne\tTwo\n1\trest\trest\n2\tleft\trest\n3\tright\tright\n4\trest\trest\n"
    QGuiApplication.clipboard().setText(text)
    qtbot.waitUntil(view.empty.button.isVisible)
    qtbot.keyClick(view.empty.button, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    (dialog,) = window.findChildren(LevelSetsDialog)
    dialog.model.write({(0, 1): "left 0, rest 8, right 16"})
    dialog.button("Create lanes").click()
    assert [lane.label for lane in window.document.committed.lanes] == ["One", "Two"]
    assert window.document.committed.lanes[0].levels == {"left": 0.0, "rest": 8.0, "right": 16.0}
    assert window.document.undo_name == "Write a table with 2 new lanes"
    window.document.undo()
    assert not window.document.committed.lanes
    view.paste()
    next(one for one in window.findChildren(LevelSetsDialog) if one.isVisible()).reject()
    assert [one for one in window.findChildren(StateSheetDialog) if one.isVisible()]


def test_digits_of_a_counter_mark_the_steps_of_their_own_turn_and_say_so(
    qtbot, make_window: WindowMaker
) -> None:
    """In cycle 4 the tens have stepped three times, so they stand in the fourth step of their turn."""
    window = make_window(load_project(SAMPLES / "tally_board.shaft"))
    view = opened(qtbot, window)
    number = next(n for n, one in enumerate(view.model.lanes) if one.id == "tens_a")
    click(qtbot, view, STEPS, number)
    assert view.line.toolTip().startswith(
        "Its shaft turns once in 10 cycles; these are the steps of its own turn"
    )

    def marked() -> list[int]:
        return [item - STEPS for item in range(STEPS, STEPS + 10) if shown(view, item, number).now]

    assert marked() == [0]
    window.document.set_cycle(4)
    assert marked() == [3]
    assert own_steps_text(window.document.project, window.document.project.lane("ones_a")) == ""
