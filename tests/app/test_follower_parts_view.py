"""The Follower parts view: its choices, fields in the drawing, dragging, bearings, copies."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from shaftscore.model import FollowerParts, Lane, Project, Stack, SwingingRoller
from shaftscore_app.dialogs.files import TroubleDialog
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.views.follower_parts import FollowerPartsView
from shaftscore_app.views.follower_parts_copying import kind_menu
from tests.app.conftest import Answers, HandClock, WindowMaker
from tests.core.edits.test_followers import TRANSLATING, plain
from tests.follower_machine import lever_lane, slide_lane, straight_lane
from tests.machines import machine

LEFT = Qt.MouseButton.LeftButton


@dataclass(frozen=True)
class Bench:
    """The view alone, on a document that answers at once."""

    document: Document
    view: FollowerPartsView


def project() -> Project:
    """Return all kinds on one shaft, far enough apart that there is nothing to cure."""
    lanes = (slide_lane(), lever_lane(), straight_lane(), plain(TRANSLATING))
    return machine(*lanes, stacks=(Stack(id="main", spacer_mm=30.0),))


@pytest.fixture
def bench(qtbot: QtBot, theme: Theme, clock: HandClock) -> Bench:
    document = Document(project(), clock=clock)
    document.select_lane("lever")
    view = FollowerPartsView(document, theme)
    qtbot.addWidget(view)
    view.resize(1240, 780)
    view.set_seen(True)
    view.show()
    qtbot.waitExposed(view)
    return Bench(document, view)


def view_of(bench: Bench) -> FollowerPartsView:
    return bench.view


def lane_of(bench: Bench, lane_id: str = "lever") -> Lane:
    return bench.document.committed.lane(lane_id)


def parts_of(bench: Bench, lane_id: str = "lever") -> FollowerParts:
    parts = lane_of(bench, lane_id).parts
    assert parts is not None
    return parts


def number_of(bench: Bench, field: str) -> QPoint:
    places = view_of(bench).canvas.places
    assert places is not None
    both = (*places.dimensions, *places.side_dimensions)
    return next(one.box.center().toPoint() for one in both if one.dimension.field == field)


def point_of(bench: Bench, name: str) -> QPoint:
    canvas = view_of(bench).canvas
    assert canvas.places is not None
    assert canvas.drawing is not None
    return canvas.places.top.at(canvas.drawing.points[name]).toPoint()  # type: ignore[index]


def choose(bench: Bench, qtbot: QtBot, lane_id: str) -> None:
    """Select a lane; the view follows after what else has to be painted."""
    bench.document.select_lane(lane_id)
    name = lane_of(bench, lane_id).label
    qtbot.waitUntil(lambda: view_of(bench).chooser.text().endswith(name))


def drag(widget: QWidget, start: QPoint, to: QPoint) -> None:
    """Hold the mouse at a place and move it to another; it stays held."""
    QTest.mousePress(widget, LEFT, Qt.KeyboardModifier.NoModifier, start)
    where = QPointF(to)
    event = QMouseEvent(
        QEvent.Type.MouseMove,
        where,
        widget.mapToGlobal(where),
        LEFT,
        LEFT,
        Qt.KeyboardModifier.NoModifier,
    )
    QApplication.sendEvent(widget, event)


def test_it_says_what_each_choice_would_do(bench: Bench) -> None:
    """16 mm on an arc of 120 mm: the arc's strip is 0.27 mm wide; ratio 120 to 60."""
    view = view_of(bench)
    cards = {kind: button.card for kind, button in view.cards.cards.items()}
    assert cards["slide"].ratio == "Output = lift"  # type: ignore[union-attr]
    assert cards["lever"].ratio == "2.0 to 1, output on an arc"  # type: ignore[union-attr]
    assert "a straight line by 0.27 mm" in cards["lever"].detail  # type: ignore[union-attr]
    assert "by under 0.01 mm" in cards["straight-line"].detail  # type: ignore[union-attr]
    assert [kind for kind, button in view.cards.cards.items() if button.isChecked()] == ["lever"]
    said = view.canvas.accessibleDescription()
    assert "Arm to the output 120.0 mm" in said
    assert "Swing 7.6°" in said
    assert "screw M4 x 20" in view.panel.bought.text()
    assert view.panel.field("parts.arm_mm").shown() == 60.0


