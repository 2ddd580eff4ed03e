"""An error of the program in a handler of events is told, and the program lives on."""

from __future__ import annotations

import subprocess
import sys

import pytest

from shaftscore_app.timing.widget import TimingDiagram

PROGRAM = """
import sys
from PySide6.QtCore import QCoreApplication, QEvent, QPointF, Qt, QTimer
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram

class Broken(TimingDiagram):
    def mousePressEvent(self, event):
        (lambda one: one)()  # a TypeError, made by the interpreter itself

app = QApplication([])
sys.excepthook = lambda kind, error, trace: print("told", kind.__name__)
diagram = Broken(Document(), Theme(app, "light"))
diagram.show()
place, left = QPointF(300.0, 200.0), Qt.MouseButton.LeftButton
kind, none = QEvent.Type.MouseButtonPress, Qt.KeyboardModifier.NoModifier
press = QMouseEvent(kind, place, place, left, left, none)
QTimer.singleShot(0, lambda: QCoreApplication.postEvent(diagram.viewport(), press))
QTimer.singleShot(300, app.quit)
app.exec()
print("lives on")
"""


@pytest.mark.gui
def test_an_error_in_a_handler_does_not_end_the_program() -> None:
    run = subprocess.run(
        [sys.executable, "-c", PROGRAM], capture_output=True, text=True, timeout=120, check=False
    )
    assert run.returncode == 0, run.stderr
    assert run.stdout.splitlines() == ["told TypeError", "lives on"]


def test_the_diagram_overrides_no_dispatcher_of_events() -> None:
    assert "event" not in vars(TimingDiagram)
    assert "viewportEvent" not in vars(TimingDiagram)
