"""Access: what screen readers find, hit areas, keys for views, and dialogs on small screens at large text.

The tree is read through Qt by `docs/read_aloud.py`, which looks at every dialog when run by hand with
`docs/look_at_views.py`; here at the window, its views, and the dialogs with the most kinds of controls.
"""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QAccessible, QColor
from PySide6.QtWidgets import QApplication, QComboBox, QPushButton, QVBoxLayout, QWidget

from docs.rare_dialogs import RARE
from docs.read_aloud import faults
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.theme import Choice as Choice_
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.layout import float_place
from shaftscore_app.widgets import dialog as dialog_module
from shaftscore_app.widgets import dialog_body
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import WindowMaker
from tests.app.machines import gates

DIALOGS = ("file.new", "edit.settings", "lane.new", "lane.load", "machine.rules")
"""Commands whose dialogs have every kind of control."""


def _open(window: MainWindow, command_id: str) -> Dialog:
    window.actions_table.refresh()
    window.actions_table[command_id].trigger()
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    return dialog


def test_everything_that_is_seen_has_a_name_and_is_large_enough_to_be_hit(qtbot, window: MainWindow) -> None:
    """Least side 24 px: Web Content Accessibility Guidelines 2.2, success criterion 2.5.8."""
    window.document.select_lane("left")
    found = list(faults(window))
    for name in window.docks.names():
        window.docks.show(name)
        QApplication.processEvents()
        found += [f"{name}: {fault}" for fault in faults(window.docks[name])]
    for command_id in DIALOGS:
        dialog = _open(window, command_id)
        QApplication.processEvents()
        found += [f"{command_id}: {fault}" for fault in faults(dialog)]
        dialog.done(0)
    assert not found


def test_the_reader_finds_what_is_wrong(qtbot, theme: Theme) -> None:
    holder = QWidget()
    qtbot.addWidget(holder)
    column = QVBoxLayout(holder)
    nameless, tagged = QPushButton(), QPushButton("<b>Go</b>")
    small, choice = QPushButton("Add\tIns"), QComboBox()
    small.setFixedSize(40, 20)
    choice.addItems(["first"])
    choice.setAccessibleName("Goal")
    for widget in (nameless, tagged, small, choice):
        column.addWidget(widget)
    holder.show()
    found = "\n".join(faults(holder))
    for fault in ("has no name", "has a tag", "has a tab", "is 40 x 20 px", "is named by no label"):
        assert fault in found


def test_a_choice_is_named_by_its_label_and_not_by_its_value(qtbot, theme: Theme) -> None:
    holder = QWidget()
    qtbot.addWidget(holder)
    choice: Choice[int] = Choice(theme, "Goal", holder)
    choice.set_options([Option(1, "Largest margin")])
    holder.show()
    part = QAccessible.queryAccessibleInterface(choice)
    ((label, _relation),) = part.relations(QAccessible.RelationFlag.Label)
    assert label.text(QAccessible.Text.Name) == "Goal"


def test_a_box_is_ticked_over_all_of_its_height(qtbot, theme: Theme) -> None:
    box = TickBox("Snap")
    qtbot.addWidget(box)
    box.resize(200, 24)
    box.show()
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(6, 1))
    assert box.isChecked()
    qtbot.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(190, 12))
    assert box.isChecked()