def test_keys_and_cards_choose_and_undo_takes_back(bench: Bench, qtbot: QtBot) -> None:
    view, before = view_of(bench), lane_of(bench)
    qtbot.keyClick(view.canvas, Qt.Key.Key_3)
    assert parts_of(bench).kind == "straight-line"
    assert view.canvas.drawing is not None
    assert any(shape.kind == "link" for shape in view.canvas.drawing.top)
    qtbot.mouseClick(view.cards.cards["slide"], LEFT)
    assert parts_of(bench).kind == "slide"
    assert view.cards.cards["slide"].isChecked()
    qtbot.keyClick(view, Qt.Key.Key_2)
    assert parts_of(bench).kind == "lever"
    for _ in range(3):
        bench.document.undo()
    assert lane_of(bench) == before
    qtbot.keyClick(view.canvas, Qt.Key.Key_2)  # it is that already
    assert lane_of(bench) == before


def test_a_number_in_the_drawing_is_a_field(bench: Bench, qtbot: QtBot) -> None:
    canvas = view_of(bench).canvas
    qtbot.mouseClick(canvas, LEFT, pos=number_of(bench, "parts.output_arm_mm"))
    assert canvas.field.isVisible()
    assert canvas.field.text() == "120.0"
    canvas.field.selectAll()
    qtbot.keyClicks(canvas.field, "90")
    qtbot.keyClick(canvas.field, Qt.Key.Key_Return)
    assert not canvas.field.isVisible()
    assert parts_of(bench).output_arm_mm == 90.0
    follower = lane_of(bench).follower
    assert isinstance(follower, SwingingRoller)
    assert follower.output_arm_mm == 90.0
    assert view_of(bench).panel.field("parts.output_arm_mm").shown() == 90.0


def test_what_cannot_be_stays_with_its_reason(bench: Bench, qtbot: QtBot) -> None:
    choose(bench, qtbot, "straight")
    field = view_of(bench).panel.field("parts.links[1].mm")
    field.setFocus()
    field.selectAll()
    qtbot.keyClicks(field, "6")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    assert "too far for a guide link of 6 mm" in field.fault
    assert parts_of(bench, "straight").links is None
    field.selectAll()
    qtbot.keyClicks(field, "80")
    qtbot.keyClick(field, Qt.Key.Key_Return)
    links = parts_of(bench, "straight").links
    assert links is not None
    assert [link.mm for link in links] == [48.0, 80.0]


def test_dragging_the_output_is_one_step_along_the_lever(bench: Bench, qtbot: QtBot) -> None:
    """A third of the way from output to pivot: 80 mm, whatever the scale."""
    canvas = view_of(bench).canvas
    pivot, output = point_of(bench, "pivot"), point_of(bench, "output")
    to = output + (pivot - output) / 3
    drag(canvas, output, to)
    assert bench.document.is_previewing
    assert parts_of(bench).output_arm_mm == 120.0
    qtbot.mouseRelease(canvas, LEFT, pos=to)
    assert parts_of(bench).output_arm_mm == pytest.approx(80.0, abs=1.0)
    bench.document.undo()
    assert parts_of(bench).output_arm_mm == 120.0


def test_escape_takes_a_drag_back(bench: Bench, qtbot: QtBot) -> None:
    canvas, before = view_of(bench).canvas, lane_of(bench)
    pivot = point_of(bench, "pivot")
    drag(canvas, pivot, pivot + QPoint(12, 6))
    assert bench.document.is_previewing
    qtbot.keyClick(canvas, Qt.Key.Key_Escape)
    assert not bench.document.is_previewing
    qtbot.mouseRelease(canvas, LEFT, pos=pivot)
    assert lane_of(bench) == before


def test_tab_goes_through_dimensions_and_points_and_arrows_nudge(bench: Bench, qtbot: QtBot) -> None:
    canvas = view_of(bench).canvas
    canvas.setFocus()
    seen = []
    for _ in canvas.stops:
        qtbot.keyClick(canvas, Qt.Key.Key_Tab)
        seen.append(canvas.held)
    assert tuple(seen) == canvas.stops
    assert seen[0] == "parts.arm_mm"
    assert seen[-1] == "hook"
    qtbot.keyClick(canvas, Qt.Key.Key_Up)
    assert parts_of(bench).spring_hook_mm == pytest.approx(92.5, abs=0.11)
    qtbot.keyClick(canvas, Qt.Key.Key_Tab)
    assert canvas.held == ""


def test_a_bearing_is_chosen_and_what_cannot_work_stays_grey(bench: Bench, qtbot: QtBot) -> None:
    chooser = view_of(bench).panel.bearings
    assert chooser.row("624").button.isChecked()
    assert chooser.row("608").labels[2].text() == "wider than the disc"
    assert not chooser.row("608").button.isEnabled()
    row = chooser.row("623")
    assert row.labels[2].text() == "fits"
    row.button.click()
    assert lane_of(bench).follower.bearing == "623"  # type: ignore[union-attr]
    assert chooser.row("623").button.isChecked()
    assert not chooser.row("624").button.isChecked()


