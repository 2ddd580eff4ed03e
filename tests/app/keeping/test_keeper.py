"""Drafts: when they are written, who is offered them, and what becomes of them."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Project
from shaftscore.model.base import replaced
from shaftscore_app.keeping import Drafts, Keeper, PersonStore
from shaftscore_app.keeping.drafts import JOURNAL, ROOM
from shaftscore_app.keeping.journal import Head
from tests.app.conftest import HandClock
from tests.app.machines import gates

HEAD = Head(None, "Untitled", "")
NOW = datetime(2026, 3, 4, 14, 2, tzinfo=UTC)


def moved(deg: float) -> Project:
    return apply_edit(gates(), "place_block", ref=BlockRef("right", 0), start_deg=deg).project


def keeper(folder: Path, clock: HandClock) -> Keeper:
    return Keeper(Drafts(folder), clock, lambda: NOW)


def offered(folder: Path) -> list[Project | None]:
    """Return what another start would be offered, and leave it there."""
    found = Drafts(folder).left()
    for draft in found:
        draft.release()
    return [draft.kept.project for draft in found]


def test_the_first_change_is_written_at_once_and_the_others_within_two_seconds(
    tmp_path: Path, clock: HandClock
) -> None:
    """Edits every 50 ms for ten seconds: after each, what is on the disk is at most 2 s old."""
    kept = keeper(tmp_path, clock)
    made: list[tuple[float, Project]] = []
    for count in range(200):
        project = moved(200.0 + count / 10)
        made.append((clock.now, project))
        kept.note(HEAD, project, f"Step {count}", count + 1)
        clock.now += 0.05
        kept.tick()
        (folder,) = tmp_path.iterdir()
        from shaftscore_app.keeping.journal import read_journal

        if count % 10:
            continue
        there = read_journal(folder / JOURNAL)
        assert there is not None
        written_at = next(time for time, one in made if one == there.project)
        assert clock.now - written_at <= 2.0
    assert kept.is_behind
    clock.now += 1.0
    kept.tick()
    assert not kept.is_behind


def test_a_living_program_s_draft_is_nobody_else_s(tmp_path: Path, clock: HandClock) -> None:
    kept = keeper(tmp_path, clock)
    kept.note(HEAD, moved(200.0), "Move", 1)
    assert offered(tmp_path) == []
    kept.leave()
    assert offered(tmp_path) == [moved(200.0)]


def test_what_is_saved_leaves_no_draft(tmp_path: Path, clock: HandClock) -> None:
    kept = keeper(tmp_path, clock)
    kept.note(HEAD, moved(200.0), "Move", 1)
    assert kept.kept_ago_s == 0.0
    kept.forget()
    assert kept.kept_ago_s is None
    assert list(tmp_path.iterdir()) == []
    kept.note(HEAD, moved(210.0), "Move", 1)
    kept.leave()
    assert offered(tmp_path) == [moved(210.0)]


def test_two_starts_are_never_offered_one_draft(tmp_path: Path, clock: HandClock) -> None:
    kept = keeper(tmp_path, clock)
    kept.note(HEAD, moved(200.0), "Move", 1)
    kept.leave()
    first = Drafts(tmp_path).left()
    assert len(first) == 1
    assert Drafts(tmp_path).left() == []
    first[0].remove()
    assert offered(tmp_path) == []


def test_a_disk_that_is_full_is_told_and_tried_again(
    tmp_path: Path, clock: HandClock, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    kept = keeper(tmp_path, clock)

    def fail(handle: int, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr("shaftscore_app.keeping.journal.os.write", fail)
        kept.note(HEAD, moved(200.0), "Move", 1)
        assert kept.trouble == "No space left on device"
    assert list(tmp_path.iterdir()) == []
    clock.now += 1.0
    kept.tick()
    assert kept.trouble == ""
    kept.leave()
    assert offered(tmp_path) == [moved(200.0)]
    assert [record.message for record in caplog.records] == [
        "the draft was not kept: [Errno 28] No space left on device"
    ]


def test_a_journal_does_not_grow_without_end(tmp_path: Path, clock: HandClock) -> None:
    kept = keeper(tmp_path, clock)
    big = replaced(gates(), notes="x" * 90_000)
    for count in range(60):
        kept.note(HEAD, replaced(big, notes=f"{count} {big.notes}"), "Type", count + 1)
        clock.now += 1.0
    (folder,) = tmp_path.iterdir()
    assert (folder / JOURNAL).stat().st_size < 2 * ROOM
    assert sorted(path.name for path in folder.iterdir()) == [JOURNAL, "lock"]
    kept.leave()
    (project,) = offered(tmp_path)
    assert project is not None
    assert project.notes.startswith("59 ")


def test_the_draft_of_a_killed_process_is_offered(tmp_path: Path) -> None:
    """The lock dies with its process: no draft of a dead program is taken for one in use."""
    code = (
        "import os, sys, time, pathlib\n"
        "from shaftscore_app.keeping import Drafts, Keeper\n"
        "from shaftscore_app.keeping.journal import Head\n"
        "from tests.app.machines import gates\n"
        "kept = Keeper(Drafts(pathlib.Path(sys.argv[1])), time.monotonic)\n"
        "kept.note(Head(None, 'Untitled', ''), gates(), 'Move', 3)\n"
        "os.kill(os.getpid(), 9)\n"
    )
    root = Path(__file__).resolve().parents[3]
    assert subprocess.run([sys.executable, "-c", code, str(tmp_path)], cwd=root, check=False).returncode == -9
    assert offered(tmp_path) == [gates()]


def test_forcing_to_the_disk_outlives_the_draft(tmp_path: Path, clock: HandClock) -> None:
    kept = keeper(tmp_path, clock)
    kept.note(HEAD, moved(200.0), "Move", 1)
    sync = kept.syncing()
    assert sync is not None
    assert kept.syncing() is None
    kept.forget()
    sync()


def test_a_file_that_is_open_elsewhere_is_told_until_its_holder_dies(tmp_path: Path) -> None:
    path = tmp_path / "a.shaft"
    one, two = PersonStore(tmp_path / "data").open_files, PersonStore(tmp_path / "data").open_files
    assert one.hold(path) is None
    assert one.hold(path) is None
    holder = two.hold(path)
    assert holder is not None
    assert holder.since is not None
    link = tmp_path / "link.shaft"
    path.write_bytes(b"")
    link.symlink_to(path)
    assert two.hold(link) is not None
    one.release_all_but(None)
    assert two.hold(path) is None
    two.release_all_but(None)
    code = (
        "import os, sys; from pathlib import Path; from shaftscore_app.keeping import PersonStore\n"
        "assert PersonStore(Path(sys.argv[1])).open_files.hold(Path(sys.argv[2])) is None\n"
        "os.kill(os.getpid(), 9)"
    )
    root = Path(__file__).resolve().parents[3]
    ended = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path / "data"), str(path)], cwd=root, check=False
    )
    assert ended.returncode == -9
    assert one.hold(path) is None
    one.release_all_but(None)
