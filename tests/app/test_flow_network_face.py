"""The Network face, driven by real mouse and keys: selecting, joining, adding, naming, folding, reading."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAccessible, QPainter, QPixmap
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QMenu
from pytestqt.qtbot import QtBot

from shaftscore.edits import set_flow
from shaftscore.edits.base import changed
from shaftscore.judge.flow.drawn import ElementKey, ElementKind, FlowElement, JudgedFlow, flow_network
from shaftscore.model import Gate, LevelState, Magazine
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.views.flow_network.boxes import BoxPainter
from shaftscore_app.views.flow_network.face import NetworkFace
from shaftscore_app.views.flow_network.places import Box
from shaftscore_app.widgets.menu import Menu
from tests.app.conftest import WindowMaker
from tests.app.starved_bar import drawn, starved_bar

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CTRL, SHIFT = Qt.KeyboardModifier.ControlModifier, Qt.KeyboardModifier.ShiftModifier
Keys = Qt.Key

A4, A1 = ("gate", "a4_right"), ("gate", "a1_right")


@pytest.fixture
def face(qtbot: QtBot, theme: Theme) -> NetworkFace:
    """Show the bar with two banks open."""
    document = Document(starved_bar())
    made = NetworkFace(document, theme, drawn(document)[0])
    document.report_changed.connect(lambda: made.show_network(*drawn(document)))
    made.show_network(*drawn(document))
    made.resize(1600, 720)
    qtbot.addWidget(made)
    made.show()
    made.activateWindow()
    made.canvas.setFocus()
    for bank in ("Earth bank", "Red bank"):
        made.session.set_open(bank, is_open=True)
    QApplication.processEvents()
    return made


def at(face: NetworkFace, key: ElementKey, side: str = "") -> QPoint:
    """Return a place of an element in the viewport: its middle, or its port on a side."""
    canvas = face.canvas
    box = canvas.places.boxes[key]
    x = {"": box.left + box.width / 2, "out": box.right, "in": box.left}[side]
    return QPoint(round(x), round(box.middle)) - canvas.origin


def click(face: NetworkFace, key: ElementKey, mods: Qt.KeyboardModifier = NONE) -> None:
    QTest.mouseClick(face.canvas.viewport(), LEFT, mods, at(face, key))


def drag(face: NetworkFace, start: QPoint, end: QPoint) -> None:
    view = face.canvas.viewport()
    QTest.mouseMove(view, start)
    QTest.mousePress(view, LEFT, NONE, start)
    for part in (0.3, 0.6, 1.0):
        QTest.mouseMove(view, start + (end - start) * part)
    QTest.mouseRelease(view, LEFT, NONE, end)


def press(face: NetworkFace, *keys: Qt.Key, mods: Qt.KeyboardModifier = NONE) -> None:
    for key in keys:
        QTest.keyClick(face.canvas, key, mods)


def inner(menu: QMenu, place: int) -> QMenu:
    """Return the menu that an item of a menu opens."""
    found = menu.actions()[place].menu()
    assert isinstance(found, QMenu)
    return found


def flow_of(face: NetworkFace) -> tuple[dict[str, str | None], dict[str, str | None]]:
    """Return what fills each magazine, and where each gate leads."""
    flow = face.doing._flow
    return {m.id: m.source for m in flow.magazines}, {g.id: g.to for g in flow.gates}


def test_selecting_selects_the_lane_and_moves_nothing(face: NetworkFace) -> None:
    document, session = face.canvas.session.document, face.session
    click(face, A4)
    assert (session.selected, document.selection.lane_ids) == ((A4,), ("a4",))
    assert (document.cursor_deg, document.can_undo) == (0.0, False)
    assert face.fields.title.text() == "Gate A4 right"
    click(face, A1, CTRL)
    assert set(document.selection.lane_ids) == {"a1", "a4"}
    press(face, Keys.Key_Left)
    assert session.selected == (("magazine", "coriander"),)
    press(face, Keys.Key_Down, Keys.Key_Down, mods=SHIFT)
    assert len(session.selected) == 2
    press(face, Keys.Key_Escape)
    assert session.selected == ()
    row = face.canvas.places.boxes["magazine", "paprika"]
    drag(face, QPoint(round(row.left) - 12, round(row.top)), QPoint(round(row.right), round(row.bottom)))
    assert session.selected == (("magazine", "paprika"),)


def test_a_port_is_joined_by_mouse_and_by_keys_in_one_step(face: NetworkFace) -> None:
    document = face.session.document
    hopper, coriander = ("supply", "cumin_hopper"), ("magazine", "coriander")
    drag(face, at(face, hopper, "out"), at(face, A4))  # a gate does not fit
    assert not document.can_undo
    drag(face, at(face, hopper, "out"), at(face, coriander))
    assert flow_of(face)[0]["coriander"] == "cumin_hopper"
    document.undo()
    drag(face, at(face, coriander, "in"), at(face, hopper))  # the other way round
    assert flow_of(face)[0]["coriander"] == "cumin_hopper"
    document.undo()
    click(face, A4)
    press(face, Keys.Key_C, Keys.Key_Escape)
    assert face.session.selected == (A4,)
    press(face, Keys.Key_C)
    fitting = face.canvas.joining.fitting(face.canvas.joining.line.port)  # type: ignore[union-attr]
    while face.canvas.joining.line.target != ("outlet", "bin"):  # type: ignore[union-attr]
        press(face, Keys.Key_Right)
    assert fitting == {("channel", "chute"), ("outlet", "jar"), ("outlet", "bin")} | {
        ("magazine", own) for own in flow_of(face)[0] if own != "coriander"
    }
    press(face, Keys.Key_Return)
    assert flow_of(face)[1]["a4_right"] == "bin"
    document.undo()
    assert not document.can_undo


def test_what_is_added_is_named_at_once_and_what_stands_where_a_line_ends_is_offered(
    face: NetworkFace, qtbot: QtBot
) -> None:
    session, canvas = face.session, face.canvas
    adder = canvas.adders[1]
    QTest.mouseClick(canvas.viewport(), LEFT, NONE, QPoint(round(adder.left) + 5, round(adder.middle)))
    assert canvas.name.isVisible()
    QTest.keyClicks(canvas.name, "Rock salt")
    QTest.keyClick(canvas.name, Keys.Key_Return)
    assert session.one is not None
    assert session.one.name == "Rock salt"
    salt = session.one.key
    press(face, Keys.Key_F2)
    QTest.keyClicks(canvas.name, "Nothing")
    QTest.keyClick(canvas.name, Keys.Key_Escape)
    assert session.selected == (salt,)
    ground = QPoint(at(face, ("channel", "chute")).x(), canvas.viewport().height() - 20)
    drag(face, at(face, salt, "out"), ground)
    menu = QApplication.activePopupWidget()
    assert isinstance(menu, Menu)
    assert [action.text() for action in menu.actions()] == ["New gate on"]
    lanes = inner(menu, 0)
    lanes.aboutToShow.emit()
    assert lanes.actions()[0].text() == "A1 Selector A1"
    inner(lanes, 0).actions()[2].trigger()
    menu.close()
    made = face.doing._flow.gates[-1]
    assert (made.source, made.state) == (salt[1], LevelState(lane="a1", level="right"))
    assert session.selected == (("gate", made.id),)


def test_fields_are_entered_as_one_step_and_say_what_is_wrong(face: NetworkFace, qtbot: QtBot) -> None:
    document = face.session.document
    click(face, ("magazine", "coriander"))
    press(face, Keys.Key_Return)
    form = face.fields.form
    assert form is not None
    capacity, start = form.row("capacity"), form.row("start_count")
    lines = [row.editor.findChildren(QLineEdit)[0] for row in (capacity, start)]
    for line, typed in zip(lines, ("12", "20"), strict=True):
        line.setFocus()
        line.selectAll()
        QTest.keyClicks(line, typed)
        QTest.keyClick(line, Keys.Key_Return)
        QApplication.processEvents()
    assert document.undo_name == "Change magazine Coriander"
    assert document.committed.flow is not None
    assert [m.capacity for m in document.committed.flow.magazines if m.id == "coriander"] == [12]
    assert "20 is over the capacity of 12" in start.said.text()
    QTest.keyClick(lines[1], Keys.Key_Escape)
    assert lines[1].text() == "6"
    assert not start.said.text()


def test_banks_fold_by_keys_and_piles_open(face: NetworkFace) -> None:
    session = face.session
    click(face, ("magazine", "cumin"))
    press(face, Keys.Key_Up, Keys.Key_Left)
    assert "Earth bank" not in session.open_banks
    pile = next(one.key for one in face.canvas.places.shown.elements if one.kind is ElementKind.PILE)
    QTest.mouseDClick(face.canvas.viewport(), LEFT, NONE, at(face, pile))
    assert "Earth bank" in session.open_banks
    assert session.selected == (("gate", "a1_left"),)


def test_each_element_is_read_with_what_is_found_about_it(face: NetworkFace) -> None:
    whole = QAccessible.queryAccessibleInterface(face.canvas)
    said = [whole.child(index).text(QAccessible.Text.Name) for index in range(whole.childCount())]
    (gate,) = (text for text in said if text.startswith("Gate A4 right"))
    assert gate.startswith(
        "Gate A4 right, from Coriander to Chute, one item a turn. Error: opens empty from turn "
    )
    assert said[0] == "Earth bank, 2 magazines, 8 gates, open."
    assert len(said) == 3 + len(face.canvas.places.boxes)


def test_a_thousand_gates_are_piles_and_only_what_is_seen_is_painted(
    qtbot: QtBot, theme: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = starved_bar()
    assert project.flow is not None
    one = project.flow.gates[0]
    magazines = tuple(
        Magazine(id=f"m{n}", capacity=8, start_count=6, source="cumin_hopper") for n in range(250)
    )
    gates = tuple(
        Gate(
            id=f"g{n}",
            state=LevelState(lane=f"a{n % 4 + 1}", level="left"),
            source=f"m{n // 4}",
            to="chute",
            item=one.item,
        )
        for n in range(1000)
    )
    flow = changed(project.flow, magazines=magazines, gates=gates)
    document = Document(set_flow(project, flow).project, still=True)
    canvas = NetworkFace(document, theme, flow_network(JudgedFlow(document.project))).canvas
    qtbot.addWidget(canvas)
    canvas.resize(1000, 600)
    assert not canvas.session.may_unfold
    assert canvas.places.height > 10_000
    painted: list[object] = []
    paint = BoxPainter.paint

    def counted(self: BoxPainter, element: FlowElement, box: Box, *, selected: bool) -> None:
        painted.append(element)
        paint(self, element, box, selected=selected)

    monkeypatch.setattr(BoxPainter, "paint", counted)
    canvas.verticalScrollBar().setValue(4000)
    picture = QPixmap(1000, 600)
    with QPainter(picture) as painter:
        canvas.render(painter, QPoint())
    assert 10 < len(painted) < 80


def test_keys_of_the_network_win_over_those_of_the_window(make_window: WindowMaker, qtbot: QtBot) -> None:
    window = make_window(starved_bar())
    window.docks.show_large("flow")
    face, document = window.flow.network_face, window.document
    qtbot.waitUntil(lambda: bool(face.session.network.turns) and not face.session.network.is_stale)
    assert face.session.open_banks == {"Earth bank"}  # where something is found
    face.canvas.setFocus()
    click(face, A4)
    press(face, Keys.Key_D, mods=CTRL)
    assert window.flow.cards.card is not None
    window.flow.cards.close()
    assert not document.can_undo
    press(face, Keys.Key_Delete)
    assert document.undo_name == "Remove Gate A4 right"
    press(face, Keys.Key_Z, mods=CTRL)
    assert not document.can_undo
    document.set_cursor(30.0)
    moment = face.session.moment
    assert moment is not None
    assert moment.counts["cumin"] < 6  # A1 has let one out
