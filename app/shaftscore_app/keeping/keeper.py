"""Decides when the draft of the open project is written: at most every second, so never two behind.

The clock is an argument; whoever has a timer calls `tick` about every half second.
"""

from __future__ import annotations

import logging
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from shaftscore.model.project import Project
from shaftscore_app.keeping.drafts import Draft, Drafts
from shaftscore_app.keeping.journal import Head, Plain

log = logging.getLogger(__name__)

EVERY_S = 1.0
"""Least time between two lines of the journal, s."""


Aside = Callable[[], Plain | None]
"""Returns the work that is no part of the project, as plain values; asked for when it is written."""


def _nothing() -> Plain | None:
    return None


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class _Noted:
    head: Head
    project: Project
    step: str
    steps: int
    aside: Aside


class Keeper:
    """Keeps the draft of one open project.

    trouble: why the draft could not be kept the last time, empty where it could.
    """

    def __init__(
        self,
        drafts: Drafts,
        clock: Callable[[], float],
        now: Callable[[], datetime] = _now,
        every_s: float = EVERY_S,
    ) -> None:
        """Begin without a draft. clock: seconds, steady; now: the time of day."""
        self._drafts, self._clock, self._now, self._every_s = drafts, clock, now, every_s
        self._draft: Draft | None = None
        self._noted: _Noted | None = None
        self._written_at = -float("inf")
        self._synced = True
        self.trouble = ""

    @property
    def kept_ago_s(self) -> float | None:
        """How long ago the draft was last written, s; None where there is no draft."""
        return None if self._draft is None else self._clock() - self._written_at

    @property
    def is_behind(self) -> bool:
        """Whether something is noted that is not written yet."""
        return self._noted is not None

    def note(self, head: Head, project: Project, step: str, steps: int, aside: Aside = _nothing) -> None:
        """Take note that `project` is the current one now; it is written when its time has come.

        head: the file. step: the name of the last step. steps: how many there are since the last save.
        aside: gives the work that is no part of the project.
        """
        self._noted = _Noted(head, project, step, steps, aside)
        self.tick()

    def tick(self) -> None:
        """Write what is due."""
        if self._noted is not None and self._clock() - self._written_at >= self._every_s:
            self.flush()

    def flush(self) -> bool:
        """Write what is noted at once; False where that failed (`trouble`; the next tick tries again)."""
        noted = self._noted
        if noted is None:
            return True
        try:
            self._write(noted)
        except OSError as error:
            self._written_at = self._clock()
            if not self.trouble:
                log.warning("the draft was not kept: %s", error)
            self.trouble = str(error.strerror or error)
            return False
        self._noted, self._written_at, self.trouble = None, self._clock(), ""
        return True

    def syncing(self) -> Callable[[], None] | None:
        """Return what forces the draft to the disk, on any thread; None where it is there already.

        Raises OSError, and so does what it gives.
        """
        if self._draft is None or self._synced:
            return None
        self._synced = True
        return self._draft.syncing()

    def forget(self) -> None:
        """Drop the draft: the project is saved, closed or taken back to what the file holds."""
        draft, self._draft, self._noted = self._draft, None, None
        self._written_at = -float("inf")
        if draft is not None:
            try:
                draft.remove()
            except OSError as error:
                log.warning("a draft was not removed: %s", error)

    def leave(self) -> None:
        """Write what is noted and leave the draft for the next start."""
        self.flush()
        draft, self._draft = self._draft, None
        if draft is not None:
            draft.close()

    def _write(self, noted: _Noted) -> None:
        when, aside = self._now(), noted.aside()
        if self._draft is None:
            self._draft = self._drafts.begin(
                noted.head, noted.project, noted.step, noted.steps, when, aside=aside
            )
        else:
            self._draft.add(noted.project, noted.step, noted.steps, when, aside)
        self._synced = False
