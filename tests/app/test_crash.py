"""Errors of the program: told once, the work kept, nothing private in the report, and the window goes on."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import QTimer, qWarning

from shaftscore.base.errors import ProjectError
from shaftscore.edits import BlockRef, place_block
from shaftscore.model.loader import load_project
from shaftscore.model.saved import saved_form
from shaftscore_app.dialogs.crash import CrashDialog
from shaftscore_app.frame.crash import Crashes
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.runtime.guide import page_text
from shaftscore_app.runtime.reports import MOST, first_line, report_text, without_private, write_report
from tests.app.machines import gates

ROOT = Path(__file__).resolve().parents[2]
NOW = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)


def trouble(text: str = "planted") -> ValueError:
    """An error with a trace, from a function of these tests."""
    try:
        raise ValueError(text)
    except ValueError as error:
        return error


@pytest.fixture
def crashes(window: MainWindow) -> Iterator[Crashes]:
    made = Crashes(
        window,
        window.theme,
        window.document,
        store=window.store,
        drafting=window.drafting,
        save_as=window.groups.files.save_as,
        now=lambda: NOW,
    )
    uninstall = made.install(window.jobs)
    yield made
    uninstall()


def dialogs(window: MainWindow) -> list[CrashDialog]:
    return [one for one in window.findChildren(CrashDialog) if one.isVisible()]


def move(window: MainWindow, deg: float = 200.0) -> None:
    window.document.perform(place_block(window.document.committed, BlockRef("right", 0), deg))


def test_an_error_in_a_slot_keeps_the_work_and_is_told_once(
    qtbot, window: MainWindow, crashes: Crashes, tmp_path: Path
) -> None:
    move(window)
    window.drafting.keeper.forget()
    move(window, 210.0)

    def fail() -> None:
        raise ValueError("planted")

    for _ in range(3):
        QTimer.singleShot(0, fail)
    qtbot.waitUntil(lambda: bool(dialogs(window)) and "3 errors" in dialogs(window)[0].what.text())
    (dialog,) = dialogs(window)
    assert dialog.what.text().startswith("ValueError in test_crash.py, line ")
    assert dialog.where.text() == "Your work is kept: a draft of all changes was written just now."
    assert len(list((tmp_path / "data" / "reports").iterdir())) == 1
    dialog.close()
    qtbot.waitUntil(lambda: not dialogs(window))
    move(window, 220.0)
    assert window.document.project.lane("right").blocks[0].start_deg == 220.0


def test_what_is_held_when_an_error_comes_is_put_back(window: MainWindow, crashes: Crashes) -> None:
    document = window.document
    document.preview(place_block(document.committed, BlockRef("right", 0), 200.0))
    crashes.happened(trouble())
    assert not document.is_previewing
    assert document.project == gates()


def test_an_error_where_the_draft_cannot_be_written_says_so(
    window: MainWindow, crashes: Crashes, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(handle: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("shaftscore_app.keeping.journal.os.write", fail)
        move(window)
        crashes.happened(trouble())
    (dialog,) = dialogs(window)
    assert "no draft could be kept: No space left on device. Save it now." in dialog.where.text()


def test_an_error_with_everything_saved(window: MainWindow, crashes: Crashes, tmp_path: Path) -> None:
    window.document.save(tmp_path / "gates.shaft")
    crashes.happened(trouble())
    (dialog,) = dialogs(window)
    assert dialog.where.text() == "All your work is saved."


def test_an_error_while_telling_of_one_ends_there(
    window: MainWindow, crashes: Crashes, monkeypatch: pytest.MonkeyPatch, caplog
) -> None:
    monkeypatch.setattr(
        "shaftscore_app.frame.crash.CrashDialog", lambda *_a, **_k: crashes.happened(trouble()) or 1 / 0
    )
    crashes.happened(trouble())
    assert [record.levelname for record in caplog.records] == ["ERROR", "ERROR", "CRITICAL"]


def test_an_error_of_a_job_nobody_waits_for_is_told(qtbot, window: MainWindow, crashes: Crashes) -> None:
    def fail() -> None:
        raise RuntimeError("in a worker")

    window.jobs.request("planted", fail, lambda _result: None)
    qtbot.waitUntil(lambda: bool(dialogs(window)))
    assert dialogs(window)[0].what.text().startswith("RuntimeError in shaftscore_app/runtime/jobs.py, line ")
    answers: list[int] = []
    window.jobs.request("planted", lambda: 7, answers.append)
    qtbot.waitUntil(lambda: answers == [7])


def test_an_error_of_any_thread_is_told_on_the_window_s(qtbot, window: MainWindow, crashes: Crashes) -> None:
    def fail() -> None:
        raise RuntimeError("in a thread")

    thread = threading.Thread(target=fail)
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: bool(dialogs(window)))
    assert dialogs(window)[0].what.text().startswith("RuntimeError")


def test_messages_of_qt_go_to_the_log(window: MainWindow, crashes: Crashes, caplog) -> None:
    qWarning("planted by a test")
    assert [(record.levelname, record.message) for record in caplog.records] == [
        ("WARNING", "Qt: planted by a test")
    ]


def test_hooks_are_put_back(window: MainWindow, theme) -> None:
    before = (sys.excepthook, threading.excepthook)
    made = Crashes(
        window,
        theme,
        window.document,
        store=window.store,
        drafting=window.drafting,
        save_as=window.groups.files.save_as,
    )
    uninstall = made.install(window.jobs)
    assert (sys.excepthook, threading.excepthook) != before
    uninstall()
    assert (sys.excepthook, threading.excepthook) == before


def test_the_report_names_nothing_private(window: MainWindow, crashes: Crashes, tmp_path: Path) -> None:
    path = tmp_path / "secret machine.shaft"
    window.document.save(path)
    move(window)
    home = Path.home()
    crashes.happened(
        trouble(f"cannot read {path}, nor {home}/notes/plan.txt, nor C:\\Users\\ada\\x.txt; lane Left is odd")
    )
    (report,) = (tmp_path / "data" / "reports").iterdir()
    text = report.read_text("utf-8")
    for word in ("secret", str(tmp_path), str(home), "ada", "plan.txt", "Left", "Two gates", str(ROOT)):
        assert word not in text, word
    assert "ValueError: cannot read <private>, nor <private><path>, nor <path>; lane <private> is odd" in text
    assert "\n  test_crash.py, line " in text


def test_a_report_tells_causes_and_versions() -> None:
    try:
        try:
            raise KeyError("inner")
        except KeyError as error:
            raise ValueError("outer") from error
    except ValueError as error:
        text = report_text(error, NOW)
    assert text.startswith("Shaftscore report, 2026-03-04 14:02 UTC\nShaftscore ")
    assert text.index("ValueError: outer") < text.index("KeyError: 'inner'")
    assert f"Python {sys.version_info.major}.{sys.version_info.minor}" in text
    assert first_line(ValueError()) == "ValueError"


def test_a_report_names_the_place_in_either_package_without_the_folders_above() -> None:
    for raising, place in (
        (lambda: load_project(Path("/nowhere/x.shaft")), "shaftscore/model/loader.py, line "),
        (lambda: page_text("no_such_page.md"), "shaftscore_app/runtime/guide.py, line "),
    ):
        with pytest.raises((OSError, ProjectError), match="No such file") as caught:
            raising()
        text = report_text(caught.value, NOW)
        assert f"\n  {place}" in text
        assert str(ROOT) not in text


def test_a_path_with_many_parts_is_taken_out() -> None:
    assert without_private("no /a/b/c.txt here, ~/x, 3/4 stays, a/b stays") == (
        "no <path> here, <path>, 3/4 stays, a/b stays"
    )


def test_old_reports_give_way(tmp_path: Path) -> None:
    for second in range(MOST + 3):
        write_report(tmp_path, "text", NOW.replace(second=second))
    assert len(list(tmp_path.iterdir())) == MOST


RUN = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from shaftscore_app.frame import running
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.dialogs.crash import CrashDialog
from shaftscore.edits import BlockRef, place_block

show = MainWindow.show

def planted(window):
    show(window)
    QTimer.singleShot(300, lambda: edit(window))

def edit(window):
    if not window.document.is_started:
        QTimer.singleShot(50, lambda: edit(window))  # a slow machine opens the file later
        return
    window.document.perform(place_block(window.document.committed, BlockRef("right", 0), 200.0))
    QTimer.singleShot(0, lambda: 1 / 0)
    QTimer.singleShot(300, lambda: after(window))

def after(window):
    if not window.findChildren(CrashDialog):
        QTimer.singleShot(50, lambda: after(window))  # a slow machine shows it later
        return
    (dialog,) = window.findChildren(CrashDialog)
    print(dialog.what.text())
    dialog.close()
    print(window.document.undo_name, flush=True)
    sys.stdout.flush()
    import os
    os.kill(os.getpid(), 9)

MainWindow.show = planted
running.run(Path(sys.argv[1]))
"""


