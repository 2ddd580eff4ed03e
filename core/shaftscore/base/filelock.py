"""A lock on a file, held by the operating system until its process ends, however it ends.

A file left by a dead process locks nobody out: whether a lock is stale never has to be guessed. The lock
itself is that of the library `filelock`; here it is taken at once or not at all, and its file goes with it.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

TRIES = 2
"""A holder that leaves takes its file along: whoever had just opened that file looks for the next one."""


class FileLock:
    """Holds the lock of one file from `take` to `release`; the file is made, and removed again."""

    def __init__(self, path: Path) -> None:
        """Name the file; nothing is locked yet."""
        import filelock  # an export and the editor need it, a check does not

        self._path, self._taken = path, filelock.Timeout
        self._made: os.stat_result | None = None
        self._lock = filelock.FileLock(path, timeout=0, thread_local=False, fallback_to_soft=False)

    @property
    def is_held(self) -> bool:
        """Whether this object holds the lock."""
        return self._lock.is_locked

    def take(self) -> bool:
        """Take the lock; False if somebody else holds it.

        Raises OSError if no file can be made, or a link is in its place.
        """
        for _ in range(TRIES):
            if self.is_held:
                break
            try:
                self._lock.acquire()
                self._made = self._path.stat() if self._path.exists() else None
            except self._taken:
                if self._path.exists():
                    break
        return self.is_held

    def release(self) -> None:
        """Release the lock and remove its file."""
        if not self.is_held:
            return
        if sys.platform != "win32" and self._is_ours():
            self._path.unlink()  # elsewhere the library does: nobody can while it is open
        self._lock.release()

    def _is_ours(self) -> bool:
        """Return whether the file in the folder is the locked one, not one that the next holder made."""
        try:
            return self._made is not None and os.path.samestat(self._path.stat(), self._made)
        except FileNotFoundError:
            return False
