"""Documents and windows that are dropped while jobs run: nothing of Qt is destroyed on a worker's thread.

A worker that kept the last reference to a document or to jobs would destroy them where they do not belong:
Qt then stops timers and drops events on the wrong thread, which now and then ends the process.
"""

from __future__ import annotations

import gc
import threading
import weakref
from functools import partial

import pytest
import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QApplication, QWidget
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef, place_block
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import THREAD_NAME, Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.findings import FindingsView
from shaftscore_app.views.stack import StackView
from tests.app.conftest import let_go, unowned
from tests.app.machines import gates


class WatchedObject(QObject):
    """Notes on which thread it went."""

    def __init__(self, ends: list[str]) -> None:
        super().__init__()
        weakref.finalize(self, lambda: ends.append(threading.current_thread().name))

    def take(self, _result: object) -> None:
        raise AssertionError("what is gone gets no answer")


def _wait_for_workers(qtbot: QtBot) -> None:
    qtbot.waitUntil(
        lambda: not any(t.name.startswith(THREAD_NAME) for t in threading.enumerate()), timeout=20_000
    )


def test_who_asked_goes_on_the_windows_thread_also_while_its_job_runs(qtbot: QtBot) -> None:
    jobs, go, ends = Jobs(), threading.Event(), list[str]()
    asking, working = WatchedObject(ends), WatchedObject(ends)
    jobs.request("a", lambda kept=working: go.wait(10) and kept.objectName(), asking.take)
    del asking, working, jobs
    gc.collect()
    go.set()
    _wait_for_workers(qtbot)
    QCoreApplication.processEvents()
    assert ends == ["MainThread", "MainThread"]


def test_an_answer_to_what_qt_has_destroyed_is_dropped(qtbot: QtBot) -> None:
    jobs, go = Jobs(), threading.Event()
    for number, make in enumerate((lambda one: one.take, lambda one: partial(one.take))):
        asking = WatchedObject([])
        jobs.request(f"kind {number}", lambda: go.wait(10), make(asking))
        shiboken6.delete(asking)
    go.set()
    qtbot.waitUntil(lambda: not jobs.is_busy(), timeout=20_000)
    jobs.close()


def test_a_document_dropped_with_a_job_in_flight_goes_on_the_windows_thread(qtbot: QtBot) -> None:
    ends: list[str] = []
    for _ in range(3):
        drop_document(gates(), ends)
    _wait_for_workers(qtbot)
    QCoreApplication.processEvents()
    gc.collect()
    assert ends == ["MainThread"] * 6


def drop_document(project: Project, ends: list[str]) -> None:
    """Open and edit a document, and drop it with its jobs before they have answered."""
    jobs = Jobs()
    document = Document(project, jobs=jobs)
    for start in (1.0, 2.0):
        document.perform(place_block(document.committed, BlockRef("flap", 0), start))
        document._want_late()
    for one in (document, jobs):
        weakref.finalize(one, lambda: ends.append(threading.current_thread().name))


@pytest.mark.long
def test_documents_dropped_with_jobs_in_flight(
    qtbot: QtBot, theme: Theme, settings: Settings, store: PersonStore
) -> None:
    """Opens, edits and drops 200 documents with views while their jobs run, every tenth in a whole window.

    They go by reference, closed, destroyed by Qt, or in a cycle that Python's collector finds.
    """
    for number in range(200):
        jobs = Jobs()
        document = Document(gates(), jobs=jobs)
        if number % 10:
            views: list[QWidget] = [
                DiscView(document, theme, jobs),
                FindingsView(document, theme),
                StackView(document, theme, jobs),
                TimingDiagram(document, theme),
            ]
        else:
            views = [MainWindow(document, theme, settings, jobs, store=store)]
        for view in views:
            view.show()
        start = document.committed.lane("flap").blocks[0].start_deg
        document.preview(place_block(document.committed, BlockRef("flap", 0), start + number % 7))
        document.perform(place_block(document.committed, BlockRef("flap", 0), start + 1.0))
        document._want_late()
        if number % 3:
            QApplication.processEvents()
        if number % 4 == 1:
            jobs.close()
        elif number % 4 == 2:
            for view in views:
                shiboken6.delete(view)
            shiboken6.delete(document)
        elif number % 4 == 3:
            views[0].setProperty("cycle", views)
        del views, view, document, jobs
        if number % 5 == 0:
            gc.collect()
        QApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)
        if number % 20 == 19:  # connections keep what was dropped until its signals go
            let_go(one for one in unowned() if one is not theme)
    _wait_for_workers(qtbot)
    QApplication.processEvents()
