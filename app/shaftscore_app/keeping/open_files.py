"""Which files are open in an editor, so that two never write one file without knowing of each other.

The lock of a file lies in the data folder, not beside the file. It is held by the operating system: when
an editor dies, its files are free. It knows this person's editors on this machine only; a change by
anybody else shows when the file is saved (`shaftscore_app.runtime.files.Stamp`).
"""

from __future__ import annotations

import json
import logging
import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from shaftscore.base.filelock import FileLock
from shaftscore.base.whole_files import private_folder
from shaftscore_app.keeping.places import name_for

log = logging.getLogger(__name__)


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Holder:
    """Who has a file open: since when (None: it did not say), and in which process."""

    since: datetime | None
    process: int | None


class OpenFiles:
    """The files that this editor holds, and those that others do."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = _now) -> None:
        """Name the folder of the locks; it is made when it is needed."""
        self._folder, self._now = folder, now
        self._held: dict[str, FileLock] = {}

    def hold(self, path: Path) -> Holder | None:
        """Hold a file; gives who else has it open, or None where it is held now. Raises OSError."""
        name = name_for(path)
        if name in self._held:
            return None
        private_folder(self._folder)
        lock = FileLock(self._folder / f"{name}.lock")
        if not lock.take():
            return self._holder(name)
        try:
            self._said(name).write_text(
                json.dumps({"since": self._now().isoformat(), "process": os.getpid()}), encoding="utf-8"
            )
        except OSError as error:  # a full disk: the file is held all the same
            log.info("no note says who has %s open: %s", path.name, error)
        self._held[name] = lock
        return None

    def release_all_but(self, path: Path | None) -> None:
        """Let others have all files but one (None: all)."""
        kept = None if path is None else name_for(path)
        for name in [name for name in self._held if name != kept]:
            self._said(name).unlink(missing_ok=True)
            self._held.pop(name).release()

    def _said(self, name: str) -> Path:
        """Return the file beside a lock that says who holds it."""
        return self._folder / f"{name}.json"

    def _holder(self, name: str) -> Holder:
        try:
            said = json.loads(self._said(name).read_bytes())
            return Holder(datetime.fromisoformat(said["since"]), int(said["process"]))
        except (OSError, ValueError, KeyError, TypeError):
            return Holder(None, None)  # it has just taken the file, or just given it back
