"""Keeps the draft of the open document: passes each change to `keeping.Keeper`, and gives it time.

Lines of the journal are written here, on the window's thread: a line costs less than a frame, and the
system then has it, whatever becomes of this program. Forcing it to the disk, against a power loss, takes
longer and is done beside.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable

from PySide6.QtCore import QObject, QTimer, Signal

from shaftscore.base.wording import ago
from shaftscore.model.project import Project
from shaftscore_app.document import Document
from shaftscore_app.keeping import Keeper, PersonStore
from shaftscore_app.keeping.journal import Head
from shaftscore_app.keeping.keeper import Aside
from shaftscore_app.runtime.jobs import Jobs

log = logging.getLogger(__name__)

JOB = "draft"
"""Kind of the job that forces drafts to the disk."""

TICK_MS = 500
SECOND_MS, MINUTE_MS = 1000, 60_000
"""While something is to be written it ticks so; else as often as what is said of the draft's age changes."""


class Drafting(QObject):
    """The draft of one document.

    Signals: status_message() - `state` says something else now.
    """

    status_message = Signal()

    def __init__(
        self,
        document: Document,
        store: PersonStore,
        jobs: Jobs,
        clock: Callable[[], float] = time.monotonic,
        parent: QObject | None = None,
    ) -> None:
        """Begin to keep the drafts of a document."""
        super().__init__(parent)
        self._document, self._jobs = document, jobs
        self.keeper = Keeper(store.drafts, clock)
        self._noted: Project | None = None
        self._has_aside: Callable[[], bool] = lambda: False
        self._aside: Aside = lambda: None
        self._timer = QTimer(self)
        self._timer.setInterval(TICK_MS)
        self._timer.timeout.connect(self.tick)
        document.history_changed.connect(self._note)
        document.file_changed.connect(self._note_file)

    @property
    def state(self) -> str:
        """What the status bar says of changes that are not saved."""
        keeper = self.keeper
        if keeper.trouble:
            return f"Not saved, no draft: {keeper.trouble}"
        if keeper.kept_ago_s is None:
            return "Not saved"
        return f"Draft kept {ago(keeper.kept_ago_s)}"

    def tick(self) -> None:
        """Write what is due, and force to the disk what was written."""
        self.keeper.tick()
        self._sync()
        self._pace()
        self.status_message.emit()

    def keep_now(self) -> bool:
        """Write all there is at once, to the disk; returns whether there is a draft of all changes."""
        kept = self.keeper.flush()
        try:
            sync = self.keeper.syncing()
            if sync is not None:
                sync()
        except OSError as error:
            log.warning("the draft was not forced to the disk: %s", error)
        return kept and self.keeper.kept_ago_s is not None

    def keep_aside(self, has_aside: Callable[[], bool], aside: Aside) -> None:
        """Keep work with the draft that is no part of the project.

        has_aside: whether there is any; aside: returns it as plain values. `note_aside` says that it changed.
        """
        self._has_aside, self._aside = has_aside, aside

    def note_aside(self) -> None:
        """Take note that the work aside is another now."""
        if self._noted is not None or self._has_aside():
            self._noted = None
            self._note()

    def end(self) -> None:
        """Drop the draft: the program ends as it should, with everything saved or unwanted."""
        self._timer.stop()
        self.keeper.forget()

    def _note_file(self) -> None:
        """Begin again for a file that was saved or opened: work aside is kept with that file then."""
        if not self._document.is_modified:
            self._noted = None
            self.keeper.forget()
        self._note()

    def _note(self) -> None:
        document = self._document
        has_aside = self._has_aside()
        if not ((document.is_modified or has_aside) and document.is_started):
            self._noted = None
            self._timer.stop()
            self.keeper.forget()
        elif document.committed is not self._noted:
            self._noted = document.committed
            stamp = document.stamp
            head = Head(document.path, document.name, stamp.digest if stamp else "")
            aside = self._aside if has_aside else lambda: None
            self.keeper.note(head, document.committed, document.undo_name, document.steps_since_save, aside)
            self._timer.start(TICK_MS)
        self.status_message.emit()

    def _pace(self) -> None:
        """Tick no more often than `state` changes, once the draft is written."""
        ago_s = self.keeper.kept_ago_s
        if ago_s is None or self.keeper.is_behind:
            pace_ms = TICK_MS
        else:
            pace_ms = SECOND_MS if ago_s < MINUTE_MS / 1000 else MINUTE_MS
        if self._timer.interval() != pace_ms:
            self._timer.setInterval(pace_ms)

    def _sync(self) -> None:
        if self._jobs.is_busy(JOB):
            return
        sync = self.keeper.syncing()
        if sync is not None:
            self._jobs.request(JOB, sync, lambda _done: None, self._not_synced)

    def _not_synced(self, error: Exception) -> None:
        log.warning("the draft was not forced to the disk: %s", error)
