"""Drafts: the journals of projects that have changes which no file holds.

A draft is a folder with a journal and a lock. As long as its editor lives it holds the lock; a draft
whose lock is free was left by a program that stopped.
"""

from __future__ import annotations

import shutil
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from shaftscore.base.filelock import FileLock
from shaftscore.base.whole_files import private_folder, sync_folder
from shaftscore.model.project import Project
from shaftscore_app.keeping.journal import Head, Journal, JournalContents, Plain, read_journal

JOURNAL, LOCK = "journal", "lock"
EMPTY_S = 86_400.0
"""A folder without a journal that is this old was left by a program that stopped as it began."""

ROOM = 1 << 20
"""A journal begins afresh when it has grown to this many bytes and to four times its first project."""


class Draft:
    """The draft of the open project. Every method may raise OSError."""

    def __init__(self, folder: Path, lock: FileLock, head: Head) -> None:
        """Begin the journal in a folder whose lock is held; made by `Drafts.begin`."""
        self._folder, self._lock, self._head = folder, lock, head
        self._journal = Journal(folder / JOURNAL, head)
        self._first_size = 0

    def add(
        self, project: Project, step: str, steps: int, when: datetime, aside: Plain | None = None
    ) -> None:
        """Write down that `project` is the current one now, `steps` steps from the saved file.

        aside: work that is no part of the project.
        """
        self._journal.add(project, step, steps, when, aside)
        self._first_size = self._first_size or self._journal.size
        if self._journal.size > max(ROOM, 4 * self._first_size):
            self._begin_afresh(project, step, steps, when, aside)

    def syncing(self) -> Callable[[], None]:
        """Return what forces the draft to the disk; it may be called on any thread, once."""
        sync, folder = self._journal.syncing(), self._folder

        def all_of_it() -> None:
            sync()
            for place in (folder, folder.parent):
                if place.is_dir():
                    sync_folder(place)

        return all_of_it

    def close(self) -> None:
        """Leave the draft behind, for the next start."""
        self._journal.close()
        self._lock.release()

    def remove(self) -> None:
        """Drop the draft: its changes are saved, or nobody wants them."""
        self._journal.close()
        _remove(self._folder, self._lock)

    def _begin_afresh(
        self, project: Project, step: str, steps: int, when: datetime, aside: Plain | None
    ) -> None:
        """Put a journal with only this project in the old one's place."""
        fresh = self._folder / "journal.new"
        fresh.unlink(missing_ok=True)
        journal = Journal(fresh, self._head)
        journal.add(project, step, steps, when, aside)
        journal.syncing()()
        self._journal.close()
        journal.move(self._folder / JOURNAL)
        self._journal, self._first_size = journal, journal.size


@dataclass(frozen=True)
class LeftDraft:
    """A draft that a stopped program left; nobody else is offered it while this object holds it."""

    folder: Path
    kept: JournalContents
    lock: FileLock

    def release(self) -> None:
        """Leave it for another start."""
        self.lock.release()

    def remove(self) -> None:
        """Drop it. Raises OSError."""
        _remove(self.folder, self.lock)


class Drafts:
    """All drafts of the person on this machine."""

    def __init__(self, folder: Path) -> None:
        """Name the folder; it is made when it is needed."""
        self._folder = folder

    def begin(
        self,
        head: Head,
        project: Project,
        step: str,
        steps: int,
        when: datetime,
        *,
        aside: Plain | None = None,
    ) -> Draft:
        """Begin a draft with its first change; aside: see `Draft.add`. Raises OSError."""
        private_folder(self._folder)
        while True:
            folder = Path(tempfile.mkdtemp(prefix="draft-", dir=self._folder))
            lock = FileLock(folder / LOCK)
            if lock.take():
                break
        try:
            draft = Draft(folder, lock, head)
            draft.add(project, step, steps, when, aside)
        except OSError:
            _remove(folder, lock)
            raise
        return draft

    def left(self) -> list[LeftDraft]:
        """Take hold of the drafts that stopped programs left, the newest first.

        What cannot be read at all, and holds nothing, is removed.
        """
        found = [self._left(folder) for folder in self._folder.glob("draft-*") if folder.is_dir()]
        there = [draft for draft in found if draft is not None]
        return sorted(there, key=lambda draft: draft.kept.when, reverse=True)

    def _left(self, folder: Path) -> LeftDraft | None:
        lock = FileLock(folder / LOCK)
        if not (folder / JOURNAL).exists():
            if time.time() - folder.stat().st_mtime > EMPTY_S:
                shutil.rmtree(folder, ignore_errors=True)
            return None
        try:
            if not lock.take():
                return None
            kept = read_journal(folder / JOURNAL)
        except OSError:
            lock.release()
            return None
        if kept is None:
            _remove(folder, lock)
            return None
        return LeftDraft(folder, kept, lock)


def _remove(folder: Path, lock: FileLock) -> None:
    """Remove a draft, the journal first: from then on nobody is offered it."""
    (folder / JOURNAL).unlink(missing_ok=True)
    lock.release()
    shutil.rmtree(folder, ignore_errors=True)
