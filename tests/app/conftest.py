"""What the editor's tests share: a window with its own settings, a clock moved by hand, a picker."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QObject

from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from tests.app.machines import gates

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget
    from pytestqt.qtbot import QtBot

    from shaftscore_app.frame.main_window import MainWindow


class HandClock:
    """Time in seconds, moved by hand."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@dataclass
class Answers:
    """A picker that gives what the test says, and remembers what was proposed."""

    file: Path | None = None
    target: Path | None = None
    out: Path | None = None
    table: Path | None = None
    pdf: Path | None = None
    image: Path | None = None
    paper: Any = None
    proposed: list[str] = field(default_factory=list)

    def file_to_open(self, parent: QWidget, folder: str) -> Path | None:
        self.proposed.append(folder)
        return self.file

    def file_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        self.proposed.append(proposed)
        return self.target

    def table_to_open(self, parent: QWidget, folder: str, title: str) -> Path | None:
        self.proposed += [folder, title]
        return self.table

    def image_to_open(self, parent: QWidget, folder: str) -> Path | None:
        self.proposed.append(folder)
        return self.image

    def pdf_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        self.proposed.append(proposed)
        return self.pdf

    def picture_to_save(self, parent: QWidget, proposed: str) -> Path | None:
        self.proposed.append(proposed)
        return self.target

    def printer(self, parent: QWidget, layout: object) -> Any:
        return self.paper

    def folder(self, parent: QWidget, proposed: str, title: str) -> Path | None:
        self.proposed += [proposed, title]
        return self.out


def repeat_until(is_so: Callable[[], bool], does: Callable[[], object], most: int = 60) -> None:
    """Do something again and again until something is so; fails where that is never."""
    for _ in range(most):
        if is_so():
            return
        does()
    raise AssertionError(f"not so after {most} times")


LARGE = 12
"""What was worked out for more lanes than this takes hundreds of megabytes in few objects: the collector,
which counts objects, would let it pile up."""

LARGE_ONES: dict[str, bool] = {}
"""Whether the last test has left a large machine to be collected, under "left"."""


@pytest.fixture(autouse=True)
def _leave_nothing() -> Iterator[None]:
    """Destroy what a test made and nothing owns.

    What listens to a document, a theme or jobs keeps whole windows, and Python's collector sees nothing of
    it: Qt holds the one end. It goes when the sender does.
    """
    if LARGE_ONES.pop("left", False):
        gc.collect()  # not before: pytest keeps what fixtures made until the next test begins
    before = {id(made): made for made in unowned()}
    yield
    let_go(made for made in unowned() if id(made) not in before)


def let_go(made: Iterable[QObject]) -> None:
    """Destroy documents, themes and jobs that nobody needs any more, and what listens to them."""
    gone = list(made)
    if any(isinstance(one, Document) and len(one.project.lanes) > LARGE for one in gone):
        LARGE_ONES["left"] = True
    for one in gone:
        if isinstance(one, Jobs):
            one.close()
        shiboken6.delete(one)


def unowned() -> list[QObject]:
    """Return every document, theme and jobs without a parent that there is now."""
    made = shiboken6.getAllValidWrappers()
    return [one for one in made if isinstance(one, Document | Theme | Jobs) and one.parent() is None]


LONGEST_MS = 60_000
"""So long a test waits for what must come, at most: a machine may be busy with other work."""


@pytest.fixture
def qtbot(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> QtBot:
    """Drive Qt as the plug-in does, with more patience than its 5 s."""
    for name in ("waitUntil", "waitSignal"):
        monkeypatch.setattr(qtbot, name, partial(getattr(qtbot, name), timeout=LONGEST_MS))
    return qtbot


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
def document(qapp: object, clock: HandClock) -> Document:
    return Document(gates(), clock=clock)


@pytest.fixture
def theme(qapp: object) -> Iterator[Theme]:
    made = Theme(choice="light")
    yield made
    made.set_choice("system")
    made.leave()


@pytest.fixture
def settings(tmp_path: Path) -> Settings:
    return Settings(tmp_path / "config" / "settings.json")


@pytest.fixture
def store(tmp_path: Path) -> PersonStore:
    return PersonStore(tmp_path / "data")


@pytest.fixture
def answers() -> Answers:
    return Answers()


WindowMaker = Callable[[Project | None], "MainWindow"]


@pytest.fixture
def make_window(
    qtbot: QtBot, theme: Theme, settings: Settings, store: PersonStore, answers: Answers
) -> Iterator[WindowMaker]:
    from shaftscore_app.frame.main_window import MainWindow

    made: list[MainWindow] = []

    def make(project: Project | None) -> MainWindow:
        jobs = Jobs()
        window = MainWindow(Document(project, jobs=jobs), theme, settings, jobs, store=store, picker=answers)
        window.resize(1600, 1000)
        made.append(window)
        window.show()
        qtbot.waitExposed(window).__enter__()
        qtbot.waitUntil(lambda: window.document.is_late_current)
        return window

    yield make
    for window in made:
        for dialog in _dialogs(window):
            dialog.close()
        window.close_at_once()
        window.deleteLater()
    # A style sheet set later is brought to every widget that is still there: let none pile up.
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)


@pytest.fixture
def window(make_window: WindowMaker) -> MainWindow:
    return make_window(gates())


def _dialogs(window: MainWindow) -> list[QWidget]:
    from shaftscore_app.widgets.dialog import Dialog

    return window.findChildren(Dialog)
