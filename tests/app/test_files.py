from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from app.files import write_whole


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
