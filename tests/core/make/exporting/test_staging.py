"""All of an export appears, or none: at every place where it can stop or die."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from shaftscore.base.errors import ExportError
from shaftscore.make.exporting import staging as staging_module
from shaftscore.make.exporting.lock import LOCK_NAME, FolderLock
from shaftscore.make.exporting.staging import MANIFEST_NAME, PARTIAL_NAME, Staging, staging

OLD = {"A1_a.stl": b"old a", "A1_b.stl": b"old b", "A1_gone.stl": b"old gone", MANIFEST_NAME: b"old manifest"}
NEW = {"A1_a.stl": b"new a", "A1_b.stl": b"new b", "A1_c.stl": b"new c"}
MOVES = 3 + 3 + 1
"""Old files aside, new files in, manifest."""


class DeathError(BaseException):
    """Stands for the end of the process."""


def content(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def fill(folder: Path) -> None:
    folder.mkdir(exist_ok=True)
    for name, data in OLD.items():
        (folder / name).write_bytes(data)


def export(folder: Path) -> None:
    with staging(folder) as stage:
        for name, data in NEW.items():
            stage.write(name, data)
        stage.commit(b"new manifest", OLD.keys() - {MANIFEST_NAME})


def failing_at(count: int, error: BaseException) -> Callable[..., None]:
    """A `os.replace` that fails at its count-th call."""
    calls = iter(range(1, 10_000))
    real = os.replace

    def replace(*places: Path) -> None:
        if next(calls) == count:
            raise error
        real(*places)

    return replace


def test_an_export_replaces_adds_and_removes(tmp_path: Path) -> None:
    fill(tmp_path)
    (tmp_path / "notes.txt").write_bytes(b"mine")
    export(tmp_path)
    assert content(tmp_path) == {**NEW, MANIFEST_NAME: b"new manifest", "notes.txt": b"mine"}


@pytest.mark.parametrize("count", range(1, MOVES + 1))
@pytest.mark.parametrize("error", [OSError(errno.EIO, "Input/output error"), KeyboardInterrupt()])
def test_a_failure_at_any_move_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int, error: BaseException
) -> None:
    fill(tmp_path)
    monkeypatch.setattr(staging_module.os, "replace", failing_at(count, error))
    with pytest.raises((ExportError, KeyboardInterrupt)) as caught:
        export(tmp_path)
    assert content(tmp_path) == OLD
    if isinstance(error, OSError):
        assert str(caught.value) == f"cannot write to {tmp_path}: Input/output error"


def die(folder: Path, monkeypatch: pytest.MonkeyPatch, count: int) -> None:
    """Let an export end at a move as if its process had been killed."""
    with monkeypatch.context() as patched:
        patched.setattr(staging_module.os, "replace", failing_at(count, DeathError()))
        patched.setattr(Staging, "_undo", lambda *_: None)
        patched.setattr(Staging, "close", lambda _: None)
        with pytest.raises(DeathError):
            export(folder)


@pytest.mark.parametrize("count", range(1, MOVES + 1))
def test_the_next_export_clears_up_after_one_that_died(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    fill(tmp_path)
    die(tmp_path, monkeypatch, count)
    assert (tmp_path / PARTIAL_NAME).exists()
    with staging(tmp_path):
        pass
    assert content(tmp_path) == OLD
    export(tmp_path)
    assert content(tmp_path) == {**NEW, MANIFEST_NAME: b"new manifest"}


@pytest.mark.parametrize("second", range(1, 7))
def test_dying_again_while_clearing_up_loses_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, second: int
) -> None:
    fill(tmp_path)
    die(tmp_path, monkeypatch, MOVES)
    with monkeypatch.context() as patched:
        patched.setattr(staging_module.os, "replace", failing_at(second, DeathError()))
        patched.setattr(Staging, "close", lambda _: None)
        with pytest.raises(DeathError), staging(tmp_path):
            pass
    with staging(tmp_path):
        pass
    assert content(tmp_path) == OLD


def test_dying_after_the_manifest_keeps_the_new_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(tmp_path)
    with monkeypatch.context() as patched:
        patched.setattr(Staging, "close", lambda _: None)
        export(tmp_path)
    assert (tmp_path / PARTIAL_NAME).exists()
    with staging(tmp_path):
        pass
    assert content(tmp_path) == {**NEW, MANIFEST_NAME: b"new manifest"}


def test_a_full_disk_is_one_message_and_leaves_everything_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(tmp_path)

    def full(path: Path, data: bytes) -> int:
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(ExportError) as caught:
        export(tmp_path)
    monkeypatch.undo()
    assert str(caught.value) == f"cannot write to {tmp_path}: No space left on device (A1_a.stl)"
    assert content(tmp_path) == OLD


def test_a_folder_that_cannot_be_written_is_one_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fill(tmp_path)

    def refuse(*_: object, **__: object) -> int:
        raise PermissionError(errno.EACCES, "Permission denied", str(tmp_path / LOCK_NAME))

    monkeypatch.setattr("filelock.FileLock.acquire", refuse)
    with pytest.raises(ExportError) as caught:
        export(tmp_path)
    monkeypatch.undo()
    assert str(caught.value) == f"cannot write to {tmp_path}: Permission denied"
    assert content(tmp_path) == OLD


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="this user may write anywhere")
def test_a_read_only_folder_is_refused(tmp_path: Path) -> None:
    fill(tmp_path)
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(ExportError, match="Permission denied"):
            export(tmp_path)
    finally:
        tmp_path.chmod(0o755)
    assert content(tmp_path) == OLD


def test_a_foreign_file_is_not_replaced(tmp_path: Path) -> None:
    fill(tmp_path)
    (tmp_path / "A1_c.stl").write_bytes(b"mine")
    with pytest.raises(ExportError) as caught:
        export(tmp_path)
    assert str(caught.value) == (
        f"{tmp_path / 'A1_c.stl'} was not made by an export and is not replaced: "
        "move it away or choose another folder"
    )
    assert content(tmp_path) == {**OLD, "A1_c.stl": b"mine"}


def test_folders_are_made_and_removed_again_if_nothing_comes_of_them(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError), staging(tmp_path / "new" / "deep"):
        raise RuntimeError
    assert content(tmp_path) == {}
    export(tmp_path / "new" / "deep")
    assert (tmp_path / "new" / "deep" / "A1_a.stl").exists()


def test_a_file_in_the_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    place = tmp_path / "out"
    place.write_bytes(b"mine")
    with pytest.raises(ExportError, match="is not a folder"), staging(place):
        pass
    assert place.read_bytes() == b"mine"


def test_a_second_export_is_kept_out(tmp_path: Path) -> None:
    with staging(tmp_path) as first:
        first.write("A1_a.stl", b"first")
        with pytest.raises(ExportError, match="another export is writing to"), staging(tmp_path):
            pass
        first.commit(b"manifest", ())
    assert content(tmp_path) == {"A1_a.stl": b"first", MANIFEST_NAME: b"manifest"}


def test_the_lock_of_a_dead_process_keeps_nobody_out(tmp_path: Path) -> None:
    code = (
        "import os, sys; from pathlib import Path; from shaftscore.make.exporting.lock import FolderLock; "
        "FolderLock(Path(sys.argv[1])).take(); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path)], check=True)
    assert (tmp_path / LOCK_NAME).exists()
    fill(tmp_path)
    export(tmp_path)
    assert content(tmp_path) == {**NEW, MANIFEST_NAME: b"new manifest"}


def test_a_lock_whose_file_was_removed_meanwhile_is_taken_anew(tmp_path: Path) -> None:
    first, second = FolderLock(tmp_path), FolderLock(tmp_path)
    first.take()
    (tmp_path / LOCK_NAME).unlink()
    second.take()
    first.release()
    assert (tmp_path / LOCK_NAME).exists()
    second.release()
    second.release()
    assert content(tmp_path) == {}


@pytest.mark.parametrize("kind", ["link", "file"])
def test_something_else_in_the_place_of_the_staging_folder_is_only_unlinked(
    tmp_path: Path, kind: str
) -> None:
    elsewhere = tmp_path / "elsewhere"
    fill(elsewhere)
    out = tmp_path / "out"
    out.mkdir()
    if kind == "link":
        (out / PARTIAL_NAME).symlink_to(elsewhere)
    else:
        (out / PARTIAL_NAME).write_bytes(b"")
    export(out)
    assert content(elsewhere) == OLD
    assert content(out) == {**NEW, MANIFEST_NAME: b"new manifest"}


def test_a_journal_cannot_name_files_outside_the_folder(tmp_path: Path) -> None:
    out = tmp_path / "out"
    fill(out)
    (tmp_path / "victim").write_bytes(b"mine")
    partial = out / PARTIAL_NAME
    for folder in (partial, partial / "new", partial / "old"):
        folder.mkdir()
    (partial / "new" / MANIFEST_NAME).write_bytes(b"")
    (partial / "moves.json").write_text('["../victim"]', encoding="utf-8")
    export(out)
    assert (tmp_path / "victim").read_bytes() == b"mine"
