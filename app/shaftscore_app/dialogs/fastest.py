"""Fastest safe speed: looks for it, names what limits it, and sets it where the person wants that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from shaftscore.base.wording import rpm
from shaftscore.edits import set_shaft
from shaftscore.model import Project
from shaftscore_app.dialogs.running import Request, RunningDialog
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.theme import Theme


@dataclass(frozen=True)
class SpeedFound:
    """The fastest speed, rev/min (None where none holds), and the finding that limits it, in words.

    fails_at_rpm: the lowest speed tried at which something fails. ended: whether the search came to the end
    of its work before it had closed in on the speed.
    """

    speed_rpm: float | None
    text: str
    fails_at_rpm: float | None = None
    ended: bool = False


ENDED = "The search ended at its limit of work; the fastest safe speed may be higher."
"""Said where the search did not close in on the speed."""


class FastestDialog(RunningDialog):
    """The dialog; it begins at once."""

    def __init__(
        self, parent: QWidget, theme: Theme, document: Document, *, start: Callable[[], Request[SpeedFound]]
    ) -> None:
        """Look for the speed of a document's project."""
        super().__init__(parent, theme, "Fastest safe speed", "The highest speed at which everything holds")
        self._document = document
        self._base: Project = document.committed
        self.found: SpeedFound | None = None
        self.body.addWidget(self.bar)
        self.body.addWidget(self.doing)
        self.answer = self.say("")
        self.say("Turning parts pinch, and faster ones harder: see Help > Cautions.", muted=True)
        self._row.addStretch(1)
        self.use = self.push("Use this speed", self._use)
        self.stop = self.push("Cancel", self.close)
        self.use.setVisible(False)
        document.project_changed.connect(self._look_at_project)
        self.begin(start(), self._on_done, self._on_failed)

    def _on_done(self, found: SpeedFound) -> None:
        self.found = found
        self.stop.setText("Close")
        self.answer.setText(said(found))
        self.fit()
        fits = found.speed_rpm is not None and self._document.committed is self._base
        self.use.setVisible(fits and found.speed_rpm != self._base.shaft.speed_rpm)

    def _on_failed(self, why: str) -> None:
        self.stop.setText("Close")
        self.answer.setText(why or "Cancelled.")
        self.fit()

    def _use(self) -> None:
        document, found = self._document, self.found
        if found is not None and found.speed_rpm is not None:
            speed = found.speed_rpm
            commit(document, lambda: set_shaft(document.committed, speed_rpm=speed))
        self.close()

    def _look_at_project(self) -> None:
        if self._document.committed is not self._base:
            self.use.setVisible(False)


def said(found: SpeedFound) -> str:
    """Describe what was found."""
    if found.speed_rpm is None:
        if found.ended:
            return (
                f"Errors are found at every speed tried; the search ended at its limit of work. {found.text}"
            )
        return f"Nothing holds, however slow. {found.text}"
    speed = rpm(found.speed_rpm, 2)
    if found.ended:
        above = "" if found.fails_at_rpm is None else f" At {rpm(found.fails_at_rpm, 2)}: {found.text}"
        return f"Everything holds up to {speed}, the best found. {ENDED}{above}"
    if not found.text:
        return f"Everything holds up to {speed}, the highest speed looked at."
    return f"Everything holds up to {speed}. Just above it: {found.text}"
