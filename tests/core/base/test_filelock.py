"""The lock of a file: one holder at a time, across processes, and none left behind by a process that died."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from shaftscore.base.filelock import FileLock

HOLDER = """
import sys, pathlib
from shaftscore.base.filelock import FileLock
lock = FileLock(pathlib.Path(sys.argv[1]))
print(lock.take(), flush=True)
sys.stdin.readline()
"""
"""Holds a lock until a line comes, or until it is killed."""


def test_the_second_is_refused_until_the_first_releases(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    first, second = FileLock(path), FileLock(path)
    assert first.take()
    assert first.take()  # it holds it already
    assert not second.take()
    assert (first.is_held, second.is_held) == (True, False)
    first.release()
    assert not first.is_held
    assert not path.exists()
    assert second.take()
    second.release()
    second.release()  # nothing more to release
    assert not path.exists()


def test_a_process_that_dies_locks_nobody_out(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    ) as holder:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "True\n"
        ours = FileLock(path)
        assert not ours.take()
        holder.kill()
        holder.wait()
        assert path.exists()  # it had no time to remove it
        assert ours.take()
        ours.release()


def test_a_link_in_the_place_of_a_lock_is_refused(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    (tmp_path / "lock").symlink_to(elsewhere)
    with pytest.raises(OSError, match="symbolic link"):
        FileLock(tmp_path / "lock").take()
    assert not elsewhere.exists()