def test_a_table_of_ones_own_is_offered(bench: Bench, tmp_path: Path) -> None:
    view, file = view_of(bench), tmp_path / "bearings.csv"
    file.write_text("sleeve, 4, 12, 4\n", encoding="utf-8")
    view.set_own_bearings(file)
    view.panel.bearings.row("sleeve").button.click()
    follower = lane_of(bench).follower
    assert (follower.bearing, follower.roller_radius_mm) == (None, 6.0)  # type: ignore[union-attr]
    file.write_text("sleeve, 4\n", encoding="utf-8")
    said: list[str] = []
    view.status_message.connect(said.append)
    view.set_own_bearings(file)
    assert said == [
        "bearings.csv was not read: line 1: has 2 values, 4 required: name, bore_mm, outer_mm, width_mm"
    ]


def test_copies_are_one_step(bench: Bench) -> None:
    view = view_of(bench)
    assert ("flap", "B1 Flap", True) in view.edits.copy_choices()
    assert view.edits.copy_to(("flap", "straight")) == ""
    assert lane_of(bench, "flap").parts == lane_of(bench, "straight").parts == parts_of(bench)
    bench.document.undo()
    assert lane_of(bench, "flap").parts is None


def test_a_lane_without_parts_shows_the_choices_alone(bench: Bench, qtbot: QtBot) -> None:
    view = view_of(bench)
    choose(bench, qtbot, "flap")
    assert view.why.text() == "Choose how the lane is moved: the parts are then made with the discs."
    assert not view.canvas.isVisible()
    qtbot.mouseClick(view.cards.cards["lever"], LEFT)
    assert parts_of(bench, "flap").kind == "lever"
    assert view.canvas.isVisible()
    qtbot.mouseClick(view.remove, LEFT)
    assert lane_of(bench, "flap").parts is None
    assert isinstance(lane_of(bench, "flap").follower, SwingingRoller)


def test_the_menu_opens_it_large_and_its_button_the_form(make_window: WindowMaker, qtbot: QtBot) -> None:
    window = make_window(project())
    window.document.select_lane("lever")
    window.actions_table["lane.parts"].trigger()
    assert window.docks["followers"].isFloating()
    view = window.docks.view(FollowerPartsView)
    qtbot.waitUntil(lambda: view.fields.isVisible() and view.fields.isEnabled())
    qtbot.mouseClick(view.fields, LEFT)
    dialogs = [one for one in window.findChildren(FormDialog) if one.isVisible()]
    assert [one.windowTitle() for one in dialogs] == ["Follower parts"]
    dialogs[0].reject()


def test_the_cursor_turns_the_drawing_and_rewrites_nothing_else(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lengths, figures and parts are the same at every angle: only points of the drawing move."""
    view, written = view_of(bench), []
    monkeypatch.setattr(view.panel, "show_layout", lambda *args, **_named: written.append(args))
    seen = {}
    for deg in (20.0, 80.0):  # shut; on the way to open
        bench.document.set_cursor(deg)
        assert view.canvas.drawing is not None
        seen[deg] = view.canvas.drawing.points["output"]
    assert abs(seen[80.0] - seen[20.0]) > 1.0
    assert not written
    view.set_seen(False)
    bench.document.set_cursor(20.0)
    assert view.canvas.drawing.points["output"] == seen[80.0]


def test_the_drawing_is_saved_at_full_size(bench: Bench) -> None:
    made: list[tuple[str, str, bytes]] = []
    bench.view.save_wanted.connect(lambda stem, kind, make: made.append((stem, kind, make())))
    menu = kind_menu(bench.view, bench.view._save)
    assert [action.text() for action in menu.actions()] == [
        "SVG, full size",
        "DXF, full size",
        "PDF, full size",
    ]
    menu.actions()[0].trigger()
    menu.deleteLater()
    assert made[0][:2] == ("A2 follower", "svg")
    assert b'class="roller"' in made[0][2]


def test_the_window_writes_the_drawing_or_reports_why_not(
    make_window: WindowMaker, answers: Answers, qtbot: QtBot, tmp_path: Path
) -> None:
    window = make_window(project())
    window.document.select_lane("lever")
    window.actions_table["lane.parts"].trigger()
    view = window.docks.view(FollowerPartsView)
    assert not view.save.isEnabled()  # until something is drawn
    qtbot.waitUntil(view.save.isEnabled)
    for folder in (tmp_path, tmp_path / "not there"):
        answers.target = folder / "lever.svg"
        menu = kind_menu(view, view._save)
        menu.actions()[0].trigger()
        menu.deleteLater()
    assert Path(answers.proposed[-1]).name == "A2 follower.svg"
    assert b'class="roller"' in (tmp_path / "lever.svg").read_bytes()
    (dialog,) = [one for one in window.findChildren(TroubleDialog) if one.isVisible()]
    assert dialog.windowTitle() == "Save drawing"
