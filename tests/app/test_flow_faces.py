"""The faces of the Flow view with their cards, by real keys and clicks."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication

from shaftscore.model import replaced
from shaftscore_app.dialogs.form import APPLY
from shaftscore_app.document.selection import Selection
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.flow_faces.gates_card import GatesCard
from shaftscore_app.views.flow_faces.part_cards import DuplicateCard, RemoveCard
from tests.app.conftest import WindowMaker
from tests.app.machines import fed_gates, gates
from tests.spice_bar import spice_bar


@pytest.fixture
def bare(make_window: WindowMaker) -> MainWindow:
    """The Spice bar without a flow, four lanes of it selected."""
    window = make_window(replaced(spice_bar("A"), flow=None))
    window.document.select(Selection.of_lanes(("a1", "a2", "a3", "a4")))
    return window


def _fed(window: MainWindow) -> MainWindow:
    window.docks.show_large("flow")
    return window


def test_from_nothing_ctrl_shift_e_makes_all_gates_in_one_step(qtbot, bare: MainWindow) -> None:
    bare.activateWindow()
    qtbot.waitUntil(bare.isActiveWindow)  # a shortcut is heard by the active window alone
    qtbot.keyClick(
        bare.diagram, Qt.Key.Key_E, Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    )
    view, document = bare.flow, bare.document
    card = view.cards.card
    assert isinstance(card, GatesCard)
    assert card.remark.text() == "A1 to A4"
    assert not card.apply.isEnabled()
    for row, keys in ((card.rows[0], 1), (card.rows[2], 1)):
        row.source.setFocus()
        for _ in range(keys):
            qtbot.keyClick(row.source, Qt.Key.Key_Down)
        assert row.item.isVisible()
    card.rows[0].called.setFocus()
    card.rows[0].called.selectAll()
    qtbot.keyClicks(card.rows[0].called, "Cumin seed")
    card.rows[2].item.setFocus()
    card.rows[2].item.selectAll()
    qtbot.keyClicks(card.rows[2].item, "coriander measure")
    assert card.said.text() == "8 gates: 8 new, 0 updated. One undo step."
    qtbot.keyClick(card.rows[2].item, Qt.Key.Key_Return)
    assert view.cards.card is None
    flow = document.project.flow
    assert flow is not None
    assert {gate.item for gate in flow.gates} == {"cumin seed", "coriander measure"}
    assert [one.id for one in (*flow.magazines, *flow.channels)] == ["Cumin_seed", "Right", "Chute"]
    assert document.undo_names == ("Gates for 4 lanes",)
    document.undo()
    assert document.project.flow is None
    qtbot.waitUntil(lambda: not view.network_face.session.network.elements)


def test_esc_closes_a_card_and_changes_nothing(qtbot, bare: MainWindow) -> None:
    bare.actions_table["lane.gates"].trigger()
    card = bare.flow.cards.card
    assert isinstance(card, GatesCard)
    qtbot.keyClick(card.rows[0].source, Qt.Key.Key_Escape)
    assert bare.flow.cards.card is None
    assert not bare.document.can_undo


def test_faces_share_the_run_and_the_selection(qtbot, make_window: WindowMaker) -> None:
    window = _fed(make_window(fed_gates()))
    view = window.flow
    key = ("magazine", "left_store") if _has(window, "left_store") else ("magazine", _first_magazine(window))
    view.network_face.session.select([key])
    qtbot.waitUntil(lambda: view.below.run is not None)
    run = view.below.run
    assert run is not None
    assert run.turns == 16
    # By hand (see the test of the counts): empty in turn 3, and the feed gives every other item from then on.
    assert run.first_empty is not None
    assert int(run.first_empty.at) + 1 == 3
    view.switch.turns.setFocus()
    view.switch.turns.selectAll()
    qtbot.keyClicks(view.switch.turns, "24")
    qtbot.keyClick(view.switch.turns, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: view.below.run is not None and view.below.run.turns == 24)
    qtbot.mouseClick(view.switch.buttons["Counts"], Qt.MouseButton.LeftButton)
    assert view.picture is not None
    assert view.picture.last_turn == 24
    assert not view.below.isVisible()
    qtbot.mouseClick(view.switch.buttons["Table"], Qt.MouseButton.LeftButton)
    assert view.table.isVisible()


def _has(window: MainWindow, own: str) -> bool:
    flow = window.document.project.flow
    return flow is not None and any(one.id == own for one in flow.magazines)


def _first_magazine(window: MainWindow) -> str:
    flow = window.document.project.flow
    assert flow is not None
    return flow.magazines[0].id


def test_a_click_on_an_opening_puts_the_cursor_there(qtbot, make_window: WindowMaker) -> None:
    window = _fed(make_window(fed_gates()))
    view, below = window.flow, window.flow.below
    view.network_face.session.select([("magazine", _first_magazine(window))])
    qtbot.waitUntil(below.isVisible)
    assert below.run is not None
    opening = below.run.first_empty
    assert opening is not None
    place = QPoint(round(below.x_of(opening.at)), round(below.plot.center().y()))
    qtbot.mouseClick(below, Qt.MouseButton.LeftButton, pos=place)
    assert window.document.cursor_deg == pytest.approx(opening.deg)
    qtbot.keyClick(below, Qt.Key.Key_Right)
    after = below.run.openings[below.run.openings.index(opening) + 1]
    assert window.document.cursor_deg == pytest.approx(after.deg)
    assert below.accessibleDescription() == after.text


def test_removing_what_others_use_names_them_first(qtbot, make_window: WindowMaker) -> None:
    window = _fed(make_window(fed_gates()))
    view, key = window.flow, ("magazine", _first_magazine(window))
    view.remove([key])
    card = view.cards.card
    assert isinstance(card, RemoveCard)
    assert card.make.text() == "Remove with 1 gate"
    qtbot.mouseClick(card.make, Qt.MouseButton.LeftButton)
    assert not _has(window, key[1])
    assert len(window.document.undo_names) == 1


def test_duplicate_asks_for_the_lanes_and_selects_the_copies(qtbot, make_window: WindowMaker) -> None:
    window = _fed(make_window(spice_bar("A")))
    view = window.flow
    view.ask_duplicate([("gate", "a1-left"), ("magazine", "m0")])
    card = view.cards.card
    assert isinstance(card, DuplicateCard)
    assert card.lanes["a1"].given() == "a2"
    qtbot.mouseClick(card.make, Qt.MouseButton.LeftButton)
    copies = {("gate", "A2_left"), ("magazine", "M0_A2")}
    qtbot.waitUntil(lambda: set(view.network_face.session.selected) == copies)


def test_cells_of_the_table_are_typed_and_pasted_as_one_step_each(qtbot, make_window: WindowMaker) -> None:
    window = _fed(make_window(fed_gates()))
    view, document = window.flow, window.document
    view.show_face("Table")
    grid, model = view.table.grid, view.table.model
    heads = [model.headerData(n, Qt.Orientation.Horizontal) for n in range(model.columnCount())]
    supply, rate = 0, heads.index("Rate, per min")

    def go_to(row: int, column: int) -> None:
        place = grid.visualRect(model.index(row, column)).center()
        qtbot.mouseClick(grid.viewport(), Qt.MouseButton.LeftButton, pos=place)

    for text in ("7", "2 per s"):
        go_to(supply, rate)
        qtbot.keyClicks(grid, text[0])
        editor = grid.focusWidget() if grid.focusWidget() is not grid else QGuiApplication.focusObject()
        qtbot.keyClicks(editor, text[1:])
        qtbot.keyClick(editor, Qt.Key.Key_Return)
    assert document.project.flow is not None
    assert document.project.flow.supplies[0].rate_per_min == 120.0
    assert len(document.undo_names) == 2
    go_to(supply, heads.index("Name"))
    QGuiApplication.clipboard().setText("Big hopper")
    qtbot.keyClick(grid, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    flow = document.project.flow
    assert flow is not None
    assert flow.supplies[0].id == "Big_hopper"
    assert any(one.source == "Big_hopper" for one in flow.magazines)
    row = next(n for n, key in enumerate(model.keys) if key[0] == "magazine")
    go_to(row, heads.index("Capacity"))
    QGuiApplication.clipboard().setText("many")
    qtbot.keyClick(grid, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert "Capacity" in view.table.hint.text()
    assert document.project.flow is flow


def test_ok_on_an_empty_flow_form_makes_no_step(qtbot, make_window: WindowMaker) -> None:
    window = make_window(gates())
    dialog = window.groups.machine.open_form("machine.flow")
    qtbot.mouseClick(dialog.button(APPLY), Qt.MouseButton.LeftButton)
    assert not window.document.can_undo
    assert window.document.project.flow is None
