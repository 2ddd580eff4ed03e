"""Makes a picture of every view and dialog in both themes at 80, 100 and 200 %, to be looked at.

Run where there is a display: `xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" .venv/bin/python
docs/look_at_views.py FOLDER [THEME SCALE]`, and on a small screen with `1280x800x24`. Texts that are cut off,
dialogs larger than the screen, and controls without a name or too small to be hit are listed; the exit code
is 1 if there are any.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from importlib import resources
from pathlib import Path

from make_pictures import settle
from PySide6.QtCore import QDeadlineTimer, QEventLoop, QSize
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QDialog,
    QLabel,
    QPushButton,
    QToolButton,
    QWidget,
)
from rare_dialogs import RARE
from read_aloud import faults as access_faults

from shaftscore.base.samples import sample_folder
from shaftscore.edits import BlockRef
from shaftscore_app.dialogs.new_machine import NewMachine
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.menus.actions import COMMANDS, Command
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme

SAMPLE = "tea_blender_first_draft.shaft"
SCALES = (0.8, 1.0, 2.0)
THEMES = ("light", "dark")
SIZES = {0.8: (1600, 1000), 1.0: (1600, 1000), 2.0: (1900, 1180)}

LARGE = ("flow", "followers", "program", "bring_up", "operation")
"""Views that commands open as windows of their own where their place is small."""

DRAW_MS, LATEST_MS = 60, 3000
"""So long everything has time to be drawn, and so long at most what is computed is waited for."""

LEFT_OUT = ("file.open", "file.save", "file.save_as", "file.quit", "file.close", "help.guide")
"""Commands that open a dialog of the system, or end the program."""


class NoPicker:
    """Chooses no file, so that no dialog of the system waits for an answer."""

    def __getattr__(self, _name: str) -> Callable[..., None]:
        """Choose nothing, whatever is to be chosen."""
        return lambda *_arguments: None


@contextmanager
def opened(app: QApplication, theme_name: str, scale: float) -> Iterator[MainWindow]:
    """Open the sample in a window of a theme and scale, with a block selected."""
    font = app.font()
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(Path(folder) / "settings.json")
        theme, jobs = Theme(app, theme_name, scale), Jobs()
        document = Document(jobs=jobs)
        store = PersonStore(Path(folder) / "data")
        window = MainWindow(document, theme, settings, jobs, picker=NoPicker(), store=store)
        room = app.primaryScreen().availableSize()
        window.resize(QSize(*SIZES[scale]).boundedTo(room))
        window.show()
        with resources.as_file(sample_folder() / SAMPLE) as path:
            document.open(path)
        settle(app, document, jobs)
        document.set_cursor(290.0)
        document.select_blocks(BlockRef("mint", 0))
        draw(app, window)
        try:
            yield window
        finally:
            window.close_at_once()
            theme.leave()
            app.setFont(font)  # or the next theme would take this one's text for the system's


def draw(app: QApplication, window: MainWindow) -> None:
    """Let everything be computed and drawn, and the display answer: a dialog has its size only then."""
    soonest, latest = QDeadlineTimer(DRAW_MS), QDeadlineTimer(LATEST_MS)
    while not soonest.hasExpired() or (window.jobs.is_busy() and not latest.hasExpired()):
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 30)
    for _ in range(12):  # what the last of it asked for
        app.processEvents(QEventLoop.ProcessEventsFlag.AllEvents, 30)


def cut_texts(widget: QWidget) -> Iterator[str]:
    """Name labels and buttons whose text has no room."""
    for part in widget.findChildren(QLabel):
        if part.isVisible() and part.text() and _is_cut(part):
            yield f"{part.text()!r} has {part.width()} x {part.height()} px"
    for button in widget.findChildren(QAbstractButton):
        if button.isVisible() and button.text() and _has_text(button):
            needed = button.fontMetrics().horizontalAdvance(button.text().replace("&", ""))
            if needed > button.width():
                yield f"{button.text()!r} needs {needed} px, has {button.width()}"


def _is_cut(label: QLabel) -> bool:
    if label.wordWrap():
        return label.heightForWidth(label.width()) > label.height() + 1
    return label.sizeHint().width() > label.width() + 1


def _has_text(button: QAbstractButton) -> bool:
    shows = not isinstance(button, QToolButton) or "Icon" not in button.toolButtonStyle().name.replace(
        "TextBesideIcon", ""
    )
    return shows and button.parent() is not None


def pictures(app: QApplication, window: MainWindow, folder: Path, name: str) -> Iterator[str]:
    """Save every view and every dialog; give the texts that are cut."""
    window.grab().save(str(folder / f"window_{name}.png"))
    for dock_name in window.docks.names():
        window.docks.show(dock_name)
        draw(app, window)
        dock = window.docks[dock_name]
        dock.grab().save(str(folder / f"{dock_name}_{name}.png"))
        found = (*cut_texts(dock), *access_faults(dock, window.theme.u))
        yield from (f"{dock_name}, {name}: {text}" for text in found)
    for dock_name in LARGE:
        window.docks.show_large(dock_name)
        draw(app, window)
        window.docks[dock_name].grab().save(str(folder / f"large_{dock_name}_{name}.png"))
        yield from (f"large {dock_name}, {name}: {text}" for text in cut_texts(window.docks[dock_name]))
        window.docks[dock_name].setFloating(False)
    window.docks.arrange()
    draw(app, window)
    yield from (f"toolbar, {name}: {text}" for text in cut_texts(window.toolbar))
    yield from (f"window, {name}: {fault}" for fault in access_faults(window, window.theme.u))
    for command in COMMANDS:
        if _opens_a_dialog(window, command):
            window.actions_table[command.id].trigger()
            draw(app, window)
            for dialog in window.findChildren(QDialog):
                if dialog.isVisible():
                    key = f"dialog_{command.id.replace('.', '_')}_{name}"
                    yield from dialog_pictures(app, window, dialog, folder, key)
                    dialog.done(0)
            draw(app, window)
    for rare, make in RARE.items():
        dialog = make(window)
        dialog.open()
        draw(app, window)
        yield from dialog_pictures(app, window, dialog, folder, f"rare_{rare}_{name}")
        dialog.done(0)
        draw(app, window)


def _opens_a_dialog(window: MainWindow, command: Command) -> bool:
    asks = "…" in command.title or command.menu == "help"
    can = command.kind == "item" and window.actions_table[command.id].isEnabled()
    return asks and can and command.id not in LEFT_OUT


def dialog_pictures(
    app: QApplication, window: MainWindow, dialog: QDialog, folder: Path, key: str
) -> Iterator[str]:
    """Save a dialog, the assistant page by page; give the texts that are cut."""
    pages = range(dialog.pages.count()) if isinstance(dialog, NewMachine) else range(1)
    for page in pages:
        if isinstance(dialog, NewMachine):
            dialog.lanes.model.write({(row, 0): f"Lane {row + 1}" for row in range(8)})
            dialog.go_to(page)
            draw(app, window)
        dialog.grab().save(str(folder / (f"{key}_{page + 1}.png" if len(pages) > 1 else f"{key}.png")))
        yield from (f"{key}: {text}" for text in (*cut_texts(dialog), *access_faults(dialog, window.theme.u)))
        yield from (f"{key}: {text}" for text in off_screen(app, dialog))


def off_screen(app: QApplication, dialog: QDialog) -> Iterator[str]:
    """Name a dialog that is larger than the screen, and its buttons that nobody can reach."""
    room = app.primaryScreen().availableSize()
    if dialog.size().boundedTo(room) != dialog.size():
        yield f"{dialog.width()} x {dialog.height()} px on a screen of {room.width()} x {room.height()}"
    for button in (one for one in dialog.findChildren(QPushButton) if one.parent() is dialog):
        if button.isVisible() and not dialog.rect().contains(button.geometry()):
            yield f"{button.text()!r} is outside"


def main() -> int:
    """Make all pictures."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(tempfile.mkdtemp(prefix="views-"))
    folder.mkdir(parents=True, exist_ok=True)
    app = QApplication(sys.argv[:1])
    faults: list[str] = []
    themes, scales = THEMES, SCALES
    if len(sys.argv) > 2:  # one theme and scale, for those who look at one thing
        themes, scales = (sys.argv[2],), (float(sys.argv[3]),)
    for theme in themes:
        for scale in scales:
            with opened(app, theme, scale) as window:
                faults += pictures(app, window, folder, f"{theme}_{scale * 100:.0f}")
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}", *faults, sep="\n")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
