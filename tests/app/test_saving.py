"""Saving in the window: files that others wrote, disks that refuse, two windows on one file, versions."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QMenu, QPushButton

from shaftscore.edits import BlockRef, place_block
from shaftscore.model.loader import load_project
from shaftscore_app.commands.files import READ
from shaftscore_app.dialogs.files import ChangedDialog, OpenElsewhereDialog, TroubleDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import Answers, WindowMaker
from tests.app.machines import as_bytes, gates_file

OTHER = as_bytes(gates_file(name="Written by another program"))


def dialog(window: MainWindow) -> Dialog:
    (shown,) = (one for one in window.findChildren(Dialog) if one.isVisible())
    return shown


def press(qtbot, window: MainWindow, text: str) -> None:
    qtbot.mouseClick(dialog(window).button(text), Qt.MouseButton.LeftButton)
    was_read(qtbot, window)


def was_read(qtbot, window: MainWindow) -> None:
    """Wait for what is read beside the window."""
    qtbot.waitUntil(lambda: not window.jobs.is_busy(READ))


def click(qtbot, button: QPushButton) -> None:
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def move(window: MainWindow, deg: float = 200.0) -> None:
    window.document.perform(place_block(window.document.committed, BlockRef("right", 0), deg))


@pytest.fixture
def opened(qtbot, window: MainWindow, tmp_path: Path) -> MainWindow:
    path = tmp_path / "gates.shaft"
    path.write_bytes(as_bytes(gates_file()))
    window.groups.files.open(path)
    was_read(qtbot, window)
    return window


def path_of(window: MainWindow) -> Path:
    path = window.document.path
    assert path is not None
    return path


def test_a_file_that_others_wrote_is_not_written_over_unasked(qtbot, opened: MainWindow) -> None:
    path = path_of(opened)
    move(opened)
    path.write_bytes(OTHER)
    opened.groups.files.save()
    assert isinstance(dialog(opened), ChangedDialog)
    press(qtbot, opened, "Cancel")
    assert path.read_bytes() == OTHER
    assert opened.document.is_modified
    opened.groups.files.save()
    press(qtbot, opened, "Overwrite")
    assert load_project(path).lane("right").blocks[0].start_deg == 200.0
    assert [version.path.read_bytes() for version in opened.store.versions.of(path)] == [OTHER]
    assert opened.document.disk_state() == "same"


def test_what_others_wrote_can_be_taken_instead(qtbot, opened: MainWindow) -> None:
    move(opened)
    path_of(opened).write_bytes(OTHER)
    opened.groups.files.save()
    press(qtbot, opened, "Discard mine and reload")
    assert opened.document.project.name == "Written by another program"
    assert not opened.document.is_modified


def test_a_change_on_disk_is_told_once_when_the_window_comes_to_the_front(qtbot, opened: MainWindow) -> None:
    bar = opened.groups.keeping.disk_bar
    path_of(opened).write_bytes(OTHER)
    assert not bar.isVisible()
    opened.groups.keeping.look_at_disk()
    assert bar.text.text() == "gates.shaft was changed on disk by another program."
    click(qtbot, bar.button("Keep what is open"))
    opened.groups.keeping.look_at_disk()
    assert not bar.isVisible()
    path_of(opened).write_bytes(OTHER + b"\n")
    opened.groups.keeping.look_at_disk()
    click(qtbot, bar.button("Reload"))
    was_read(qtbot, opened)
    assert opened.document.project.name == "Written by another program"
    assert not bar.isVisible()


def test_coming_to_the_front_looks_at_the_disk(qtbot, opened: MainWindow) -> None:
    path_of(opened).write_bytes(OTHER)
    other = QMenu(opened)
    other.popup(opened.pos())
    other.close()
    opened.activateWindow()
    from PySide6.QtCore import QEvent
    from PySide6.QtWidgets import QApplication

    qtbot.waitUntil(opened.isActiveWindow)
    QApplication.sendEvent(opened, QEvent(QEvent.Type.ActivationChange))
    assert opened.groups.keeping.disk_bar.isVisible()


def test_reading_again_asks_where_changes_would_be_lost(qtbot, opened: MainWindow) -> None:
    move(opened)
    path_of(opened).write_bytes(OTHER)
    opened.groups.keeping.look_at_disk()
    assert "The changes made here are not in it." in opened.groups.keeping.disk_bar.text.text()
    click(qtbot, opened.groups.keeping.disk_bar.button("Reload"))
    press(qtbot, opened, "Cancel")
    assert opened.document.is_modified
    click(qtbot, opened.groups.keeping.disk_bar.button("Reload"))
    press(qtbot, opened, "Revert")
    assert opened.document.project.name == "Written by another program"


def test_a_file_that_is_gone_can_be_written_again(qtbot, opened: MainWindow) -> None:
    path = path_of(opened)
    path.unlink()
    opened.groups.keeping.look_at_disk()
    assert opened.groups.keeping.disk_bar.text.text().startswith("gates.shaft is no longer where it was.")
    click(qtbot, opened.groups.keeping.disk_bar.button("Save"))
    assert load_project(path).name == "Two gates"
    assert not opened.groups.keeping.disk_bar.isVisible()


@pytest.mark.parametrize(
    ("number", "words"), [(errno.ENOSPC, "The disk is full."), (errno.EROFS, "The disk can only be read.")]
)
def test_a_disk_that_refuses_leaves_the_work_in_memory(  # noqa: PLR0917 - fixtures and two parameters
    qtbot,
    opened: MainWindow,
    answers: Answers,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    number: int,
    words: str,
) -> None:
    path, before = path_of(opened), path_of(opened).read_bytes()
    move(opened)

    def refuse(*_names: object) -> None:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch:
        patch.setattr("shaftscore.base.whole_files.os.replace", refuse)
        patch.setattr(opened.store.versions, "keep", lambda _path: None)
        opened.groups.files.save()
    assert isinstance(dialog(opened), TroubleDialog)
    said = " ".join(label.text() for label in dialog(opened).findChildren(type(opened.alone_bar.text)))
    assert words in said
    assert "your work is still open" in said
    assert path.read_bytes() == before
    assert opened.document.is_modified
    answers.target = tmp_path / "elsewhere.shaft"
    press(qtbot, opened, "Save as…")
    assert load_project(answers.target).lane("right").blocks[0].start_deg == 200.0
    assert not opened.document.is_modified


def test_a_second_window_is_told_and_looks_only(
    qtbot, opened: MainWindow, tmp_path: Path, answers: Answers
) -> None:
    path = path_of(opened)
    other = PersonStore(tmp_path / "data").open_files
    opened.document.close()
    assert other.hold(path) is None
    opened.groups.files.open(path)
    assert isinstance(dialog(opened), OpenElsewhereDialog)
    press(qtbot, opened, "Open to look")
    assert opened.document.is_read_only
    assert opened.windowTitle() == "gates.shaft[*] (read-only) – Shaftscore"
    before = opened.document.project
    move(opened)
    assert opened.document.project is before
    assert not opened.document.is_modified
    opened.actions_table.refresh()
    assert not opened.actions_table["file.save"].isEnabled()
    answers.target = tmp_path / "mine.shaft"
    opened.groups.files.save_as()
    assert not opened.document.is_read_only
    move(opened)
    assert opened.document.project is not before
    other.release_all_but(None)


def test_a_second_window_takes_a_copy_and_cannot_save_over_the_first(
    qtbot, opened: MainWindow, tmp_path: Path, answers: Answers
) -> None:
    path, before = path_of(opened), path_of(opened).read_bytes()
    opened.document.close()
    other = PersonStore(tmp_path / "data").open_files
    other.hold(path)
    opened.groups.files.open(path)
    press(qtbot, opened, "Open a copy")
    assert (opened.document.path, opened.document.is_modified) == (None, True)
    assert opened.document.project.name == "Two gates"
    answers.target = path
    opened.groups.files.save()
    assert isinstance(dialog(opened), TroubleDialog)
    assert path.read_bytes() == before
    press(qtbot, opened, "Close")
    other.release_all_but(None)
    opened.groups.files.save()
    assert opened.document.path == path


def test_closing_a_file_lets_others_have_it(opened: MainWindow, tmp_path: Path) -> None:
    path = path_of(opened)
    other = PersonStore(tmp_path / "data").open_files
    assert other.hold(path) is not None
    opened.document.close()
    assert other.hold(path) is None
    other.release_all_but(None)


def test_an_earlier_version_is_taken_as_a_step(opened: MainWindow) -> None:
    path = path_of(opened)
    for deg in (200.0, 210.0):
        move(opened, deg)
        opened.groups.files.save()
    menu = opened.actions_table["file.versions"].menu()
    menu.aboutToShow.emit()
    assert [action.text()[:5] for action in menu.actions()] == ["Until", "Until"]
    menu.actions()[0].trigger()
    assert opened.document.project.lane("right").blocks[0].start_deg == 200.0
    assert opened.document.undo_name.startswith("Restore the version until ")
    opened.document.undo()
    assert opened.document.project.lane("right").blocks[0].start_deg == 210.0
    assert len(opened.store.versions.of(path)) == 2


def test_the_window_maker_still_makes_windows_without_a_store_in_use(make_window: WindowMaker) -> None:
    assert make_window(None).groups.keeping.draft_bar.isHidden()
