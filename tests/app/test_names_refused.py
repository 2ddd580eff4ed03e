"""Names that no file could hold are refused where they are typed, in words, and change nothing."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

from shaftscore.edits.state_table import split_text, table_text
from shaftscore.model.base import replaced
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.widgets.field import Field
from tests.app.machines import clean_gates

BAD = {
    "\u202egpj.exe": "character 1 (U+202E) changes the direction of writing",
    "a\u2067b": "character 2 (U+2067) changes the direction of writing",
    "ab\ufffe": "character 3 (U+FFFE) is a control character",
}


def _paste(qtbot, field: Field, text: str) -> None:
    QGuiApplication.clipboard().setText(text)
    field.setFocus()
    field.selectAll()
    qtbot.keyClick(field, Qt.Key.Key_V, Qt.KeyboardModifier.ControlModifier)
    assert field.text() == text
    qtbot.keyClick(field, Qt.Key.Key_Return)


@pytest.mark.parametrize("text", BAD, ids=ascii)
@pytest.mark.parametrize("which", ["machine", "lane"])
def test_a_name_that_cannot_be_is_refused_in_words(qtbot, window: MainWindow, which: str, text: str) -> None:
    window.activateWindow()
    qtbot.waitUntil(window.isActiveWindow)
    before = window.document.committed
    if which == "lane":
        window.document.select_lane("left")
    field = getattr(window.properties, which).name
    _paste(qtbot, field, text)
    assert BAD[text] in field.fault
    assert not set(field.fault) & {"\u202e", "\u2067", "\ufffe"}
    assert window.document.committed is before


def test_a_copied_state_table_holds_no_formula_and_comes_back() -> None:
    project = clean_gates()
    lanes = (replaced(project.lanes[0], name="=1+1"), *project.lanes[1:])
    text = table_text(replaced(project, lanes=lanes))
    assert "\t=1+1" not in text
    assert "\t'=1+1" in text
    assert "=1+1" in split_text(text)[0]
