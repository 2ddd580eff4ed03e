"""The Operation view: its pages, what follows the project, and the steps that it makes."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from shaftscore.bringup.rolling import ball_run
from shaftscore_app.commands.operating import PAGE_OF
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.operation import OperationView
from tests.app.conftest import WindowMaker
from tests.machines import gate, machine
from tests.samples import sample

LEFT = Qt.MouseButton.LeftButton


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    return make_window(sample("tea_blender_first_draft"))


def view_of(window: MainWindow) -> OperationView:
    return window.docks.view(OperationView)


def opened(window: MainWindow, qtbot: QtBot, command: str) -> OperationView:
    """Open a page by its command, and wait until it is worked out."""
    window.actions_table[command].trigger()
    return settled(window, qtbot, PAGE_OF[command])


def settled(window: MainWindow, qtbot: QtBot, page: str) -> OperationView:
    view = view_of(window)

    def is_there() -> bool:
        result = view.result
        return view.page == page and result is not None and not view.remark.text()

    qtbot.waitUntil(is_there, timeout=10_000)
    return view


def test_every_page_is_opened_by_its_command_and_says_what_it_found(window: MainWindow, qtbot: QtBot) -> None:
    stuck = opened(window, qtbot, "prove.stuck")
    assert stuck.head.text() == "The drive is strong enough to damage 10 of 10 lanes in a jam."
    table = stuck.tables[0]
    row = table.model.table.keys.index("flap")
    at = table.view.visualRect(table.model.index(row, 0)).center()
    QTest.mouseClick(table.view.viewport(), LEFT, pos=at)
    assert window.document.selection.lane_id == "flap"
    assert "A turn brings Cup 6 items fewer and Tray 6 items more." in stuck.details.text()
    assert "Unplug the motor" in stuck.cautions.text()
    home = opened(window, qtbot, "prove.home")
    assert home.head.text() == "Home is at 224.9°, chosen."
    QTest.mouseClick(home.go, LEFT)
    assert window.document.cursor_deg == pytest.approx(224.9)
    wear = opened(window, qtbot, "prove.wear")
    assert "shifts first" in wear.head.text()
    assert not wear.details.isVisible()
    QTest.mouseClick(wear.copy_button, LEFT)
    assert "Disc edge\tPLA on steel" in QApplication.clipboard().text()


def test_the_numbers_of_the_feed_are_applied_as_one_step(window: MainWindow, qtbot: QtBot) -> None:
    feed = opened(window, qtbot, "prove.feed")
    assert feed.head.text() == "1 of 6 supplies does not hold for ever."
    QTest.mouseClick(feed.apply, LEFT)
    flow = window.document.committed.flow
    assert flow is not None
    assert {one.id: one.rate_per_min for one in flow.supplies}["hopper_ginger"] == 6.6
    qtbot.waitUntil(lambda: feed.head.text() == "The feed holds for ever.", timeout=10_000)
    assert not feed.apply.isEnabled()
    window.actions_table["edit.undo"].trigger()
    qtbot.waitUntil(feed.apply.isEnabled, timeout=10_000)
    feed.feed.length.setFocus()
    QTest.keyClick(feed.feed.length, Qt.Key.Key_Down)
    settled(window, qtbot, "Feed")
    assert feed.head.text() == "1 of 6 supplies does not hold for 100 steps."


def test_a_rolling_time_is_written_into_its_channel(window: MainWindow, qtbot: QtBot) -> None:
    options = opened(window, qtbot, "prove.feed").feed
    assert [option.value for option in options.item.options()][:2] == ["Assam scoop", "Ceylon scoop"]
    for field, text in ((options.way, "100"), (options.arm, "0")):
        field.setFocus()
        field.selectAll()
        QTest.keyClicks(field, text)
        QTest.keyClick(field, Qt.Key.Key_Return)
    assert options.answer.text().startswith("It rolls in 405 ms")  # 0.405493 s over 100 mm at 10°
    QTest.mouseClick(options.set_time, LEFT)
    flow = window.document.committed.flow
    assert flow is not None
    slowest = 1.2 * ball_run(10.0, 100.0, 6.0, arm_mm=0.2).time_s  # the other kinds of items
    assert (flow.channels[0].travel_min_s, flow.channels[0].travel_max_s) == (0.405, round(slowest, 3))
    assert "All items: 405 ms to" in options.answer.text()
    options.slope.selectAll()
    QTest.keyClicks(options.slope, "0")
    QTest.keyClick(options.slope, Qt.Key.Key_Return)
    assert not options.set_time.isEnabled()
    assert "must be over 0" in options.answer.text()


def test_home_is_kept_and_chosen_again(window: MainWindow, qtbot: QtBot) -> None:
    view = opened(window, qtbot, "prove.home")
    QTest.mouseClick(view.keep, LEFT)
    home = window.document.committed.home
    assert home is not None
    assert home.angle_deg == pytest.approx(224.9)
    qtbot.waitUntil(lambda: view.keep.text() == "Choose again" and view.keep.isEnabled(), timeout=10_000)
    assert "set in the project" in view.head.text()
    QTest.mouseClick(view.keep, LEFT)
    assert window.document.committed.home is None


def test_an_undescribed_machine_offers_the_forms(make_window: WindowMaker, qtbot: QtBot) -> None:
    window = make_window(machine(gate("A", 100, 130, 40.0)))
    asked: list[str] = []
    view_of(window).form_wanted.connect(asked.append)
    for command in ("prove.stuck", "prove.feed"):
        view = opened(window, qtbot, command)
        assert view.form.isVisible()
        with qtbot.waitSignal(view.form_wanted):
            QTest.mouseClick(view.form, LEFT)
        dialog = QApplication.activeModalWidget()
        if dialog is not None:
            dialog.close()
    assert asked == ["machine.drive", "machine.flow"]
    assert opened(window, qtbot, "prove.wear").head.text().startswith("Describe the load")
