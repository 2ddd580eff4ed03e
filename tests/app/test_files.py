from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from shaftscore.base.whole_files import clear_leftovers, write_whole
from shaftscore_app.runtime.files import Stamp, plain_name, why_not_written


def test_writes_new_and_old_files_and_leaves_nothing_else(tmp_path: Path) -> None:
    path = tmp_path / "a.shaft"
    write_whole(path, b"one")
    write_whole(path, b"two")
    assert path.read_bytes() == b"two"
    assert os.listdir(tmp_path) == ["a.shaft"]


def test_a_write_that_fails_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.shaft"
    path.write_bytes(b"old")

    def fail(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", fail)
    with pytest.raises(OSError, match="No space"):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.shaft"]


def test_keeps_the_rights_of_the_old_file_and_follows_a_link(tmp_path: Path) -> None:
    real, link = tmp_path / "real.shaft", tmp_path / "link.shaft"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_a_new_file_has_the_rights_of_any_new_file(tmp_path: Path) -> None:
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    write_whole(tmp_path / "a.shaft", b"")
    assert (tmp_path / "a.shaft").stat().st_mode == plain.stat().st_mode


def test_the_folder_is_forced_to_the_disk_after_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The order in which a file survives a power loss: its bytes, its name, its folder."""
    done: list[str] = []
    fsync, replace = os.fsync, os.replace

    def noted_fsync(handle: int) -> None:
        done.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        fsync(handle)

    def noted_replace(old: str, new: Path) -> None:
        done.append("name")
        replace(old, new)

    monkeypatch.setattr(os, "fsync", noted_fsync)
    monkeypatch.setattr(os, "replace", noted_replace)
    write_whole(tmp_path / "a.shaft", b"new")
    assert done == ["file", "name", "folder"]


def test_a_link_that_leads_nowhere_yet_makes_its_file(tmp_path: Path) -> None:
    link = tmp_path / "link.shaft"
    link.symlink_to(tmp_path / "real.shaft")
    write_whole(link, b"new")
    assert link.is_symlink()
    assert (tmp_path / "real.shaft").read_bytes() == b"new"


def test_a_name_of_255_bytes_can_be_written(tmp_path: Path) -> None:
    path = tmp_path / f"{'x' * 249}.shaft"
    write_whole(path, b"new")
    assert path.read_bytes() == b"new"


def test_leftovers_of_a_program_that_died_are_cleared_and_no_others(tmp_path: Path) -> None:
    path = tmp_path / "a[1].shaft"
    old, fresh, other = (
        tmp_path / name for name in (".a[1].shaft.x1.part", ".a[1].shaft.x2.part", ".a1.shaft.x3.part")
    )
    for part in (old, fresh, other):
        part.write_bytes(b"")
    for part in (old, other):
        os.utime(part, (1, 1))
    clear_leftovers(path)
    assert sorted(os.listdir(tmp_path)) == [".a1.shaft.x3.part", ".a[1].shaft.x2.part"]


def test_a_disk_that_is_really_full_leaves_the_old_file(tmp_path: Path) -> None:
    """The system itself refuses the bytes: a process that may write files of 1,000 bytes at most."""
    path = tmp_path / "a.shaft"
    path.write_bytes(b"old")
    code = (
        "import resource, signal, sys; from pathlib import Path\n"
        "from shaftscore.base.whole_files import write_whole\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "try: write_whole(Path(sys.argv[1]), bytes(5000))\n"
        "except OSError as error: print(type(error).__name__, error.errno)"
    )
    root = Path(__file__).resolve().parents[2]
    done = subprocess.run(
        [sys.executable, "-c", code, str(path)], cwd=root, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["OSError", str(errno.EFBIG)]
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.shaft"]


def test_a_stamp_sees_other_bytes_and_not_a_mere_touch(tmp_path: Path) -> None:
    path = tmp_path / "a.shaft"
    assert Stamp.of(path) is None
    path.write_bytes(b"one")
    stamp = Stamp.of(path)
    assert stamp is not None
    assert stamp.still(path)
    os.utime(path, (1, 1))
    assert stamp.still(path)
    path.write_bytes(b"two")
    assert not stamp.still(path)
    path.unlink()
    assert not stamp.still(path)


@pytest.mark.parametrize(
    ("number", "words"),
    [
        (errno.ENOSPC, "The disk is full."),
        (errno.EROFS, "The disk can only be read."),
        (errno.EACCES, "The file, or its folder, may only be read."),
        (errno.EIO, "The system says: Input/output error."),
    ],
)
def test_why_a_file_was_not_written(number: int, words: str) -> None:
    assert why_not_written(OSError(number, os.strerror(number))) == words


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Tea für zwei", "Tea für zwei"),
        ("../../etc/passwd", "etc-passwd"),
        ("..", "Untitled"),
        ("", "Untitled"),
        ("C:\\x\ny", "C-x-y"),
        (".hidden", "hidden"),
    ],
)
def test_a_proposed_name_stays_in_its_folder(text: str, name: str) -> None:
    assert plain_name(text) == name


def test_a_file_that_may_only_be_read_is_not_replaced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.shaft"
    path.write_bytes(b"old")
    path.chmod(0o444)
    monkeypatch.setattr(os, "access", lambda place, mode: not (place == path and mode == os.W_OK))
    with pytest.raises(PermissionError):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.shaft"]
