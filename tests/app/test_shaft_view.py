"""The Shaft view: what it shows, choosing and dragging, its keys, and what it says where it is empty."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QColor, QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLabel, QWidget
from pytestqt.qtbot import QtBot

from shaftscore.model import Disc, Project, Rod, Stack, replaced
from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.shaft import ShaftView
from shaftscore_app.views.shaft_canvas import ENDS
from tests.app.conftest import WindowMaker
from tests.core.judge.shaft.machines import ROLLER, built, presser, rod, stack, weight
from tests.machines import gate, lane, machine

LEFT = Qt.MouseButton.LeftButton


def two(own: Stack | None = None, names: tuple[str, str] = ("A", "B")) -> Project:
    lanes = [
        gate(
            name, start, start + 30, 60.0, load=weight(20.0), follower=ROLLER, disc=Disc(base_radius_mm=30.0)
        )
        for name, start in zip(names, (100.0, 200.0), strict=True)
    ]
    return built(*lanes, own=own or stack(rod(below_mm=20.0, above_mm=20.0)))


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    return shown(make_window(two()))


def shown(window: MainWindow) -> MainWindow:
    """Bring the view to the front, afloat and large."""
    window.docks.show("shaft")
    dock = window.docks["shaft"]
    dock.setFloating(True)
    dock.resize(1000, 620)
    QApplication.processEvents()
    return window


def view_of(window: MainWindow) -> ShaftView:
    return window.docks.view(ShaftView)


def rod_of(window: MainWindow) -> Rod:
    own = window.document.committed.stacks[0].rod
    assert own is not None
    return own


def place_of(window: MainWindow, end: str) -> QPoint:
    canvas = view_of(window).canvas
    assert canvas.picture is not None
    assert canvas.places is not None
    part = canvas.picture.side.of_kind("bearing")[ENDS.index(end)]  # type: ignore[arg-type]
    box = canvas.places.box(part)
    return QPointF(box.left() + 3, box.center().y()).toPoint()


def test_it_shows_forces_and_the_worst_of_the_turn(window: MainWindow) -> None:
    """By hand: in a dwell both push with 20 N, and both bearings push back with as much."""
    view = view_of(window)
    window.document.set_cursor(30.0)
    picture = view.canvas.picture
    assert picture is not None
    assert picture.at is not None
    assert picture.at.push_n == pytest.approx({"a": 20.0, "b": 20.0})
    assert picture.at.reactions_n == pytest.approx((20.0, 20.0))
    assert [(row.name, row.force) for row in picture.rows] == [("A", "20.0 N"), ("B", "20.0 N")]
    assert "Bends by at most" in view.foot.text().replace("\N{NO-BREAK SPACE}", " ")
    assert "A 20.0 N" in view.canvas.accessibleDescription()
    assert view.why.isHidden()


def test_the_cursor_moves_the_forces_and_the_worst_angle_stays(window: MainWindow, qtbot: QtBot) -> None:
    view, document = view_of(window), window.document
    document.set_cursor(30.0)
    before = view.canvas.picture
    document.set_cursor(80.0)
    after = view.canvas.picture
    assert before is not None
    assert after is not None
    assert after.at is not None
    assert before.at is not None
    assert after.at.push_n["a"] > before.at.push_n["a"]  # on its rise the roller leans
    qtbot.mouseClick(view.at_worst, LEFT)
    worst = view.canvas.picture
    assert worst is not None
    assert worst.at is not None
    assert worst.at.most_mm >= max(before.at.most_mm, after.at.most_mm)
    document.set_cursor(200.0)
    assert view.canvas.picture is worst


def test_a_click_on_a_disc_selects_its_lane(window: MainWindow, qtbot: QtBot) -> None:
    canvas = view_of(window).canvas
    assert canvas.picture is not None
    assert canvas.places is not None
    for part in canvas.picture.side.of_kind("disc"):
        box = canvas.places.box(part)
        qtbot.mouseClick(canvas, LEFT, pos=QPointF(box.left() + 6, box.center().y()).toPoint())
        assert window.document.selection.lane_id == part.lane_id
        assert canvas.picture.selected == part.lane_id
    rows = dict(canvas.places.row_boxes(canvas.picture.side))
    qtbot.mouseClick(canvas, LEFT, pos=rows["a"].center().toPoint())
    assert window.document.selection.lane_id == "a"


def drag(window: MainWindow, start: QPoint, by: int, fine: bool = False) -> None:
    """Press on the canvas and move down by so many px; the button stays down."""
    canvas = view_of(window).canvas
    keys = Qt.KeyboardModifier.AltModifier if fine else Qt.KeyboardModifier.NoModifier
    QTest.mousePress(canvas, LEFT, keys, start)
    for step in (by // 2, by):
        place = start + QPoint(0, step)
        QApplication.sendEvent(canvas, _moved(canvas, place, keys))


def _moved(canvas: QWidget, place: QPoint, keys: Qt.KeyboardModifier) -> QMouseEvent:
    here = QPointF(place)
    button = Qt.MouseButton.NoButton
    return QMouseEvent(QEvent.Type.MouseMove, here, canvas.mapToGlobal(here), button, LEFT, keys)


@pytest.mark.parametrize(("fine", "step"), [(False, 0.5), (True, 0.1)])
def test_a_bearing_is_dragged_in_steps_and_in_one_undo_step(
    window: MainWindow, fine: bool, step: float
) -> None:
    view, document = view_of(window), window.document
    places = view.canvas.places
    assert places is not None
    start = place_of(window, "lower")
    drag(window, start, 31, fine)
    assert document.is_previewing
    assert rod_of(window).below_mm == 20.0, "nothing is committed before the button is let go"
    picture = view.canvas.picture
    assert picture is not None
    QTest.mouseRelease(view.canvas, LEFT, pos=start + QPoint(0, 31))
    wanted = round((20.0 + 31 / places.scale) / step) * step
    assert rod_of(window).below_mm == pytest.approx(wanted)
    assert document.undo_name.startswith("Change s’s")
    document.undo()
    assert rod_of(window).below_mm == 20.0
    assert not document.can_undo


def test_while_it_is_dragged_the_line_is_that_of_where_the_bearing_is(
    window: MainWindow, qtbot: QtBot
) -> None:
    view = view_of(window)
    window.document.set_cursor(30.0)
    before = view.canvas.picture
    drag(window, place_of(window, "upper"), -40)
    qtbot.waitUntil(lambda: view.canvas.picture is not before)
    longer = view.canvas.picture
    assert before is not None
    assert longer is not None
    assert before.at is not None
    assert longer.at is not None
    assert longer.at.line_z_mm[-1] > before.at.line_z_mm[-1]
    assert longer.at.most_mm > before.at.most_mm
    QTest.keyClick(view.canvas, Qt.Key.Key_Escape)
    assert not window.document.is_previewing
    assert rod_of(window).above_mm == 20.0
    assert not window.document.can_undo


def test_keys_go_from_part_to_part(window: MainWindow, qtbot: QtBot) -> None:
    canvas, document = view_of(window).canvas, window.document
    canvas.setFocus()
    seen = []
    document.select_lane("a")
    for key in (Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Down):
        qtbot.keyClick(canvas, key)
        seen.append(canvas.held or document.selection.lane_id)
    assert seen == ["b", "upper", "upper", "b", "a"]
    qtbot.keyClick(canvas, Qt.Key.Key_Down)
    assert canvas.held == "lower"


def test_keys_take_a_lane_that_is_called_like_a_bearing_for_a_lane(
    make_window: WindowMaker, qtbot: QtBot
) -> None:
    window = shown(make_window(two(names=("Upper", "Lower"))))
    canvas, document = view_of(window).canvas, window.document
    document.select_lane("upper")
    qtbot.keyClick(canvas, Qt.Key.Key_Up)
    assert (canvas.held, document.selection.lane_id) == (None, "lower")
    qtbot.keyClick(canvas, Qt.Key.Key_Up)
    assert canvas.held == "upper"


def test_letters_switch_the_layers(window: MainWindow, qtbot: QtBot) -> None:
    view = view_of(window)
    for key, button in (("b", view.bending), ("t", view.heights)):
        assert button.isChecked()
        qtbot.keyClick(view.canvas, key)
        assert not button.isChecked()
        qtbot.keyClick(view.canvas, key)
        assert button.isChecked()
    qtbot.keyClick(view.canvas, "w")
    assert view.at_worst.isChecked()
    qtbot.keyClick(view.canvas, "w")
    assert view.at_cursor.isChecked()


def accents(window: MainWindow) -> int:
    """Count the pixels in accent left of the axis of heights."""
    view = view_of(window)
    picture = view.canvas.grab().toImage()
    accent = QColor(view._theme.color("accent")).rgb()
    return sum(picture.pixel(x, y) == accent for x in range(90) for y in range(40, picture.height()))


def test_the_bending_line_is_drawn_only_while_it_is_on(window: MainWindow, qtbot: QtBot) -> None:
    with_line = accents(window)
    qtbot.mouseClick(view_of(window).bending, LEFT)
    assert with_line > 50
    assert accents(window) == 0


def test_enter_opens_what_describes_a_part(window: MainWindow, qtbot: QtBot) -> None:
    view = view_of(window)
    wanted: list[str] = []
    view.form_wanted.connect(wanted.append)
    window.document.select_lane("a")
    qtbot.keyClick(view.canvas, Qt.Key.Key_Return)
    _close_form(window, qtbot, "Disc")
    qtbot.keyClick(view.canvas, Qt.Key.Key_Down)
    qtbot.keyClick(view.canvas, Qt.Key.Key_Return)
    _close_form(window, qtbot, "Stacks and order")
    assert wanted == ["lane.disc", "machine.stacks"]


def _close_form(window: MainWindow, qtbot: QtBot, title: str) -> None:
    qtbot.waitUntil(lambda: any(form.isVisible() for form in window.findChildren(FormDialog)))
    (form,) = [form for form in window.findChildren(FormDialog) if form.isVisible()]
    assert title in form.windowTitle()
    form.close()
    qtbot.waitUntil(lambda: not any(one.isVisible() for one in window.findChildren(FormDialog)))


# Where something is missing


def test_without_a_rod_it_asks_for_the_bearings(make_window: WindowMaker, qtbot: QtBot) -> None:
    project = two()
    bare = replaced(project, stacks=(Stack(id="s", bore=project.stacks[0].bore),))
    window = shown(make_window(bare))
    view = view_of(window)
    assert view.why.text() == "Where are the bearings? Describe the rod to see how it bends."
    assert not view.bending.isEnabled()
    assert view.canvas.isVisible()
    assert view.foot.text() == ""
    qtbot.mouseClick(view.describe, LEFT)
    _close_form(window, qtbot, "Stacks and order")


def cut_texts(view: ShaftView) -> list[str]:
    """Texts of the head that have less room than they need."""
    buttons = (view.at_cursor, view.at_worst, view.bending, view.heights)
    labels = [part for part in view.findChildren(QLabel) if part.isVisible() and not part.wordWrap()]
    return [part.text() for part in (*labels, *buttons) if part.width() < part.sizeHint().width()]


@pytest.mark.parametrize("width", [340, 560, 660, 1000])
@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_no_text_of_the_head_is_cut(window: MainWindow, qtbot: QtBot, width: int, scale: float) -> None:
    window.theme.set_scale(scale)
    view, dock = view_of(window), window.docks["shaft"]
    dock.resize(round(width * scale), 700)
    qtbot.waitUntil(lambda: abs(view.width() - round(width * scale)) < 10)
    qtbot.waitUntil(lambda: cut_texts(view) == [])
    assert (view.at_cursor.text() == "At the cursor") == (width >= 560)


def test_a_lane_without_blocks_is_drawn_as_a_ring(make_window: WindowMaker) -> None:
    view = view_of(shown(make_window(machine(lane("A"), stacks=(Stack(id="s"),)))))
    assert view.canvas.picture is not None
    (ring,) = view.canvas.picture.side.of_kind("disc")
    assert (ring.left_mm, ring.right_mm) == (-12.0, 12.0)
    assert view.canvas.picture.side.rollers == ()


def test_a_machine_without_lanes_is_empty(make_window: WindowMaker) -> None:
    view = view_of(shown(make_window(machine(stacks=(Stack(id="s"),)))))
    assert view.why.text() == "Add a lane to see its disc on the shaft."
    assert view.canvas.isHidden()
    assert view.describe.isHidden()


def test_what_is_not_computed_says_why(make_window: WindowMaker) -> None:
    view = view_of(shown(make_window(built(gate("A", 100, 130)))))
    assert view.why.text() == (
        "Bending is not computed. No lane on it has a load, so no force on it is known."
    )
    assert view.canvas.isVisible()
    assert not view.at_worst.isEnabled()


def test_of_several_stacks_that_of_the_selected_lane_is_shown(make_window: WindowMaker) -> None:
    other = Stack(id="t", name="Feed shaft", rod=rod())
    first = stack(rod())
    project = built(presser("A"), presser("B", stack="t"), own=first)
    project = replaced(project, stacks=(first, other))
    window = shown(make_window(project))
    view = view_of(window)
    assert view.chooser.isVisible()
    window.document.select_lane("b")
    assert view.chooser.text() == "Feed shaft"
    view.choose("s")
    assert view.stack.id == "s"
