"""Views that are made when they are first in front or asked for."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QPushButton
from pytestqt.qtbot import QtBot

from shaftscore.edits import apply_edit
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.bring_up import BringUpView
from shaftscore_app.views.operation import OperationView
from shaftscore_app.views.program import ProgramView
from shaftscore_app.views.properties.block import BlockSection
from shaftscore_app.views.properties.lane import LaneSection
from shaftscore_app.views.properties.machine import MachineSection
from shaftscore_app.views.properties.several import SeveralSection
from shaftscore_app.views.state_table import StateTableView
from shaftscore_app.views.table import VIEWS
from tests.app.conftest import WindowMaker

CLOSED = tuple(row.name for row in VIEWS if not row.is_open)


def test_what_is_closed_is_not_made_until_it_is_opened(qtbot: QtBot, window: MainWindow) -> None:
    docks = window.docks
    qtbot.waitUntil(lambda: docks.late.is_made("findings") and docks.late.is_made("load"))
    assert CLOSED
    assert not any(map(docks.late.is_made, (*CLOSED, "stack", "table")))
    for name in CLOSED:
        docks.show(name)
        assert docks.late.is_made(name)
        qtbot.waitUntil(docks[name].widget().isVisible)


@pytest.mark.parametrize("row", VIEWS, ids=lambda row: row.name)
def test_each_row_names_the_class_that_it_makes(window: MainWindow, row) -> None:
    window.docks.show(row.name)
    made = window.docks[row.name].widget()
    assert type(made).__name__ == row.kind
    assert window.docks.view(type(made)) is made


def test_a_view_that_no_dock_holds_is_an_error(window: MainWindow) -> None:
    with pytest.raises(KeyError, match="QPushButton"):
        window.docks.view(QPushButton)


def test_a_late_view_shows_what_was_edited_before(qtbot: QtBot, window: MainWindow) -> None:
    document, docks = window.document, window.docks
    lane = document.committed.lanes[0]
    document.perform(apply_edit(document.committed, "rename_lane", lane_id=lane.id, name="Barrier of tea"))
    docks.show("table")
    table = docks.view(StateTableView)
    assert [lane.name for lane in table.model.lanes] == [lane.name for lane in document.project.lanes]
    assert "Barrier of tea" in [lane.name for lane in table.model.lanes]
    docks.show("bring_up")
    assert docks.view(BringUpView).session.project is document.project
    docks.show("program")
    assert docks.view(ProgramView).session.project is document.committed
    docks.show("operation")
    operation = docks.view(OperationView)
    qtbot.waitUntil(lambda: operation.result is not None and operation.result.report is document.report)


def test_what_waits_for_a_view_is_told_once(window: MainWindow) -> None:
    told: list[object] = []
    window.docks.late.when_made("operation", told.append)
    assert not told
    view = window.docks.view(OperationView)
    window.docks.show("operation")
    assert told == [view]
    window.docks.late.when_made("operation", told.append)
    assert told == [view, view]


def test_a_late_view_is_joined_to_the_window(window: MainWindow) -> None:
    window.docks.show("operation")
    window.docks.view(OperationView).status_message.emit("A word from the view")
    assert window.status._held.whole_text == "A word from the view"


def test_a_window_closes_though_a_view_was_never_made(make_window: WindowMaker) -> None:
    window = make_window(None)
    assert not window.has_unapplied
    assert not window.docks.late.is_made("program")
    window.close()
    assert not window.isVisible()


def test_a_section_of_properties_is_made_when_it_is_first_wanted(window: MainWindow) -> None:
    sections = (LaneSection, BlockSection, SeveralSection)
    properties = window.properties
    assert len(properties.findChildren(MachineSection)) == 1
    assert not any(map(properties.findChildren, sections))
    window.document.select_lane(window.document.project.lanes[0].id)
    assert properties.section is properties.findChild(LaneSection)
    assert properties.section.isVisible()
    assert not properties.machine.isVisible()
    assert not any(map(properties.findChildren, (BlockSection, SeveralSection)))
