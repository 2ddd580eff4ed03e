"""The assistant for a new machine, by real mouse and key events: a maker builds twelve lanes with it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from shaftscore.edits.state_table import filled, read_states
from shaftscore.judge.findings import Severity
from shaftscore.model import TranslatingFlat
from shaftscore_app.dialogs.files import UnsavedDialog
from shaftscore_app.dialogs.new_machine import NewMachine
from shaftscore_app.dialogs.new_machine.assistant import (
    BACK,
    LANES,
    MACHINE,
    MAKE,
    NEXT,
    PARTS,
    PROGRAM,
    STATES,
)
from shaftscore_app.dialogs.new_machine.level_sets import TAKE, LevelSetsDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.program import ProgramView
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.views.state_table_model import STEPS
from tests.app.conftest import Answers, WindowMaker, repeat_until

KEY, MOD = Qt.Key, Qt.KeyboardModifier


def focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def press(qtbot, key: Qt.Key, modifier: Qt.KeyboardModifier = MOD.NoModifier) -> None:
    qtbot.keyClick(focus(), key, modifier)


def type_text(qtbot, text: str) -> None:
    for letter in text:
        qtbot.keyClicks(focus(), letter)


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    return make_window(None)


@pytest.fixture
def assistant(qtbot, window: MainWindow) -> NewMachine:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    qtbot.keyClick(window, KEY.Key_N, MOD.ControlModifier)
    (dialog,) = window.findChildren(NewMachine)
    qtbot.waitUntil(dialog.isActiveWindow)
    qtbot.waitUntil(dialog.machine.name.hasFocus)
    return dialog


def test_a_maker_builds_a_program_of_twelve_lanes_with_the_keyboard_alone(
    qtbot, window: MainWindow, assistant: NewMachine
) -> None:
    """Name, twelve lanes in three groups, and every state: each by what people would press."""
    keys = 0

    def typed(text: str) -> None:
        nonlocal keys
        keys += len(text)
        type_text(qtbot, text)

    def pressed(key: Qt.Key, modifier: Qt.KeyboardModifier = MOD.NoModifier) -> None:
        nonlocal keys
        keys += 1
        press(qtbot, key, modifier)

    def tab_to(text: str) -> None:
        repeat_until(lambda: getattr(focus(), "text", str)() == text, lambda: pressed(KEY.Key_Tab))

    typed("Bell frame")
    pressed(KEY.Key_Return)  # Next
    assert assistant.page == LANES
    for number in range(1, 13):
        typed(f"Bell {number}")
        pressed(KEY.Key_Return)
    for _ in range(12):
        pressed(KEY.Key_Up)
    pressed(KEY.Key_Right)
    pressed(KEY.Key_Right)
    for _ in range(11):
        pressed(KEY.Key_Down, MOD.ShiftModifier)
    typed("rest 0, strike 8")  # all twelve chosen cells at once
    pressed(KEY.Key_Return)
    pressed(KEY.Key_Tab)
    tab_to(NEXT)
    pressed(KEY.Key_Space)
    assert (assistant.page, assistant.fault) == (PARTS, "")
    pressed(KEY.Key_Tab)
    tab_to(NEXT)
    pressed(KEY.Key_Space)
    assert (assistant.page, assistant.fault) == (STATES, "")
    table = assistant.table
    assert table is not None
    assert table.current == (STEPS, 0)
    for lane in range(12):
        typed("s")  # Bell n strikes in step n; everything else rests
        pressed(KEY.Key_Return)
        if lane < 11:
            pressed(KEY.Key_Right)
    pressed(KEY.Key_Tab)
    tab_to(MAKE)
    pressed(KEY.Key_Space)
    project = window.document.project
    assert project.name == "Bell frame"
    assert [lane.label for lane in project.lanes] == [f"Bell {number}" for number in range(1, 13)]
    for number, lane in enumerate(project.lanes):
        levels = filled(read_states(project, lane).column)
        assert [step for step, level in enumerate(levels) if level == "strike"] == [number]
        assert dict(lane.levels) == {"rest": 0.0, "strike": 8.0}
    report = window.document.report
    assert [finding for finding in report.findings if finding.severity is Severity.ERROR] == []
    assert window.document.is_modified
    assert window.centre.currentWidget() is window.diagram
    # An unhurried keystroke a second: far under the ten minutes that a maker shall need at most.
    assert keys < 300


def test_tab_types_on_from_cell_to_cell_and_leaves_an_empty_row(qtbot, assistant: NewMachine) -> None:
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    grid, model = assistant.lanes.grid, assistant.lanes.model
    grid.setFocus()
    for text in ("Flap", "", "tray 0, cup 8", "Gate", "Bank", "shut, open"):
        if text:
            type_text(qtbot, text)
        press(qtbot, KEY.Key_Tab)
    assert [(one.name, one.group, list(one.levels)) for one in model.lanes()] == [
        ("Flap", "", ["tray", "cup"]),
        ("Gate", "Bank", ["shut", "open"]),
    ]
    at = grid.currentIndex()
    assert (at.row(), at.column()) == (2, 0)
    press(qtbot, KEY.Key_Backtab)
    at = grid.currentIndex()
    assert (at.row(), at.column()) == (1, 2)
    assert QApplication.focusWidget() is grid
    press(qtbot, KEY.Key_Tab)
    press(qtbot, KEY.Key_Tab)  # nothing stands in this row: Tab leaves the grid
    assert QApplication.focusWidget() is not grid


def test_next_waits_for_lanes_and_says_what_is_wrong(qtbot, assistant: NewMachine) -> None:
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    assert assistant.page == LANES
    assert assistant.fault.startswith("Type the name of a lane first")
    assistant.lanes.grid.setFocus()
    type_text(qtbot, "Flap")
    press(qtbot, KEY.Key_Tab)
    press(qtbot, KEY.Key_Right)
    type_text(qtbot, "tray 0, cup")
    press(qtbot, KEY.Key_Return)
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    assert assistant.page == LANES
    assert assistant.fault.startswith("Flap: give every level a height, or none of them")


def test_going_back_keeps_what_was_written_of_unchanged_lanes(qtbot, assistant: NewMachine) -> None:
    assistant.lanes.model.write({(0, 0): "Left", (1, 0): "Right"})
    for _ in range(3):
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    table = assistant.table
    assert table is not None
    table.table.setFocus()
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Return)
    for _ in range(2):
        qtbot.mouseClick(assistant.button(BACK), Qt.MouseButton.LeftButton)
    assert assistant.page == LANES
    assistant.lanes.model.write({(1, 0): "Middle", (2, 0): "Right"})
    for _ in range(2):
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    table = assistant.table
    assert table is not None
    assert [lane.label for lane in table.model.lanes] == ["Left", "Middle", "Right"]
    assert table.model.cell(STEPS, 0).text == "open"
    assert table.model.cell(STEPS, 1).text == ""


def test_undo_takes_back_states_within_the_assistant(qtbot, assistant: NewMachine) -> None:
    assistant.lanes.model.write({(0, 0): "Left"})
    for _ in range(3):
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    table = assistant.table
    assert table is not None
    table.table.setFocus()
    type_text(qtbot, "o")
    press(qtbot, KEY.Key_Return)
    assert table.model.cell(STEPS, 0).text == "open"
    press(qtbot, KEY.Key_Z, MOD.ControlModifier)
    assert table.model.cell(STEPS, 0).text == ""
    press(qtbot, KEY.Key_Z, MOD.ControlModifier | MOD.ShiftModifier)
    assert table.model.cell(STEPS, 0).text == "open"


TABLE = "Step\tAssam\tFlap\n1 Cup in\tclosed\tshut\n2 Fill\topen\tcup\n3 Out\tclosed\ttray\n"


def levels_asked(qtbot, assistant: NewMachine) -> LevelSetsDialog:
    (dialog,) = assistant.findChildren(LevelSetsDialog)
    qtbot.waitUntil(dialog.isActiveWindow)
    qtbot.waitUntil(dialog.grid.hasFocus)
    return dialog


def test_a_table_pasted_into_the_grid_of_lanes_is_not_cut_to_its_columns(
    qtbot, assistant: NewMachine
) -> None:
    """Ctrl+V on the first cell, and into a cell that is being typed: both ask about the levels."""
    heads = "\t".join(f"S{number}" for number in range(1, 13))
    words = ("rest", "left", "right")
    steps = [[str(step), *(words[(lane * step) % 3] for lane in range(1, 13))] for step in (1, 2, 3)]
    rows = ["\t".join(cells) for cells in steps]
    QGuiApplication.clipboard().setText("\n".join([f"Step\t{heads}", *rows]))
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    asked = levels_asked(qtbot, assistant)
    assert [row for row in asked.model.texts() if row[0]] == [
        ["S1, S2, S3 and 9 more", "left 0, right 8, rest 16"]
    ]
    press(qtbot, KEY.Key_Escape)
    assert assistant.lanes.model.lanes() == ()
    assistant.activateWindow()
    qtbot.waitUntil(assistant.isActiveWindow)
    assistant.lanes.grid.setFocus()
    type_text(qtbot, "S")
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    (asked,) = [dialog for dialog in assistant.findChildren(LevelSetsDialog) if dialog.isVisible()]
    qtbot.waitUntil(asked.grid.hasFocus)
    type_text(qtbot, "left 0, rest 8, right 16")
    press(qtbot, KEY.Key_Return)
    qtbot.mouseClick(asked.button(TAKE), Qt.MouseButton.LeftButton)
    wishes = assistant.wishes()
    wanted = {"left": 0, "rest": 8, "right": 16}
    assert all(list(lane.levels.items()) == list(wanted.items()) for lane in wishes.lanes)
    assert [lane.name for lane in wishes.lanes] == [f"S{number}" for number in range(1, 13)]
    assert wishes.steps == 3


def test_a_levels_cell_is_pasted_over_all_chosen_rows_and_taken_back(qtbot, assistant: NewMachine) -> None:
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    model, levels = assistant.lanes.model, "left 0, rest 8, right 16"
    model.write({(0, 0): "S1", (0, 2): levels, (1, 0): "S2", (2, 0): "S3"})
    for key in (KEY.Key_Right, KEY.Key_Right):
        press(qtbot, key)
    press(qtbot, KEY.Key_C, MOD.ControlModifier)
    press(qtbot, KEY.Key_Down)
    press(qtbot, KEY.Key_Down, MOD.ShiftModifier)
    press(qtbot, KEY.Key_V, MOD.ControlModifier)
    assert [row[2] for row in model.texts()[:4]] == [levels] * 3 + [""]
    press(qtbot, KEY.Key_Z, MOD.ControlModifier)
    assert [row[2] for row in model.texts()[:3]] == [levels, "", ""]
    assert assistant.lanes.grid.currentIndex().column() == 2
    press(qtbot, KEY.Key_Y, MOD.ControlModifier)
    assert [row[2] for row in model.texts()[:3]] == [levels] * 3


def test_states_stay_when_levels_are_edited_and_losing_some_is_asked(qtbot, assistant: NewMachine) -> None:
    lanes = {(row, 0): f"S{row + 1}" for row in range(3)} | {(row, 2): "rest, left" for row in range(3)}
    assistant.lanes.model.write(lanes)
    for _ in range(3):
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    table = assistant.table
    assert table is not None
    press(qtbot, KEY.Key_Right, MOD.ShiftModifier)
    press(qtbot, KEY.Key_Right, MOD.ShiftModifier)
    type_text(qtbot, "l")
    press(qtbot, KEY.Key_Return)
    for _ in range(2):
        qtbot.mouseClick(assistant.button(BACK), Qt.MouseButton.LeftButton)
    assistant.lanes.model.write({(row, 2): "left 0, rest 8, right 16" for row in range(2)})
    assistant.lanes.model.write({(2, 2): "rest"})
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    assert assistant.page == LANES
    assert "States would be lost: S3: left in step 1." in assistant.fault
    for _ in range(2):
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    table = assistant.table
    assert table is not None
    assert [table.model.cell(STEPS, lane).text for lane in range(3)] == ["left", "left", "rest"]


def test_a_table_from_a_spreadsheet_is_a_machine(qtbot, window: MainWindow, assistant: NewMachine) -> None:
    QGuiApplication.clipboard().setText(TABLE)
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    qtbot.mouseClick(assistant.lanes.paste_button, Qt.MouseButton.LeftButton)
    assert assistant.fault == ""
    asked = levels_asked(qtbot, assistant)
    assert asked.model.texts()[:2] == [
        ["Assam", "closed 0, open 10"],
        ["Flap", "shut 0, cup 8, tray 16"],
    ]
    press(qtbot, KEY.Key_Down)
    type_text(qtbot, "tray 0, shut 9")
    press(qtbot, KEY.Key_Return)
    qtbot.mouseClick(asked.button(TAKE), Qt.MouseButton.LeftButton)
    assert '"cup" is not one of Flap' in asked.fault
    asked.grid.setFocus()
    press(qtbot, KEY.Key_Up)
    type_text(qtbot, "tray 0, shut 9, cup 17")
    press(qtbot, KEY.Key_Return)
    qtbot.mouseClick(asked.button(TAKE), Qt.MouseButton.LeftButton)
    assert assistant.machine.step_names() == ("Cup in", "Fill", "Out")
    qtbot.mouseClick(assistant.button(MAKE), Qt.MouseButton.LeftButton)
    project = window.document.project
    assert [(lane.label, *lane.levels) for lane in project.lanes] == [
        ("Assam", "closed", "open"),
        ("Flap", "tray", "shut", "cup"),
    ]
    assert filled(read_states(project, project.lane("flap")).column) == ("shut", "cup", "tray")


def test_a_table_from_a_file_and_one_that_is_none(
    qtbot, assistant: NewMachine, answers: Answers, tmp_path: Path
) -> None:
    answers.table = tmp_path / "table.csv"
    qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    qtbot.mouseClick(assistant.lanes.file_button, Qt.MouseButton.LeftButton)
    assert assistant.fault.startswith("table.csv cannot be read")
    answers.table.write_text("alone", "utf-8")
    qtbot.mouseClick(assistant.lanes.file_button, Qt.MouseButton.LeftButton)
    assert assistant.fault.startswith("A table has a row of lanes")
    answers.table.write_text(TABLE.replace("\t", ";"), "utf-8")
    qtbot.mouseClick(assistant.lanes.file_button, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(levels_asked(qtbot, assistant).button(TAKE), Qt.MouseButton.LeftButton)
    assert [wish.name for wish in assistant.wishes().lanes] == ["Assam", "Flap"]


def test_the_program_maker_goes_on_where_the_assistant_ends(
    qtbot, window: MainWindow, assistant: NewMachine
) -> None:
    assistant.begin_with_table(TABLE)
    qtbot.mouseClick(levels_asked(qtbot, assistant).button(TAKE), Qt.MouseButton.LeftButton)
    for _ in range(3):
        assert not assistant.button(PROGRAM).isVisible()
        qtbot.mouseClick(assistant.button(NEXT), Qt.MouseButton.LeftButton)
    qtbot.mouseClick(assistant.button(PROGRAM), Qt.MouseButton.LeftButton)
    view = window.docks.view(ProgramView)
    qtbot.waitUntil(lambda: view.isVisible() and len(view.session.draft.grid.lanes) == 2)
    assert [frame.name for frame in view.session.draft.frames] == ["Cup in", "Fill", "Out"]
    assert not view.is_unapplied


def test_a_sample_is_a_template(qtbot, window: MainWindow, assistant: NewMachine) -> None:
    assistant.machine.name.setText("My theatre")
    choice = assistant.machine.begin
    index = next(i for i, option in enumerate(choice.options()) if option.value == "Paper theatre")
    choice.setCurrentIndex(index)
    choice.activated.emit(index)
    assert not assistant.button(NEXT).isEnabled()
    qtbot.mouseClick(assistant.button(MAKE), Qt.MouseButton.LeftButton)
    assert window.document.project.name == "My theatre"
    assert len(window.document.project.lanes) == 7


def test_parts_hold_for_all_lanes(qtbot, window: MainWindow, assistant: NewMachine) -> None:
    assistant.lanes.model.write({(0, 0): "Left", (1, 0): "Right"})
    parts = assistant.parts
    parts.follower.set_shown("translating-flat")
    parts.follower.chosen.emit("translating-flat")
    assert not parts.radius.isVisibleTo(parts)
    assert parts.face.isVisibleTo(parts)
    parts.thickness.set_shown(6.0)
    qtbot.mouseClick(assistant.button(MAKE), Qt.MouseButton.LeftButton)
    lanes = window.document.project.lanes
    assert {type(lane.follower) for lane in lanes} == {TranslatingFlat}
    assert {lane.disc.thickness_mm for lane in lanes} == {6.0}
    qtbot.waitUntil(
        window.docks.view(StateTableView).table.hasFocus
    )  # nothing is written yet: the table asks for it


def test_leaving_asks_once_where_something_was_written(qtbot, assistant: NewMachine) -> None:
    assistant.lanes.model.write({(0, 0): "Left"})
    press(qtbot, KEY.Key_Escape)
    assert assistant.isVisible()
    assert "will be lost" in assistant.fault
    press(qtbot, KEY.Key_Escape)
    assert not assistant.isVisible()


def test_an_empty_machine_can_be_made_and_the_old_one_is_asked_about(qtbot, window: MainWindow) -> None:
    window.start_page.new.click()
    (dialog,) = window.findChildren(NewMachine)
    qtbot.mouseClick(dialog.button(MAKE), Qt.MouseButton.LeftButton)
    assert window.document.is_started
    assert not window.document.is_modified
    from shaftscore.edits import add_lane

    window.document.perform(add_lane(window.document.committed, "Left", "", {"in": 0.0}))
    window.actions_table["file.new"].trigger()
    assert window.findChildren(UnsavedDialog)
    assert assistant_pages(window) == []


def assistant_pages(window: MainWindow) -> list[int]:
    return [dialog.page for dialog in window.findChildren(NewMachine) if dialog.isVisible()]


def test_it_begins_with_its_first_page(assistant: NewMachine) -> None:
    assert assistant.page == MACHINE
    assert assistant.machine.cycle.text() == "A turn takes 10.0 s, a step 833 ms"
