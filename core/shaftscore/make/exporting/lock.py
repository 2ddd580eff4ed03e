"""A lock file in the folder of an export, so that two exporters never write into it at once."""

from __future__ import annotations

from pathlib import Path

from shaftscore.base.errors import ExportError
from shaftscore.base.filelock import FileLock

LOCK_NAME = ".shaftscore-lock"


class FolderLock:
    """Holds the lock of a folder from `take` to `release`."""

    def __init__(self, folder: Path) -> None:
        """Name the folder; nothing is locked yet."""
        self._folder = folder
        self._lock = FileLock(folder / LOCK_NAME)

    def take(self) -> None:
        """Take the lock; raises ExportError if another export holds it, OSError if none can be made."""
        if not self._lock.take():
            raise ExportError(f"another export is writing to {self._folder}: wait for it to end")

    def release(self) -> None:
        """Release the lock and remove its file."""
        self._lock.release()
