"""Whatever is typed into a form, it says what is wrong or takes it; it never fails."""

from __future__ import annotations

import pytest
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
