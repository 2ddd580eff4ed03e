"""What waits until a window was painted."""

from __future__ import annotations

from PySide6.QtCore import QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QVBoxLayout, QWidget
from pytestqt.qtbot import QtBot

from shaftscore_app.runtime.first_painting import FirstPainting


class Painted(QWidget):
    """Keeps in a list that it was painted."""

    def __init__(self, told: list[str], name: str) -> None:
        super().__init__()
        self._told, self._name = told, name

    def paintEvent(self, _event: QPaintEvent) -> None:
        self._told.append(self._name)


def test_it_comes_once_after_the_window_and_what_is_in_it_were_painted(qtbot: QtBot) -> None:
    told: list[str] = []
    window, within = Painted(told, "window"), Painted(told, "within")
    qtbot.addWidget(window)
    within.setMinimumSize(40, 40)
    QVBoxLayout(window).addWidget(within)
    FirstPainting(window, lambda: told.append("then"), most_ms=60_000)
    window.show()
    qtbot.waitUntil(lambda: "then" in told)
    assert told == ["window", "within", "then"]
    window.update()
    qtbot.waitUntil(lambda: told.count("window") == 2)
    assert told.count("then") == 1
    assert not window.findChildren(FirstPainting)


def test_a_window_that_nobody_sees_is_not_waited_for_without_end(qtbot: QtBot) -> None:
    told: list[str] = []
    window = QWidget()
    qtbot.addWidget(window)
    FirstPainting(window, lambda: told.append("then"), most_ms=10)
    qtbot.waitUntil(lambda: told == ["then"])
    assert not window.findChildren(FirstPainting)


def test_it_goes_with_a_window_that_goes_before(qtbot: QtBot) -> None:
    told: list[str] = []
    window = QWidget()
    FirstPainting(window, lambda: told.append("then"), most_ms=10)
    with qtbot.waitSignal(window.destroyed):
        window.deleteLater()
    later = QTimer(singleShot=True)
    with qtbot.waitSignal(later.timeout):
        later.start(30)
    assert not told
