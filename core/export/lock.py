"""A lock file in the folder of an export, so that two exporters never write into it at once.

The operating system holds the lock and drops it when its process ends, however it ends: a file left by
a dead process does not block anybody.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

from core.errors import ExportError

LOCK_NAME = ".shaftscore-lock"


class FolderLock:
    """Holds the lock of a folder from `take` to `release`."""

    def __init__(self, folder: Path) -> None:
        """Name the folder; nothing is locked yet."""
        self._path = folder / LOCK_NAME
        self._descriptor: int | None = None

    def take(self) -> None:
        """Take the lock; raises ExportError if another export holds it, OSError if none can be made."""
        while self._descriptor is None:
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o644)
            if not _locked(descriptor):
                os.close(descriptor)
                raise ExportError(f"another export is writing to {self._path.parent}: wait for it to end")
            if _is_file(descriptor, self._path):
                self._descriptor = descriptor
            else:
                os.close(descriptor)

    def release(self) -> None:
        """Give the lock back and remove its file."""
        if self._descriptor is None:
            return
        if sys.platform != "win32" and _is_file(self._descriptor, self._path):
            self._path.unlink()
        os.close(self._descriptor)
        self._descriptor = None
        if sys.platform == "win32":
            _unlink_unless_taken(self._path)


def _is_file(descriptor: int, path: Path) -> bool:
    """Tell whether the locked file is still the one in the folder: its last holder removes it."""
    try:
        there = path.stat()
    except FileNotFoundError:
        return False
    return os.path.samestat(os.fstat(descriptor), there)


if sys.platform == "win32":
    import msvcrt

    def _locked(descriptor: int) -> bool:
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlink_unless_taken(path: Path) -> None:
        """Remove the file after closing it; the next export may hold it by then."""
        try:
            path.unlink(missing_ok=True)
        except PermissionError:
            return

else:
    import fcntl

    def _locked(descriptor: int) -> bool:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
