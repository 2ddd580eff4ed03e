"""Habits: settings, find a lane, name and notes, names of controls, tooltips, splitters, notifications."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QToolButton, QWidget

from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.menus.actions import COMMANDS
from shaftscore_app.runtime.settings import Settings, Values
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import WindowMaker, repeat_until


def _open(qtbot, window: MainWindow, command_id: str) -> Dialog:
    window.actions_table.refresh()
    window.actions_table[command_id].trigger()
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    dialog.activateWindow()
    qtbot.waitUntil(dialog.isActiveWindow)
    return dialog


def _press(qtbot, dialog: Dialog, text: str) -> None:
    qtbot.mouseClick(dialog.button(text), Qt.MouseButton.LeftButton)


# Settings


def test_settings_are_used_at_once_and_remembered(qtbot, window: MainWindow, settings: Settings) -> None:
    dialog = _open(qtbot, window, "edit.settings")
    qtbot.keyClick(dialog.theme, Qt.Key.Key_Down)
    repeat_until(
        lambda: dialog.theme.shown() == "dark", lambda: qtbot.keyClick(dialog.theme, Qt.Key.Key_Down)
    )
    for field, text in ((dialog.scale, "125 %"), (dialog.grid, "2.5")):
        field.setFocus()
        field.selectAll()
        qtbot.keyClicks(field, text)
    dialog.paper.setFocus()
    repeat_until(
        lambda: dialog.paper.shown() == "Letter", lambda: qtbot.keyClick(dialog.paper, Qt.Key.Key_Down)
    )
    dialog.checks["snap"].setFocus()
    qtbot.keyClick(dialog.checks["snap"], Qt.Key.Key_Space)
    qtbot.keyClick(dialog.checks["reduce_motion"], Qt.Key.Key_Space)
    _press(qtbot, dialog, "OK")
    values = Settings(settings._path).values
    assert (values.theme, values.text_scale, values.grid_deg) == ("dark", 1.25, 2.5)
    assert (values.snap, values.reduce_motion, values.paper) == (False, True, "Letter")
    assert window.theme.dark
    assert window.theme.scale == 1.25
    assert window.toolbar.grid.shown() == 2.5
    assert not window.diagram.habits.snapping
    assert window.player.reduce_motion
    assert not window.actions_table["block.snap"].isChecked()
    assert window.actions_table["view.reduce_motion"].isChecked()
    window.groups.views.set_scale(1.0)


@pytest.mark.parametrize("typed", ["79", "201 %", "big"])
def test_a_text_size_that_cannot_be_is_said(qtbot, window: MainWindow, typed: str) -> None:
    dialog = _open(qtbot, window, "edit.settings")
    dialog.scale.setFocus()
    dialog.scale.selectAll()
    qtbot.keyClicks(dialog.scale, typed)
    _press(qtbot, dialog, "OK")
    assert dialog.isVisible() or window.theme.scale == 1.0
    assert window.settings.values.text_scale == 1.0


def test_the_usual_settings_come_back_by_a_button(qtbot, window: MainWindow) -> None:
    window.settings.change(theme="dark", snap=False, grid_deg=5.0)
    dialog = _open(qtbot, window, "edit.settings")
    _press(qtbot, dialog, "Restore defaults")
    assert (dialog.theme.shown(), dialog.grid.shown(), dialog.checks["snap"].shown()) == ("system", 0.5, True)
    _press(qtbot, dialog, "Cancel")
    assert window.settings.values.theme == "dark"


def test_the_usual_motion_is_the_one_the_system_asks_for(qtbot, window: MainWindow) -> None:
    window.settings.usual = Values(reduce_motion=True)
    dialog = _open(qtbot, window, "edit.settings")
    assert not dialog.checks["reduce_motion"].shown()
    _press(qtbot, dialog, "Restore defaults")
    assert dialog.checks["reduce_motion"].shown()
    _press(qtbot, dialog, "OK")
    assert window.player.reduce_motion


def test_every_setting_of_a_person_is_in_the_form(qtbot, window: MainWindow) -> None:
    dialog = _open(qtbot, window, "edit.settings")
    kept_by_use = {"version", "layout", "layout_version", "geometry", "recent", "exported", "next_steps"}
    shown = {"theme", "text_scale", "grid_deg", "paper", *dialog.checks}
    assert shown | kept_by_use == set(Values.model_fields)


# Find a lane


def test_a_lane_is_found_by_a_part_of_its_name(qtbot, window: MainWindow) -> None:
    dialog = _open(qtbot, window, "edit.find")
    assert dialog.list.count() == 3
    qtbot.keyClicks(dialog.text, "fl")
    assert [dialog.list.item(0).text(), dialog.list.count()] == ["A3  Flap, Gates", 1]
    qtbot.keyClick(dialog.text, Qt.Key.Key_Return)
    assert not dialog.isVisible()
    assert window.document.selection.lane_id == "flap"
    assert window.focusWidget() is window.diagram


def test_arrows_walk_through_what_was_found(qtbot, window: MainWindow) -> None:
    window.diagram.set_group_closed("Gates", True)
    dialog = _open(qtbot, window, "edit.find")
    qtbot.keyClick(dialog.text, Qt.Key.Key_Down)
    qtbot.keyClick(dialog.text, Qt.Key.Key_Return)
    assert window.document.selection.lane_id == "right"
    assert window.diagram.frame.rows.of_lane("right") is not None


def test_nothing_found_goes_nowhere(qtbot, window: MainWindow) -> None:
    dialog = _open(qtbot, window, "edit.find")
    qtbot.keyClicks(dialog.text, "zebra")
    assert not dialog.button("Go there").isEnabled()


def test_name_and_notes_are_one_step(qtbot, window: MainWindow) -> None:
    dialog = _open(qtbot, window, "machine.notes")
    dialog.name.selectAll()
    qtbot.keyClicks(dialog.name, "Gate pair")
    dialog.notes.setFocus()
    qtbot.keyClicks(dialog.notes, "For the fair.")
    _press(qtbot, dialog, "OK")
    assert (window.document.project.name, window.document.project.notes) == ("Gate pair", "For the fair.")
    assert window.document.undo_names == ("Change name and notes",)


# Names and tooltips


def test_every_control_of_every_dialog_has_a_name(qtbot, window: MainWindow) -> None:
    window.document.select_lane("left")
    for command in COMMANDS:
        window.actions_table.refresh()
        action = window.actions_table[command.id]
        if not command.title.endswith("…") or not action.isEnabled() or command.id in ASKS_THE_SYSTEM:
            continue
        action.trigger()
        for dialog in [one for one in window.findChildren(Dialog) if one.isVisible()]:
            unnamed = [control for control in _controls(dialog) if not _name(control)]
            assert not unnamed, (command.id, unnamed)
            dialog.close()


ASKS_THE_SYSTEM = {"file.open", "file.save_as", "file.print", "lane.points", "file.manual", "view.go_to"}
"""Commands that open a dialog of the system, or none."""


def test_every_control_of_the_window_has_a_name(qtbot, window: MainWindow) -> None:
    for section in (window.properties.lane, window.properties.several, window.properties.block):
        for control in _controls(section, shown=False):
            assert _name(control), control
    window.document.select_lane("left")
    assert not [control for control in _controls(window) if not _name(control)]


def _controls(root: QWidget, *, shown: bool = True) -> list[QWidget]:
    """Return all widgets that take the focus or a click."""
    from PySide6.QtWidgets import (
        QAbstractButton,
        QAbstractItemView,
        QAbstractSlider,
        QComboBox,
        QLineEdit,
        QPlainTextEdit,
    )

    kinds = (QAbstractButton, QLineEdit, QComboBox, QAbstractItemView, QPlainTextEdit, QAbstractSlider)
    found = [child for child in root.findChildren(QWidget) if isinstance(child, kinds)]
    own = [child for child in found if not child.objectName().startswith("qt_")]
    # Scroll bars and the lists of choices are Qt's own and carry the names of what they belong to.
    return [child for child in own if not _is_qts(child) and (child.isVisible() or not shown)]


def _is_qts(child: QWidget) -> bool:
    from PySide6.QtWidgets import QComboBox, QHeaderView, QScrollBar

    over = child.parent()
    while over is not None and not isinstance(over, QComboBox):
        over = over.parent()
    return isinstance(child, QScrollBar | QHeaderView) or over is not None


def _name(control: QWidget) -> str:
    text = getattr(control, "text", None)
    return control.accessibleName() or (text() if callable(text) else "") or control.toolTip()


def test_tooltips_of_the_toolbar_say_name_keys_and_what_it_does(window: MainWindow) -> None:
    window.actions_table.refresh()
    told = 0
    for button in window.toolbar.findChildren(QToolButton):
        action = button.defaultAction()
        if action is None or not action.objectName():
            continue
        command = next(c for c in COMMANDS if c.id == action.objectName())
        name = button.toolTip().partition(":")[0]
        assert ":" in button.toolTip(), button.toolTip()
        assert bool(command.keys) == ("(" in name), button.toolTip()
        told += 1
    assert told > 10


# The frame


def test_splitters_are_hit_within_eight_px(qtbot, window: MainWindow) -> None:
    """The cursor over a splitter says that it can be dragged; it does so over eight px."""
    right = window.docks["disc"].geometry()
    y = right.center().y()
    hit = [x for x in range(right.left() - 16, right.left() + 4) if _is_splitter(qtbot, window, x, y)]
    assert len(hit) >= 8


def _is_splitter(qtbot, window: MainWindow, x: int, y: int) -> bool:
    qtbot.mouseMove(window, QPoint(x, y))
    return window.cursor().shape() == Qt.CursorShape.SplitHCursor


def test_the_status_bar_says_counts_and_margin(window: MainWindow) -> None:
    texts = [label.text().strip() for label in window.status.findChildren(QToolButton)]
    assert any(text.endswith(("error", "errors")) for text in texts)


@pytest.mark.parametrize(("took", "told"), [(12.0, "The export has ended"), (9.0, None)])
def test_the_end_of_long_work_is_told(make_window: WindowMaker, took: float, told: str | None) -> None:
    window = make_window(None)
    times = [100.0]
    window.notices.clock = lambda: times[0]
    window.jobs.busy_changed.emit("export", True)
    times[0] += took
    window.jobs.busy_changed.emit("export", False)
    assert window.notices.last == told


def test_what_nobody_waits_for_is_never_told(make_window: WindowMaker) -> None:
    window = make_window(None)
    times = [100.0]
    window.notices.clock = lambda: times[0]
    window.jobs.busy_changed.emit("late", True)
    times[0] += 60.0
    window.jobs.busy_changed.emit("late", False)
    assert window.notices.last is None
