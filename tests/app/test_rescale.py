"""Dialogs that are open while the size of the text changes."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QAbstractButton, QDialog, QLabel

from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.theme.rescale import rescale
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates

BESIDE = ("prove.arrange", "machine.fastest", "machine.stacking", "prove.chance", "help.guide")
"""Commands whose dialogs stand beside the window, where the text size can be changed meanwhile."""


def _opened(qtbot, window: MainWindow, command_id: str) -> QDialog:
    window.actions_table.refresh()
    window.actions_table[command_id].trigger()
    (dialog,) = [one for one in window.findChildren(Dialog) if one.isVisible()]
    return dialog


def _fonts(dialog: QDialog) -> list[int]:
    parts = [*dialog.findChildren(QLabel), *dialog.findChildren(QAbstractButton)]
    return [part.font().pixelSize() for part in parts]


@pytest.mark.parametrize("command_id", BESIDE)
def test_a_dialog_beside_the_window_follows_the_text_size_as_if_opened_then(
    qtbot, make_window: WindowMaker, command_id: str
) -> None:
    window = make_window(clean_gates())
    dialog = _opened(qtbot, window, command_id)
    small = _fonts(dialog)
    window.theme.set_scale(2.0)
    changed = _fonts(dialog)
    assert changed != small
    dialog.done(0)
    qtbot.waitUntil(lambda: not [one for one in window.findChildren(Dialog) if one.isVisible()])
    fresh = _opened(qtbot, window, command_id)
    assert changed == pytest.approx(_fonts(fresh), abs=1)
    assert dialog is not fresh
    window.theme.set_scale(1.0)
    assert _fonts(fresh) == pytest.approx(small, abs=1)


def test_gaps_and_limits_follow_and_what_has_none_gets_none(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    dialog = Dialog(window, window.theme, "Title", "Heading")
    qtbot.addWidget(dialog)
    free, fixed = dialog.say("Free"), dialog.say("Fixed")
    fixed.setFixedSize(80, 20)
    spacing, least = dialog.body.spacing(), dialog.minimumWidth()
    rescale(dialog, 1.5)
    assert (fixed.width(), fixed.height()) == (120, 30)
    assert (free.minimumWidth(), free.maximumWidth()) == (0, 16777215)
    assert (dialog.body.spacing(), dialog.minimumWidth()) == (round(spacing * 1.5), round(least * 1.5))
