"""A lock on a file, held by the operating system until its process ends, however it ends.

A file left by a dead process locks nobody out: whether a lock is stale never has to be guessed.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

NO_LINK = getattr(os, "O_NOFOLLOW", 0)
"""A link in the place of a lock is refused: the file would be made wherever it points."""


class FileLock:
    """Holds the lock of one file from `take` to `release`; the file is made, and removed again."""

    def __init__(self, path: Path) -> None:
        """Name the file; nothing is locked yet."""
        self._path = path
        self._descriptor: int | None = None

    @property
    def is_held(self) -> bool:
        """Whether this object holds the lock."""
        return self._descriptor is not None

    def take(self) -> bool:
        """Take the lock; False if somebody else holds it. Raises OSError if no file can be made."""
        while self._descriptor is None:
            descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT | NO_LINK, 0o644)
            if not _locked(descriptor):
                os.close(descriptor)
                return False
            if _is_file(descriptor, self._path):
                self._descriptor = descriptor
            else:
                os.close(descriptor)
        return True

    def write(self, data: bytes) -> None:
        """Leave a few bytes in the locked file for whoever is locked out.

        Raises OSError, and ValueError while nothing is locked.
        """
        if self._descriptor is None:
            raise ValueError(f"{self._path} is not locked by this object")
        os.ftruncate(self._descriptor, 0)
        os.lseek(self._descriptor, 0, os.SEEK_SET)
        os.write(self._descriptor, data)

    def release(self) -> None:
        """Release the lock and remove its file."""
        if self._descriptor is None:
            return
        if sys.platform != "win32" and _is_file(self._descriptor, self._path):
            self._path.unlink()
        os.close(self._descriptor)
        self._descriptor = None
        if sys.platform == "win32":
            _unlink_unless_taken(self._path)


def _is_file(descriptor: int, path: Path) -> bool:
    """Return whether the locked file is still the one in the folder: its last holder removes it."""
    try:
        there = path.stat()
    except FileNotFoundError:
        return False
    return os.path.samestat(os.fstat(descriptor), there)


if sys.platform == "win32":
    import msvcrt

    LOCKED_AT = 1 << 30
    """The byte that is locked lies behind what `write` leaves, so that others can read that."""

    def _locked(descriptor: int) -> bool:
        os.lseek(descriptor, LOCKED_AT, os.SEEK_SET)
        try:
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

    def _unlink_unless_taken(path: Path) -> None:
        """Remove the file after closing it; another process may hold it by then."""
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
