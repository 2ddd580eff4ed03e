"""Drafts in the window: kept while one works, gone with a save, offered after a program that stopped."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QTableWidget

from shaftscore.edits import BlockRef, apply_edit, place_block
from shaftscore.model import Project
from shaftscore.model.saved import saved_form
from shaftscore_app.dialogs.drafts import LookDialog
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.keeping.journal import Head
from shaftscore_app.runtime.files import Stamp
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.widgets.dialog import Dialog
from tests.app.conftest import WindowMaker
from tests.app.machines import gates

RIGHT = BlockRef("right", 0)


def move(window: MainWindow, deg: float = 200.0) -> None:
    window.document.perform(place_block(window.document.committed, RIGHT, deg))


def moved(deg: float) -> Project:
    return apply_edit(gates(), "place_block", ref=RIGHT, start_deg=deg).project


def leave_draft(store: PersonStore, path: Path | None, project: Project, steps: int = 12) -> None:
    """Leave a draft as a program that stopped does."""
    stamp = Stamp.of(path) if path else None
    head = Head(path, path.name if path else "Untitled", stamp.digest if stamp else "")
    when = datetime.now(UTC).replace(hour=12)
    store.drafts.begin(head, project, "Move", steps, when).close()


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    path = tmp_path / "gates.shaft"
    path.write_bytes(saved_form(gates()))
    return path


def left(store: PersonStore) -> list[Project | None]:
    found = store.drafts.left()
    for draft in found:
        draft.release()
    return [draft.kept.project for draft in found]


def dialog(window: MainWindow) -> Dialog:
    (shown,) = (one for one in window.findChildren(Dialog) if one.isVisible())
    return shown


def click(qtbot, button) -> None:
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def test_an_hour_alone_is_one_tick_a_minute_and_none_once_saved(
    qtbot, window: MainWindow, tmp_path: Path
) -> None:
    """What is said of a draft changes each minute then; nothing else is to be done."""
    move(window)
    assert window.drafting.keep_now()
    timer, kept = window.drafting._timer, window.drafting.keeper
    kept._written_at -= 3600.0
    window.drafting.tick()
    assert (timer.isActive(), timer.interval()) == (True, 60_000)
    move(window, 210.0)
    assert timer.interval() == 500
    window.document.save(tmp_path / "a.shaft")
    assert not timer.isActive()


def test_a_draft_is_kept_while_one_works_and_dropped_by_a_save(
    window: MainWindow, store: PersonStore, tmp_path: Path
) -> None:
    move(window)
    assert window.drafting.keep_now()
    assert re.fullmatch(r"Draft kept \d+ s ago", window.status._state.text())
    assert list((tmp_path / "data" / "drafts").iterdir())
    assert store.drafts.left() == []
    window.document.save(tmp_path / "a.shaft")
    assert list((tmp_path / "data" / "drafts").iterdir()) == []
    assert window.status._state.text() == "Saved"


def test_undo_back_to_the_saved_state_drops_the_draft(window: MainWindow, tmp_path: Path) -> None:
    move(window)
    window.document.undo()
    assert list((tmp_path / "data" / "drafts").iterdir()) == []
    window.document.redo()
    assert len(list((tmp_path / "data" / "drafts").iterdir())) == 1


def test_closing_without_saving_leaves_no_draft(window: MainWindow, tmp_path: Path) -> None:
    move(window)
    window.close_at_once()
    assert list((tmp_path / "data" / "drafts").iterdir()) == []


def test_the_draft_is_brought_to_the_disk_beside_the_window(qtbot, window: MainWindow) -> None:
    move(window)
    keeper = window.drafting.keeper
    assert not keeper._synced
    qtbot.waitUntil(lambda: keeper._synced)
    qtbot.waitUntil(lambda: not window.jobs.is_busy("draft"))
    assert keeper.kept_ago_s is not None


def test_a_draft_is_offered_over_the_start_page_and_used_as_one_step(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    leave_draft(store, saved, moved(200.0))
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    bar = window.groups.keeping.draft_bar
    assert bar.isVisible()
    assert bar.text.text().startswith("A draft of gates.shaft from ")
    assert bar.text.text().endswith(
        " was kept after Shaftscore stopped unexpectedly. 12 steps newer than the saved file."
    )
    click(qtbot, bar.button("Restore"))
    document = window.document
    assert (document.path, document.is_modified) == (saved, True)
    assert document.project.lane("right").blocks[0].start_deg == 200.0
    assert not bar.isVisible()
    document.undo()
    assert document.project == gates()
    assert not document.is_modified
    assert left(store) == []


def test_looking_shows_both_and_which_lanes_are_different(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    leave_draft(store, saved, moved(200.0))
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    click(qtbot, window.groups.keeping.draft_bar.button("Preview"))
    shown = dialog(window)
    assert isinstance(shown, LookDialog)
    assert not shown.isModal()
    diagrams = shown.findChildren(TimingDiagram)
    assert len(diagrams) == 2
    table = shown.findChild(QTableWidget)
    assert [table.item(0, column).text() for column in range(4)] == [
        "Right",
        "blocks",
        "open 139.5° to 151.5° and closed 175.5° to 475.5°",
        "open 200.0° to 212.0° and closed 236.0° to 536.0°",
    ]
    document = shown.documents[1]
    before = document.project
    document.perform(place_block(before, RIGHT, 100.0))
    assert document.project is before
    click(qtbot, shown.button("Restore"))
    assert window.document.project.lane("right").blocks[0].start_deg == 200.0


def test_discarding_asks_and_then_drops(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    leave_draft(store, saved, moved(200.0))
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    click(qtbot, window.groups.keeping.draft_bar.button("Discard…"))
    click(qtbot, dialog(window).button("Cancel"))
    assert window.groups.keeping.draft_bar.isVisible()
    click(qtbot, window.groups.keeping.draft_bar.button("Discard…"))
    qtbot.waitUntil(lambda: sum(one.isVisible() for one in window.findChildren(Dialog)) == 1)
    click(qtbot, dialog(window).button("Discard"))
    assert not window.groups.keeping.draft_bar.isVisible()
    assert left(store) == []


def test_a_draft_that_was_not_decided_on_is_offered_again(
    make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    leave_draft(store, saved, moved(200.0))
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    assert left(store) == []
    window.close_at_once()
    assert left(store) == [moved(200.0)]


def test_using_a_draft_asks_about_what_is_open(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    leave_draft(store, saved, moved(200.0))
    window = make_window(gates())
    move(window, 220.0)
    window.groups.keeping.look_for_drafts()
    click(qtbot, window.groups.keeping.draft_bar.button("Restore"))
    click(qtbot, dialog(window).button("Cancel"))
    assert window.document.path is None
    click(qtbot, window.groups.keeping.draft_bar.button("Restore"))
    qtbot.waitUntil(lambda: sum(one.isVisible() for one in window.findChildren(Dialog)) == 1)
    click(qtbot, dialog(window).button("Don’t save"))
    assert window.document.path == saved


@pytest.mark.parametrize("state", ["never saved", "gone", "unreadable", "held"])
def test_a_draft_without_its_file_is_used_all_the_same(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path, state: str
) -> None:
    leave_draft(store, None if state == "never saved" else saved, moved(200.0))
    other = PersonStore(store.folder).open_files
    if state == "gone":
        saved.unlink()
    if state == "unreadable":
        saved.write_bytes(b"{")
    if state == "held":
        other.hold(saved)
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    click(qtbot, window.groups.keeping.draft_bar.button("Restore"))
    document = window.document
    assert document.project.lane("right").blocks[0].start_deg == 200.0
    assert document.is_modified
    assert document.path == (saved if state == "gone" else None)
    assert left(store) == []
    if state == "unreadable":
        assert saved.read_bytes() == b"{"
    other.release_all_but(None)


def test_of_several_drafts_the_newest_comes_first(
    qtbot, make_window: WindowMaker, store: PersonStore, saved: Path
) -> None:
    for deg, minute in ((200.0, 1), (210.0, 3), (220.0, 2)):
        head = Head(None, "Untitled", "")
        when = datetime(2026, 3, 4, 12, minute, tzinfo=UTC)
        store.drafts.begin(head, moved(deg), "Move", 1, when).close()
    window = make_window(None)
    window.groups.keeping.look_for_drafts()
    bar = window.groups.keeping.draft_bar
    assert "2 more drafts after this one." in bar.text.text()
    click(qtbot, bar.button("Restore"))
    assert window.document.project == moved(210.0)
    assert "1 more draft after this one." in bar.text.text()


def test_a_draft_outlives_a_disk_that_is_full_when_it_is_used(
    qtbot, window: MainWindow, store: PersonStore, monkeypatch: pytest.MonkeyPatch, caplog
) -> None:
    leave_draft(store, None, moved(200.0))
    window.groups.keeping.look_for_drafts()

    def fail(handle: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("shaftscore_app.keeping.journal.os.write", fail)
        click(qtbot, window.groups.keeping.draft_bar.button("Restore"))
    assert window.status._state.text() == "Not saved, no draft: No space left on device"
    assert left(store) == [moved(200.0)]
    assert {record.message for record in caplog.records} == {
        "the draft was not kept: [Errno 28] No space left on device"
    }
    caplog.clear()


def test_work_of_the_program_maker_is_kept_and_offered_after_a_stop(
    qtbot, make_window: WindowMaker, saved: Path, store: PersonStore
) -> None:
    """The file has all changes; what was painted and typed, and not applied, is in the draft alone."""
    first = make_window(None)
    first.document.open(saved)
    first.program.session.follow()
    first.program.session.paint(1, [(0, 0)])
    first.program.truth.text.setPlainText("p  q  A1")
    painted = first.program.session.draft
    assert not first.document.is_modified
    first.drafting.keeper.leave()  # as a program that stops
    (draft,) = store.drafts.left()
    assert (draft.kept.steps, draft.kept.aside is None) == (0, False)
    draft.release()
    first.document.close()
    second = make_window(None)
    second.groups.keeping.look_for_drafts()
    bar = second.groups.keeping.draft_bar
    assert bar.text.text().endswith("It has work of the Program maker that was not applied.")
    click(qtbot, bar.button("Restore"))
    assert second.program.session.draft == painted
    assert second.program.truth.text.toPlainText() == "p  q  A1"
    assert second.program.is_unapplied
    assert not second.document.is_modified
    second.program.discard()
    assert list((store.folder / "drafts").iterdir()) == []  # nothing is left to keep
    said: list[str] = []
    second.program.status_message.connect(said.append)
    second.program.restore({"draft": {"frames": []}, "frame": 0})
    assert said[0].startswith("The Program maker was not restored: ")
    assert not second.program.is_unapplied
