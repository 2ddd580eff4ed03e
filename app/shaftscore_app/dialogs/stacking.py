"""Find stack order: looks for an order of discs, and stations, without interference, and offers it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from PySide6.QtWidgets import QWidget

from shaftscore.base.wording import counted
from shaftscore.edits import Edited
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.dialogs.running import Request, RunningDialog
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme


@dataclass(frozen=True)
class Untangled:
    """What the process found: the file, pairs too near before and after, what changes, in words.

    ended: whether the search came to the end of its work before everything kept apart.
    """

    data: bytes
    before: int
    after: int
    changes: tuple[str, ...]
    ended: bool = False


ENDED = "The search ended at its limit of work; a better order may exist."
"""Said where nothing better was found."""

BEST = f"This is the best found. {ENDED}"
"""Said where parts are still too near."""


class StackingDialog(RunningDialog):
    """The dialog; it begins at once."""

    def __init__(
        self, parent: QWidget, theme: Theme, document: Document, *, start: Callable[[], Request[Untangled]]
    ) -> None:
        """Look for a better stack of a document's project."""
        super().__init__(parent, theme, "Find stack order", "Discs and followers that keep apart")
        self._document = document
        self._base: Project = document.committed
        self.found: Untangled | None = None
        self.body.addWidget(self.bar)
        self.body.addWidget(self.doing)
        self.answer = self.say("")
        self._row.addStretch(1)
        self.use = self.push("Accept", self._use)
        self.stop = self.push("Cancel", self.close)
        self.use.setVisible(False)
        document.project_changed.connect(self._look_at_project)
        self.begin(start(), self._on_done, self._on_failed)

    def _on_done(self, found: Untangled) -> None:
        self.found = found
        self.stop.setText("Close")
        self.answer.setText(said(found))
        self.fit()
        self.use.setVisible(bool(found.changes) and self._document.committed is self._base)

    def _on_failed(self, why: str) -> None:
        self.stop.setText("Close")
        self.answer.setText(why or "Cancelled.")
        self.fit()

    def _use(self) -> None:
        if self.found is not None and self._document.committed is self._base:
            project = read_project(self.found.data, self._document.name)
            self._document.perform(Edited(project, "Set stack order"))
        self.close()

    def _look_at_project(self) -> None:
        if self._document.committed is not self._base:
            self.use.setVisible(False)


def said(found: Untangled) -> str:
    """Describe what was found."""
    if found.before == 0:
        return "Nothing comes too near to anything: the stacks stay as they are."
    now = "none comes too near now" if found.after == 0 else f"{counted(found.after, 'pair')} still too near"
    if not found.changes:
        text = f"{counted(found.before, 'pair')} of parts too near; no order or station tried was better."
        return f"{text} {ENDED}" if found.ended else text
    head = f"{counted(found.before, 'pair')} of parts too near; after this {now}:"
    return "\n".join((head, *found.changes, *([BEST] if found.ended else [])))
