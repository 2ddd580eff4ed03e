"""Work put off by turns of the event loop."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QObject
from PySide6.QtWidgets import QApplication

from shaftscore_app.runtime.turns import Later


def test_what_is_asked_for_twice_is_done_once_and_again_when_asked_anew(qtbot, qapp: QApplication) -> None:
    done: list[str] = []
    later = Later(qapp, lambda: done.append("done"))
    later.ask()
    later.ask()
    assert done == []
    qtbot.waitUntil(lambda: done == ["done"])
    qapp.processEvents()
    assert done == ["done"]
    later.ask()
    qtbot.waitUntil(lambda: done == ["done", "done"])
    later.deleteLater()


def test_it_is_done_in_the_turn_that_was_named(qapp: QApplication) -> None:
    done: list[int] = []
    owner = QObject()
    for turns in (3, 1, 2):
        Later(owner, lambda turns=turns: done.append(turns), turns).ask()
    for turn in (1, 2, 3):
        QCoreApplication.sendPostedEvents()
        assert done == [1, 2, 3][:turn]


def test_what_has_gone_is_not_asked(qapp: QApplication) -> None:
    done: list[str] = []
    owner = QObject()
    Later(owner, lambda: done.append("done")).ask()
    del owner
    for _ in range(5):
        QCoreApplication.sendPostedEvents()
    assert done == []