def test_no_dialog_is_larger_than_the_screen_at_200_per_cent(
    qtbot, make_window: WindowMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    window = make_window(gates())
    window.theme.set_scale(2.0)
    try:
        for room in (QSize(1280, 800), QSize(1920, 1200)):
            for module in (dialog_body, dialog_module):
                monkeypatch.setattr(module, "room_of", lambda _widget, room=room: room - dialog_body.FRAME)
            for name in ("export", "exported", "sheet"):
                _fits(RARE[name](window), room)
    finally:
        window.theme.set_scale(1.0)


def _fits(dialog: Dialog, room: QSize) -> None:
    """Open a dialog, and hold that it and all its buttons are on the screen."""
    dialog.open()
    QApplication.processEvents()
    assert dialog.size().boundedTo(room) == dialog.size(), dialog
    for button in (one for one in dialog.findChildren(QPushButton) if one.parent() is dialog):
        place = QRect(button.mapTo(dialog, QPoint(0, 0)), button.size())
        assert dialog.rect().contains(place), button.text()
    dialog.done(0)
    dialog.deleteLater()


def test_a_dialog_on_a_small_screen_scrolls_to_what_tab_reaches(
    qtbot, make_window: WindowMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (dialog_body, dialog_module):
        monkeypatch.setattr(module, "room_of", lambda _widget: QSize(500, 260))
    window = make_window(gates())
    dialog = Dialog(window, window.theme, "Title", "Heading")
    boxes = [TickBox(f"Box {number}") for number in range(20)]
    for box in boxes:
        dialog.body.addWidget(box)
    dialog.open()
    assert dialog.height() <= 260
    boxes[0].setFocus()
    for _ in range(19):
        qtbot.keyClick(dialog.focusWidget(), Qt.Key.Key_Tab)
    assert dialog.focusWidget() is boxes[19]
    assert not boxes[19].visibleRegion().isEmpty()
    assert boxes[0].visibleRegion().isEmpty()


# Views by keys


def _press(qtbot, key: Qt.Key, *modifiers: Qt.KeyboardModifier) -> None:
    held = Qt.KeyboardModifier.NoModifier
    for modifier in modifiers:
        held |= modifier
    qtbot.keyClick(QApplication.focusWidget(), key, held)


def test_a_view_is_sized_floated_docked_and_closed_by_keys(qtbot, window: MainWindow) -> None:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    window.docks.show("load")
    dock = window.docks["load"]
    qtbot.waitUntil(lambda: dock.isAncestorOf(QApplication.focusWidget()))
    before = dock.size()
    _press(qtbot, Qt.Key.Key_F7)
    qtbot.waitUntil(lambda: dock.width() > before.width())
    _press(qtbot, Qt.Key.Key_F7, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: dock.height() > before.height())
    _press(qtbot, Qt.Key.Key_F9)
    qtbot.waitUntil(dock.isFloating)
    window.docks.toggle_float(dock)  # the keys of a window of its own need a window manager
    window.docks.show("load")
    qtbot.waitUntil(lambda: dock.isAncestorOf(QApplication.focusWidget() or window))
    _press(qtbot, Qt.Key.Key_F9, Qt.KeyboardModifier.ShiftModifier)
    qtbot.waitUntil(lambda: not dock.isVisible())
    assert window.focusWidget() is window.diagram
    _press(qtbot, Qt.Key.Key_F9)
    assert "Go to a view first" in window.status._held.whole_text


def test_a_floating_view_is_beside_the_window_where_there_is_room(theme: Theme) -> None:
    class Screen:
        def __init__(self, width: int) -> None:
            self.area = QRect(0, 0, width, 1200)

        def availableGeometry(self) -> QRect:
            return self.area

    class Placed:
        def __init__(self, frame: QRect, screen: int) -> None:
            self.frame, self.one = frame, Screen(screen)

        def frameGeometry(self) -> QRect:
            return self.frame

        def screen(self) -> Screen:
            return self.one

    beside = float_place(Placed(QRect(0, 0, 1280, 800), 1920), QSize(300, 200), theme)
    assert beside.left() > 1280
    assert 520 <= beside.width() <= 640
    left = float_place(Placed(QRect(1100, 0, 820, 800), 1920), QSize(300, 200), theme)
    assert left.right() < 1100
    over = float_place(Placed(QRect(0, 0, 1920, 1200), 1920), QSize(300, 200), theme)
    assert over.size() == QSize(760, 520)
    assert QRect(0, 0, 1920, 1200).contains(over)


def test_titles_of_tabs_are_whole_and_the_row_scrolls(qtbot, window: MainWindow) -> None:
    for name in ("followers", "program", "bring_up", "operation"):
        window.docks.show(name)
    window.resize(900, 700)
    bar = next(bar for bar in window.findChildren(QWidget) if _has_tab(bar, "Operation"))
    qtbot.waitUntil(lambda: bar.tabText(bar.currentIndex()) == "Operation")
    for index in range(bar.count()):
        needed = bar.fontMetrics().horizontalAdvance(bar.tabText(index))
        assert bar.tabRect(index).width() >= needed
    assert bar.rect().contains(bar.tabRect(bar.currentIndex()).topLeft())


def _has_tab(bar: QWidget, title: str) -> bool:
    from PySide6.QtWidgets import QTabBar

    return isinstance(bar, QTabBar) and title in [bar.tabText(index) for index in range(bar.count())]


def test_the_default_arrangement_adapts_to_the_text_until_somebody_changes_it(
    qtbot, window: MainWindow
) -> None:
    docks = window.docks
    qtbot.waitUntil(lambda: not docks.is_behind(docks["load"].widget()))
    try:
        window.theme.set_scale(2.0)  # 1600 px are 800 of the design: one group of tabs, no right column
        qtbot.waitUntil(lambda: not docks["disc"].isVisible())
        assert docks["load"] in window.tabifiedDockWidgets(docks["findings"])
        window.theme.set_scale(1.0)
        qtbot.waitUntil(lambda: docks["disc"].isVisible() and not docks._is_arranging)
        docks["stack"].close()
        window.theme.set_scale(2.0)
        assert docks["disc"].isVisible()
        assert not docks["stack"].isVisible()
    finally:
        window.theme.set_scale(1.0)


# Findings and lanes


def test_a_finding_is_read_with_place_and_fix_and_scrolled_to(window: MainWindow) -> None:
    row = window.findings.model.rows[0]
    assert row.words.where in row.spoken
    assert row.spoken.index(row.words.what) < row.spoken.index("Fix: ")
    assert row.cure_text in row.spoken
    # and what another view chooses is scrolled to
    window.findings.list.setFixedHeight(50)
    last = window.findings.model.rows[-1].finding
    window.document.select_finding(last.key)
    row = window.findings.list.visualRect(window.findings.list.currentIndex())
    assert window.findings.model.rows[window.findings.list.currentIndex().row()].finding.key == last.key
    assert 0 <= row.top() < 50


def test_all_words_of_findings_are_shown_where_there_is_room(qtbot, window: MainWindow) -> None:
    shown = window.findings.list
    window.resizeDocks([window.docks["findings"]], [380], Qt.Orientation.Vertical)
    qtbot.waitUntil(lambda: shown.viewport().height() > 250)
    window.resizeDocks([window.docks["findings"]], [260], Qt.Orientation.Horizontal)
    qtbot.waitUntil(lambda: shown.viewport().width() <= 400)
    heights = [shown.visualRect(shown.model().index(n, 0)).height() for n in range(shown.model().rowCount())]
    assert max(heights) > 42
    shown.setFixedHeight(60)
    qtbot.waitUntil(lambda: shown.visualRect(shown.model().index(0, 0)).height() == 42)


def test_lanes_are_searched_for_and_filtered_above_the_headers(qtbot, window: MainWindow) -> None:
    diagram, document = window.diagram, window.document
    search = diagram.lane_filter
    qtbot.keyClicks(search.text, "flap")
    assert [lane.id for lane in document.project.lanes if lane.id not in diagram.view.undrawn] == ["flap"]
    qtbot.keyClick(search.text, Qt.Key.Key_Return)
    assert document.selection.lane_id == "flap"
    assert window.focusWidget() is diagram
    qtbot.keyClick(search.text, Qt.Key.Key_Escape)
    assert not diagram.view.undrawn
    qtbot.mouseClick(search.found, Qt.MouseButton.LeftButton)
    found = {lane for finding in document.report.findings for lane in finding.lanes}
    assert diagram.view.undrawn == {lane.id for lane in document.project.lanes} - found
    diagram.show_all_lanes()
    assert not search.found.isChecked()


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_cursor_has_a_casing_over_the_fill_of_a_level(
    qtbot, theme: Theme, document: Document, choice: Choice_
) -> None:
    """The contrast of the two colours is in test_theme; here, that they lie beside one another."""
    theme.set_choice(choice)
    document.set_cursor(126.0)  # within a block of the first lane, at its upper level
    diagram = TimingDiagram(document, theme)
    qtbot.addWidget(diagram)
    diagram.resize(1200, 400)
    diagram.show()
    strip = diagram.scene.strip("left")
    assert strip is not None
    y = round(strip.y(10.0) + strip.body - 3)
    x = diagram.scene.frame.axis.places(126.0)[0]
    picture = diagram.viewport().grab().toImage()
    ratio = picture.devicePixelRatio()
    row = [picture.pixelColor(round((x + by) * ratio), round(y * ratio)) for by in range(-5, 6)]
    far = [_distance(color, theme.color("strip")) for color in row]
    assert _distance(row[0], theme.color("l1")) < 30
    assert min(far[2:5]) < 60
    assert min(_distance(color, theme.color("accent")) for color in row[4:7]) < 60


def _distance(first: QColor, second: QColor) -> int:
    both = zip(first.getRgb()[:3], second.getRgb()[:3], strict=True)
    return max(abs(one - other) for one, other in both)
