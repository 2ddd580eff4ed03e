"""What each view says when it has nothing to show, and the button that it has for it."""

from __future__ import annotations

from PySide6.QtCore import Qt

from shaftscore.model import replaced
from shaftscore_app.dialogs.lanes import LaneDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.views.empty_page import EmptyPage
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates

WITHOUT = {"properties", "coverage", "flow", "operation"}
"""Views that always show something of the machine, and two which are tested by themselves."""


def _page(qtbot, window: MainWindow, name: str) -> EmptyPage:
    """Return the page of a view, once it is shown."""
    window.docks.show(name)
    (page,) = window.docks[name].findChildren(EmptyPage)
    qtbot.waitUntil(page.button.isVisible)
    return page


def test_each_view_of_a_machine_without_lanes_says_so_and_has_a_button(
    qtbot, make_window: WindowMaker
) -> None:
    window = make_window(None)
    for started, text in ((False, "New machine…"), (True, "New lane…")):
        if started:
            window.document.new()
        for name in set(window.docks.names()) - WITHOUT:
            page = _page(qtbot, window, name)
            assert (page.button.text(), page.text().endswith(".")) == (text, True), name
    qtbot.waitUntil(window.empty.button.isVisible)
    qtbot.mouseClick(window.empty.button, Qt.MouseButton.LeftButton)
    (dialog,) = window.findChildren(LaneDialog)
    dialog.done(0)


def test_a_lane_without_blocks_or_load_leads_to_where_they_are_described(
    qtbot, make_window: WindowMaker
) -> None:
    made = clean_gates()
    window = make_window(replaced(made, lanes=tuple(replaced(lane, blocks=()) for lane in made.lanes)))
    window.document.select_lane("right")
    for name in ("disc", "motion"):
        qtbot.mouseClick(_page(qtbot, window, name).button, Qt.MouseButton.LeftButton)
        table = window.docks["table"]
        qtbot.waitUntil(table.isVisible)
        assert table.widget().current == (2, 1)  # type: ignore[attr-defined]
    assert _page(qtbot, window, "load").button.text() == "Describe load…"
    window.document.select_lane(None)
    page = _page(qtbot, window, "followers")
    assert page.button.text() == "Select Left"
    qtbot.mouseClick(page.button, Qt.MouseButton.LeftButton)
    assert window.document.selection.lane_id == "left"
    qtbot.waitUntil(page.isHidden)
