"""Whatever is typed into a form, it says what is wrong or takes it; it never fails."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPlainTextEdit

from shaftscore_app.dialogs.form import FormDialog
from shaftscore_app.forms.parts import FORMS
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.field import Field
from tests.app.conftest import WindowMaker
from tests.app.machines import fed_gates

NUMBERS = ("-1", "0", "1e300", "-1e300", "nan", "inf", "1e-4", "٣", "1,5", "0x10", "7 mm")
ODD = ("", " ", "∞", "1 2", "°", "a" * 300, *NUMBERS)
"""Things that people type, or paste."""


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    made = make_window(fed_gates())
    made.document.select_lane("left")
    return made


def test_odd_entries_are_said_or_taken(window: MainWindow) -> None:
    for command_id in (*FORMS, "lane.follower", "lane.disc"):
        window.document.new(fed_gates())  # what was taken before is not wanted here
        window.document.select_lane("left")
        before = window.document.project
        window.actions_table[command_id].trigger()
        (dialog,) = [one for one in window.findChildren(FormDialog) if one.isVisible()]
        _fill_oddly(dialog)
        dialog.apply()
        assert window.document.project is before or not dialog.isVisible(), command_id
        dialog.reject()


def _fill_oddly(dialog: FormDialog) -> None:
    """Type every odd thing into every field, and all of them into every text."""
    fields = [field for field in dialog.findChildren(Field) if field.isVisible()]
    assert fields or dialog.findChildren(QPlainTextEdit) or dialog.editor.controls()
    for place in range(len(fields)):
        for text in ODD:
            own = [field for field in dialog.findChildren(Field) if field.isVisible()]
            if place < len(own):
                own[place].setText(text)
                own[place].setModified(True)
                own[place].textEdited.emit(text)
                own[place].editingFinished.emit()
    for lines in dialog.findChildren(QPlainTextEdit):
        lines.setPlainText("\n".join(ODD * 50))


def test_odd_entries_in_properties_are_said_or_taken(window: MainWindow) -> None:
    lane = window.properties.lane
    for fold in lane._folds:
        fold.setChecked(True)
    for field in [own for own in lane.findChildren(Field) if own.isVisible()]:
        for text in ODD:
            field.setText(text)
            field.setModified(True)
            field.textEdited.emit(text)
            field.editingFinished.emit()
            assert window.document.committed.lane("left").id == "left"


def _opened(window: MainWindow, command_id: str) -> FormDialog:
    window.actions_table[command_id].trigger()
    (dialog,) = [one for one in window.findChildren(FormDialog) if one.isVisible()]
    return dialog


def test_what_cannot_be_read_stays_in_its_field_marked_and_explained(qtbot, window: MainWindow) -> None:
    """Neither Tab nor another line of the list loses it; OK refuses, and what is corrected is taken."""
    dialog = _opened(window, "machine.flow")
    dialog.activateWindow()
    tab = dialog.editor.lists["supplies"]  # type: ignore[attr-defined]
    field = tab.field_at("[0].rate_per_min").focusProxy()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    field.selectAll()
    qtbot.keyClicks(field, "three")
    qtbot.keyClick(field, Qt.Key.Key_Tab)
    assert not field.hasFocus()
    assert field.text() == "three"
    said = tab.form.row("rate_per_min").said
    assert said.isVisible()
    assert "three" in said.text()
    tab.select(1)
    assert (tab.list.currentRow(), field.text()) == (0, "three")
    dialog.apply()
    assert dialog.isVisible()
    assert "three" in dialog.fault
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    field.selectAll()
    qtbot.keyClicks(field, "4")
    qtbot.keyClick(field, Qt.Key.Key_Tab)
    assert said.isHidden()
    dialog.apply()
    assert not dialog.isVisible()
    assert window.document.committed.flow.supplies[0].rate_per_min == 4.0  # type: ignore[union-attr]


def test_what_was_typed_of_a_lane_is_not_shown_of_another(qtbot, window: MainWindow) -> None:
    """It is put back when something else is selected, which is said."""
    field = next(
        one
        for one in window.properties.lane.findChildren(Field)
        if one._quantity.unit == "mm" and one.isVisible()
    )
    said: list[str] = []
    window.document.refused.connect(said.append)
    window.activateWindow()
    field.setFocus()
    qtbot.waitUntil(field.hasFocus)
    qtbot.keyClicks(field, "wide")
    window.diagram.setFocus()
    assert field.text() == "wide"
    window.document.select_lane("right")
    assert "wide" not in field.text()
    assert [line for line in said if "wide" in line]
