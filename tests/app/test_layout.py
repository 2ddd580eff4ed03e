"""Where the views stand: the default arrangements, the person's own, and the rows of tabs."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QTabBar, QToolButton

from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.layout import TabButtons
from tests.app.conftest import WindowMaker
from tests.app.machines import gates


def test_the_default_arrangement_is_that_of_the_design(qtbot, window: MainWindow) -> None:
    disc, properties, findings = (window.docks[name] for name in ("disc", "properties", "findings"))
    qtbot.waitUntil(lambda: disc.width() == 336)
    assert abs(disc.height() + 28 - 372) <= 2  # with its row of tabs
    assert abs(findings.height() + 28 - 252) <= 2  # with its row of tabs
    load = window.docks["load"]
    assert window.docks["motion"] in window.tabifiedDockWidgets(load)
    assert load.geometry().bottom() == findings.geometry().bottom()
    assert load.height() == findings.height()
    flow = window.docks["flow"]
    assert abs(findings.width() - 430) <= 2
    assert abs(load.width() - 432) <= 2
    assert findings.geometry().right() < load.geometry().left() < load.geometry().right()
    assert load.geometry().right() < flow.geometry().left()
    assert disc.geometry().left() == properties.geometry().left() > flow.geometry().right()
    assert properties.geometry().top() > disc.geometry().bottom()
    assert abs(properties.geometry().bottom() - findings.geometry().bottom()) <= 1
    assert window.menuBar().height() == 28
    assert window.toolbar.height() == 44


def test_a_small_window_has_the_bottom_row_as_one_group_of_tabs(qtbot, window: MainWindow) -> None:
    window.resize(1280, 800)
    window.actions_table["view.default"].trigger()
    findings, load = window.docks["findings"], window.docks["load"]
    qtbot.waitUntil(lambda: findings.titleBarWidget().height() == 0)
    assert load in window.tabifiedDockWidgets(findings)
    assert window.docks["flow"] in window.tabifiedDockWidgets(findings)
    qtbot.waitUntil(lambda: window.docks["disc"].width() == 300)
    assert abs(window.docks["disc"].height() + 28 - 300) <= 2  # with its row of tabs
    buttons = next(one for one in window.findChildren(TabButtons) if one._front() is findings)
    qtbot.mouseClick(buttons.findChildren(QToolButton)[1], Qt.MouseButton.LeftButton)
    assert not findings.isVisible()


def test_under_1100_px_the_right_column_starts_closed(qtbot, window: MainWindow) -> None:
    window.resize(1000, 700)
    window.actions_table["view.default"].trigger()
    assert not window.docks["disc"].isVisible()
    assert not window.docks["properties"].isVisible()
    assert window.docks["findings"].isVisible()


def test_the_persons_arrangement_comes_back_and_the_default_too(
    qtbot, make_window: WindowMaker, settings
) -> None:
    window = make_window(gates())
    qtbot.waitUntil(lambda: window.docks["disc"].width() == 336)
    window.docks["properties"].hide()
    window.docks["findings"].setFloating(True)
    window.close_at_once()
    assert settings.values.layout_version > 0
    again = make_window(gates())
    assert not again.docks["properties"].isVisible()
    assert again.docks["findings"].isFloating()
    again.actions_table["view.default"].trigger()
    assert again.docks["properties"].isVisible()
    assert not again.docks["findings"].isFloating()


def test_an_arrangement_of_another_version_is_left_out(qtbot, make_window: WindowMaker, settings) -> None:
    window = make_window(gates())
    window.docks["properties"].hide()
    window.close_at_once()
    settings.change(layout_version=999)
    assert make_window(gates()).docks["properties"].isVisible()


def test_docks_that_share_a_place_have_one_row_of_tabs(qtbot, window: MainWindow) -> None:
    disc, properties = window.docks["disc"], window.docks["properties"]
    window.tabifyDockWidget(disc, properties)
    qtbot.waitUntil(lambda: properties.titleBarWidget().height() == 0)
    assert disc.titleBarWidget().height() == 0
    window.docks.arrange()
    qtbot.waitUntil(lambda: properties.titleBarWidget().height() == 28)


@pytest.mark.parametrize("size", [(1280, 800), (1600, 1000)])
def test_every_view_has_one_tab_at_most(window: MainWindow, size: tuple[int, int]) -> None:
    """Rows of tabs that an earlier arrangement had must not stay behind over other views."""
    window.resize(*size)
    for _ in range(2):
        window.docks.arrange()
        QApplication.processEvents()
    rows = window.findChildren(QTabBar, options=Qt.FindChildOption.FindDirectChildrenOnly)
    seen = [row for row in rows if row.isVisible() and window.rect().intersects(row.geometry())]
    tabs = [row.tabText(place) for row in seen for place in range(row.count())]
    assert len(tabs) == len(set(tabs)) > 1
    assert all(row.count() > 1 for row in seen)
