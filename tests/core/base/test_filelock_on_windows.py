"""The branch of the lock that another system takes, run here against a stand-in for its library.

The stand-in locks as that system does: a byte range of an open file belongs to one opener at a time, and
a second one is refused at once. What it cannot show is that system's own file handling.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType, SimpleNamespace

import pytest

fcntl = pytest.importorskip("fcntl", reason="the stand-in is made of this system's own locks")

SOURCE = Path(__file__).resolve().parents[3] / "core" / "shaftscore" / "base" / "filelock.py"


def locking(descriptor: int, mode: int, count: int) -> None:
    assert (mode, count) == (2, 1)
    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)  # BlockingIOError is an OSError


@pytest.fixture
def elsewhere(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module as it is loaded on that system."""
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setitem(sys.modules, "msvcrt", SimpleNamespace(LK_NBLCK=2, locking=locking))  # type: ignore[arg-type]
    spec = importlib.util.spec_from_file_location("filelock_elsewhere", SOURCE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_second_is_refused_until_the_first_releases(elsewhere: ModuleType, tmp_path: Path) -> None:
    path = tmp_path / "lock"
    first, second = elsewhere.FileLock(path), elsewhere.FileLock(path)
    assert first.take()
    assert not second.take()
    assert not second.is_held
    first.write(b"me")
    assert path.read_bytes() == b"me"  # what is locked lies behind it
    first.release()
    assert not path.exists()
    assert second.take()
    second.release()
    assert not path.exists()


def test_a_file_that_the_next_one_holds_already_is_left_to_it(
    elsewhere: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That system refuses to remove a file that somebody has open."""

    def refuse(_path: Path, missing_ok: bool = False) -> None:
        raise PermissionError(13, "in use")

    lock = elsewhere.FileLock(tmp_path / "lock")
    assert lock.take()
    monkeypatch.setattr(Path, "unlink", refuse)
    lock.release()
    assert not lock.is_held
    assert (tmp_path / "lock").exists()
