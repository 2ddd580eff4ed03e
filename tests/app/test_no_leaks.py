"""Views and dialogs that are opened and closed leave no Qt object behind; extremes show no NaN."""

from __future__ import annotations

import gc
import json
import re
import weakref
from functools import partial

import pytest
from PySide6.QtCore import QCoreApplication, QEvent, QObject
from PySide6.QtWidgets import QApplication, QLabel, QLineEdit, QPushButton

from shaftscore.model import read_project
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, WindowMaker, let_go
from tests.app.machines import gates, gates_file

ODD = re.compile(r"(?<![A-Za-z])(?:nan|inf|infinity)(?![A-Za-z])", re.IGNORECASE)


def settle() -> None:
    for _ in range(3):
        QApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


def objects(window: MainWindow) -> int:
    settle()
    return len(window.findChildren(QObject))


def open_and_close_all(window: MainWindow) -> None:
    for name in window.docks.names():
        window.docks[name].hide()
        settle()
        window.docks.show(name)
        settle()
        window.docks[name].setFloating(True)
        settle()
        window.docks[name].setFloating(False)
        settle()


@pytest.mark.parametrize("times", [4, pytest.param(200, marks=pytest.mark.long)])
def test_views_that_are_closed_and_opened_leave_nothing_behind(window: MainWindow, times: int) -> None:
    open_and_close_all(window)
    before = objects(window)
    for _ in range(times):
        open_and_close_all(window)
    assert objects(window) == before


@pytest.mark.parametrize("times", [4, pytest.param(200, marks=pytest.mark.long)])
@pytest.mark.parametrize("command", ["help.shortcuts", "help.about", "lane.levels", "lane.load"])
def test_dialogs_that_are_closed_leave_nothing_behind(window: MainWindow, command: str, times: int) -> None:
    window.document.select_lane("left")

    def open_and_close() -> None:
        window.actions_table.refresh()
        window.actions_table[command].trigger()
        settle()
        shown = [dialog for dialog in window.findChildren(Dialog) if dialog.isVisible()]
        assert shown
        for dialog in shown:
            dialog.close()

    open_and_close()
    before = objects(window)
    for _ in range(times):
        open_and_close()
    assert objects(window) == before


def test_bars_that_are_told_again_and_again_leave_nothing_behind(window: MainWindow) -> None:
    bar = window.groups.keeping.draft_bar
    bar.tell("one", [("Preview", "look", lambda: None), ("Restore", "use", lambda: None)])
    before = objects(window)
    for _ in range(50):
        bar.tell("again", [("Preview", "look", lambda: None), ("Restore", "use", lambda: None)])
    assert objects(window) == before


@pytest.mark.parametrize(
    ("lift_mm", "end_deg", "rpm"), [(0.01, 120.01, 1e4), (2000.0, 120.01, 1e-3), (10.0, 120.0, 1e4)]
)
def test_extreme_machines_show_no_nan(
    make_window: WindowMaker, lift_mm: float, end_deg: float, rpm: float
) -> None:
    raw = gates_file()
    raw["shaft"]["speed_rpm"] = rpm
    lane = raw["lanes"][0]
    lane["levels"]["open"] = lift_mm
    lane["blocks"][1] = {"level": "closed", "start_deg": 132.01, "end_deg": 479.99}
    lane["blocks"][0]["end_deg"] = 132.0 if end_deg == 120.0 else end_deg
    lane["load"] = {"moving_mass_g": 50, "spring_preload_n": 5}
    window = make_window(read_project(json.dumps(raw).encode(), "extreme"))
    for name in window.docks.names():
        window.docks.show(name)
        settle()
    window.document.select_lane("left")
    settle()
    texts = [
        widget.text() for kind in (QLabel, QLineEdit, QPushButton) for widget in window.findChildren(kind)
    ]
    found = [text for text in texts if ODD.search(text)]
    assert len(texts) > 30
    assert not found


def test_a_window_that_goes_takes_all_its_objects_along(qtbot, tmp_path) -> None:
    """Else each test of a window would leave some megabytes behind, and the whole run gigabytes."""
    jobs, theme = Jobs(), Theme(choice="light")
    document = Document(gates(), jobs=jobs)
    settings, store = Settings(tmp_path / "settings.json"), PersonStore(tmp_path / "data")
    window = MainWindow(document, theme, settings, jobs, store=store, picker=Answers())
    kept = {type(one).__name__: weakref.ref(one) for one in (window, document, theme, jobs)}
    window.show()
    qtbot.waitUntil(partial(_is_examined, document), timeout=20_000)
    settle()
    window.close_at_once()
    window.deleteLater()
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)  # what was put off never comes
    theme.leave()
    let_go((document, theme, jobs))
    del window, document, theme, jobs
    settle()
    gc.collect()
    assert [kind for kind, one in kept.items() if one() is not None] == []


def _is_examined(document: Document) -> bool:
    return document.is_late_current
