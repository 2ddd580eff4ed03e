"""Painting after a change that kept the window busy."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QApplication, QWidget

from shaftscore_app.runtime.late_paint import LatePaint, paint_late
from shaftscore_app.runtime.turns import PAINTED, UNPAINTED, Later
from shaftscore_app.theme import Theme


class NotingCanvas(QWidget):
    """Notes in a list when it paints."""

    def __init__(self, seen: list[str]) -> None:
        super().__init__()
        self.seen = seen

    def paintEvent(self, _event: QPaintEvent) -> None:
        self.seen.append("painted")


@pytest.fixture
def canvas(qtbot) -> NotingCanvas:
    made = NotingCanvas([])
    qtbot.addWidget(made)
    made.show()
    qtbot.waitUntil(lambda: "painted" in made.seen)
    made.seen.clear()
    return made


class Waiting(QObject):
    """Is told by a posted event, as keys are that wait; tells `does`."""

    def __init__(self, parent: QObject, does: Callable[[], object]) -> None:
        super().__init__(parent)
        self.does = does
        self.posted: list[QEvent] = []

    def post(self) -> None:
        self.posted.append(QEvent(QEvent.Type.User))
        QCoreApplication.postEvent(self, self.posted[-1])

    def customEvent(self, _event: QEvent) -> None:
        self.does()


def test_what_waits_is_heard_before_the_window_is_painted(qtbot, canvas: NotingCanvas) -> None:
    canvas.update()
    paint_late(canvas)
    first = Waiting(canvas, lambda: (canvas.seen.append("heard"), second.post()))
    second = Waiting(canvas, lambda: canvas.seen.append("heard after"))
    first.post()
    qtbot.waitUntil(lambda: len(canvas.seen) == 3)
    assert canvas.seen == ["heard", "heard after", "painted"]


def test_what_is_put_off_by_as_many_turns_is_done_before_the_painting(qtbot, canvas: NotingCanvas) -> None:
    canvas.update()
    paint_late(canvas, UNPAINTED)
    Later(canvas, lambda: canvas.seen.append("fitted"), UNPAINTED).ask()
    Later(canvas, lambda: canvas.seen.append("soon"), PAINTED).ask()
    qtbot.waitUntil(lambda: len(canvas.seen) == 3)
    assert canvas.seen == ["fitted", "painted", "soon"]


@pytest.mark.parametrize("change_soon", ["posted", "timer"])
def test_changes_without_end_do_not_keep_the_window_from_painting(
    qtbot, canvas: NotingCanvas, change_soon: str
) -> None:
    """As while a key is held that changes something each time, and each change takes long."""

    def change() -> None:
        if len(canvas.seen) < 4:
            canvas.update()
            paint_late(canvas)
            waiting.post() if change_soon == "posted" else timer.start()

    waiting, timer = Waiting(canvas, change), QTimer(canvas, interval=0, singleShot=True)
    timer.timeout.connect(change)
    change()
    qtbot.waitUntil(lambda: len(canvas.seen) > 2)


def test_it_goes_when_it_has_let_the_window_paint(qtbot, canvas: NotingCanvas) -> None:
    paint_late(canvas)
    qtbot.waitUntil(lambda: not canvas.findChildren(LatePaint))
    assert canvas.seen == []
    canvas.update()
    qtbot.waitUntil(lambda: canvas.seen == ["painted"])


def test_a_change_of_the_theme_paints_a_visible_window_and_waits_for_no_hidden_one(
    qtbot, qapp: QApplication, canvas: NotingCanvas, theme: Theme
) -> None:
    hidden = NotingCanvas([])
    qtbot.addWidget(hidden)
    theme.apply_to(canvas)
    theme.apply_to(hidden)
    canvas.seen.clear()
    theme.set_choice("light" if theme.dark else "dark")
    assert canvas.findChildren(LatePaint)
    assert not hidden.findChildren(LatePaint)
    qtbot.waitUntil(lambda: "painted" in canvas.seen)
    qtbot.waitUntil(lambda: not canvas.findChildren(LatePaint))
