"""What is done for many lanes at once, by real mouse and key events."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QWidget

from shaftscore.edits import BlockRef
from shaftscore.model import Load
from shaftscore.model.loader import read_project
from shaftscore_app.dialogs.form import APPLY, FormDialog
from shaftscore_app.dialogs.gates import MAKE, GatesDialog
from shaftscore_app.document.selection import Selection
from shaftscore_app.forms.listing import ListEditor
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.field import Field
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, fed_gates_file
from tests.machines import at, exclusive

KEY, MOD = Qt.Key, Qt.KeyboardModifier


@pytest.fixture
def window(qtbot, make_window: WindowMaker) -> MainWindow:
    made = make_window(read_project(as_bytes(fed_gates_file()), "fed.shaft"))
    made.activateWindow()
    qtbot.waitUntil(made.isActiveWindow)
    return made


def trigger(window: MainWindow, command: str) -> None:
    window.actions_table.refresh()
    assert window.actions_table[command].isEnabled()
    window.actions_table[command].trigger()


def form_of(window: MainWindow) -> FormDialog:
    return next(dialog for dialog in window.findChildren(FormDialog) if dialog.isVisible())


def focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def test_ctrl_d_on_a_header_duplicates_the_lane_with_its_gate_and_rule(qtbot, window: MainWindow) -> None:
    diagram, document = window.diagram, window.document
    row = diagram.frame.rows.of_lane("left")
    assert row is not None
    place = QPoint(60, round(diagram.frame.top_of(row) + row.height / 2))
    qtbot.mouseClick(diagram.viewport(), Qt.MouseButton.LeftButton, pos=place)
    assert document.selection.blocks == ()
    qtbot.keyClick(diagram, KEY.Key_D, MOD.ControlModifier)
    project = document.project
    assert [lane.label for lane in project.lanes] == ["Left", "Left 2", "Right"]
    assert document.selection.lane_ids == ("left_2",)
    assert project.flow is not None
    assert [gate.source for gate in project.flow.gates] == ["left_tube", "right_tube", "left_tube"]
    assert project.rules == (
        exclusive(at("left", "open"), at("right", "open"), at("left_2", "open"), gap_s=0.1),
    )
    qtbot.keyClick(diagram, KEY.Key_Z, MOD.ControlModifier)
    assert len(document.project.lanes) == 2


def test_selected_blocks_become_a_rule_with_one_press(qtbot, window: MainWindow) -> None:
    document = window.document
    document.select_blocks(BlockRef("left", 0))
    window.actions_table.refresh()
    assert not window.actions_table["block.rule"].isEnabled()
    document.select_blocks(BlockRef("left", 1), BlockRef("right", 0))
    trigger(window, "block.rule")
    dialog = form_of(window)
    assert isinstance(dialog.editor, ListEditor)
    assert dialog.editor.list.currentItem().text() == "Mutually exclusive: Left closed and Right open"
    qtbot.mouseClick(dialog.button(APPLY), Qt.MouseButton.LeftButton)
    assert document.project.rules[1] == exclusive(at("left", "closed"), at("right", "open"))


def test_selected_blocks_become_gates(qtbot, window: MainWindow) -> None:
    document = window.document
    document.select_blocks(BlockRef("left", 0), BlockRef("right", 1))
    trigger(window, "block.gates")
    (dialog,) = window.findChildren(GatesDialog)
    qtbot.waitUntil(dialog.source.hasFocus)
    qtbot.keyClick(dialog.source, KEY.Key_Down)
    qtbot.mouseClick(dialog.button(MAKE), Qt.MouseButton.LeftButton)
    assert document.project.flow is not None
    gates = [(gate.state, gate.source, gate.to) for gate in document.project.flow.gates]
    assert gates[0] == (at("left", "open"), "right_tube", "main_chute")
    assert gates[2] == (at("right", "closed"), "right_tube", "main_chute")
    assert document.undo_name == "Make 1 gate, update 1"


def test_one_form_of_loads_is_for_all_selected_lanes(qtbot, window: MainWindow) -> None:
    document = window.document
    document.select(Selection.of_lanes(("left", "right")))
    trigger(window, "lane.load")
    dialog = form_of(window)
    field = dialog.editor.field_at("moving_mass_g").focusProxy()
    assert isinstance(field, Field)
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "35")
    qtbot.mouseClick(dialog.button(APPLY), Qt.MouseButton.LeftButton)
    assert [lane.load for lane in document.project.lanes] == [Load(moving_mass_g=35.0)] * 2
    assert document.undo_names == ("Change the load of 2 lanes",)


def test_a_series_is_typed_for_several_lanes(qtbot, window: MainWindow) -> None:
    document = window.document
    document.select(Selection.of_lanes(("right", "left")))
    station = window.properties.lane.station
    assert isinstance(station, Field)
    station.setFocus()
    station.selectAll()
    qtbot.keyClicks(station, "90, 210, ...")
    qtbot.keyClick(station, KEY.Key_Return)
    assert station.fault == ""
    assert [lane.station_deg for lane in document.project.lanes] == [90.0, 210.0]
    document.select_lane("left")
    station.setFocus()
    station.selectAll()
    qtbot.keyClicks(station, "0, 120")
    qtbot.keyClick(station, KEY.Key_Return)
    assert station.fault
