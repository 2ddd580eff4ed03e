"""What a screen reader finds in the diagram, asked through Qt as a reader asks."""

from __future__ import annotations

import gc
from collections.abc import Iterator

import pytest
from PySide6.QtCore import QCoreApplication, QEvent
from PySide6.QtGui import QAccessible
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef, apply_edit
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.timing import accessible
from shaftscore_app.timing.widget import TimingDiagram
from tests.app.timing.machines import index_of, two_gates

pytestmark = pytest.mark.gui

Name, Role = QAccessible.Text.Name, QAccessible.Role


@pytest.fixture
def theme(qapp: QApplication) -> Iterator[Theme]:
    made = Theme(qapp, "light")
    yield made
    made.set_choice("system")
    made.leave()


@pytest.fixture
def diagram(qtbot: QtBot, theme: Theme) -> TimingDiagram:
    made = TimingDiagram(Document(two_gates()), theme)
    qtbot.addWidget(made)
    made.resize(1218, 400)
    with qtbot.waitExposed(made):
        made.show()
    return made


def test_lanes_are_rows_and_blocks_their_children(diagram: TimingDiagram) -> None:
    whole = QAccessible.queryAccessibleInterface(diagram)
    assert whole.role() == Role.Table
    assert whole.text(Name) == "Timing diagram"
    rows = [whole.child(index) for index in range(whole.childCount())]
    assert [row.role() for row in rows] == [Role.Row, Role.Row, Role.EditableText, Role.CheckBox]
    assert [row.text(Name) for row in rows[2:]] == [
        "Find lanes by name, code or group",
        "Only lanes with findings",
    ]
    assert rows[1].text(Name).startswith("Lane ")
    assert "Mint. closed 0 millimetres, open 10 millimetres. 2 blocks." in rows[1].text(Name)
    open_ = rows[1].child(index_of(diagram.document.project, "mint", "open"))
    assert open_.role() == Role.Cell
    assert open_.text(Name).startswith(
        "Mint, open, 10 millimetres, from 200 to 212 degrees, 12 degrees, block 1"
    )
    assert whole.indexOfChild(rows[1]) == 1
    assert rows[1].indexOfChild(open_) == 0
    assert open_.parent().parent() is whole
    assert whole.child(7) is None


def test_places_and_states_follow_the_diagram(diagram: TimingDiagram) -> None:
    document = diagram.document
    whole = QAccessible.queryAccessibleInterface(diagram)
    cell = whole.child(1).child(index_of(document.project, "mint", "open"))
    before = cell.rect()
    assert whole.childAt(before.center().x(), before.center().y()) is whole.child(1)
    assert whole.child(1).childAt(before.center().x(), before.center().y()) is cell
    assert not cell.state().selected
    document.select_blocks(BlockRef("mint", index_of(document.project, "mint", "open")))
    assert cell.state().selected
    assert "selected" in cell.text(Name)
    assert whole.focusChild() is cell
    document.perform(apply_edit(document.project, "place_block", ref=BlockRef("mint", 0), start_deg=250.0))
    assert cell.rect().left() > before.left()
    assert "from 250 to 262 degrees" in cell.text(Name)


def test_what_is_gone_is_not_valid(diagram: TimingDiagram) -> None:
    document = diagram.document
    whole = QAccessible.queryAccessibleInterface(diagram)
    row, cell = whole.child(1), whole.child(1).child(1)
    document.perform(apply_edit(document.project, "delete_lane", lane_id="mint"))
    assert whole.childCount() == 1 + 2  # search and filter
    assert not row.isValid()
    assert not cell.isValid()
    assert cell.text(Name) == ""
    assert cell.rect().isEmpty()


def test_a_hidden_lane_is_read_but_has_no_place(diagram: TimingDiagram) -> None:
    diagram.document.select_lane("mint")
    diagram.hide_lanes()
    row = QAccessible.queryAccessibleInterface(diagram).child(1)
    assert row.isValid()
    assert row.state().offscreen
    assert row.rect().isEmpty()


def test_parts_go_with_their_diagram(qtbot: QtBot, theme: Theme) -> None:
    made = TimingDiagram(Document(two_gates()), theme)
    QAccessible.queryAccessibleInterface(made).child(0).child(0).text(Name)
    key = id(made)
    assert key in accessible._READABLE._parts
    made.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
    assert key not in accessible._READABLE._parts
    del made
    gc.collect()