def test_the_editor_goes_on_after_an_error_and_a_kill_is_recovered(
    qtbot, make_window, store, tmp_path: Path
) -> None:
    """The whole program in a process: an error in a timer, then kill -9; the next start offers the draft."""
    file = tmp_path / "gates.shaft"
    file.write_bytes(saved_form(gates()))
    env = os.environ | {
        "XDG_DATA_HOME": str(tmp_path / "home"),
        "XDG_CONFIG_HOME": str(tmp_path / "config"),
        "XDG_STATE_HOME": str(tmp_path / "state"),
    }
    command = [sys.executable, "-c", RUN, str(file)]
    done = subprocess.run(
        command, cwd=ROOT, env=env, capture_output=True, text=True, encoding="utf-8", check=False, timeout=240
    )
    assert done.returncode == -9, done.stderr
    assert done.stdout.splitlines()[1:] == ["Move Right open to 200.0°"]
    assert "ZeroDivisionError" in done.stdout
    assert "ZeroDivisionError" in (tmp_path / "state" / "shaftscore" / "shaftscore.log").read_text("utf-8")
    if sys.platform != "linux":
        return  # the folders have other names there
    from shaftscore_app.keeping import PersonStore

    (draft,) = PersonStore(tmp_path / "home" / "shaftscore").drafts.left()
    assert draft.kept.project is not None
    assert draft.kept.project.lane("right").blocks[0].start_deg == 200.0
    assert draft.kept.head.path == file
    draft.release()
