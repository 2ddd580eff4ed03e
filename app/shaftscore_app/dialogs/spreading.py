"""Spread followers: finds stations, or spacers, at which followers keep apart, and offers both."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from PySide6.QtWidgets import QWidget

from shaftscore.base.errors import EditError
from shaftscore.base.wording import counted
from shaftscore.edits import Edited, set_stack, spread_followers
from shaftscore.model import Project
from shaftscore_app.dialogs.running import Request, RunningDialog
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme


@dataclass(frozen=True)
class SpreadFound:
    """What the process found.

    collisions: pairs of followers' parts that collide. stations: lane id to station, degrees. spacers: stack
    id to thickness, mm. station_lines, spacer_lines: the same in words.
    """

    collisions: int
    stations: Mapping[str, float] = field(default_factory=dict)
    station_lines: tuple[str, ...] = ()
    spacers: Mapping[str, float] = field(default_factory=dict)
    spacer_lines: tuple[str, ...] = ()


CLEAR = "No follower comes too near to another: all stay where they are."
"""Said where nothing collides."""

NEITHER = "Neither stations nor thicker spacers keep them apart: change the levers or the order of the discs."
"""Said where nothing was found."""


class SpreadDialog(RunningDialog):
    """The dialog; it begins at once."""

    def __init__(
        self,
        parent: QWidget,
        theme: Theme,
        document: Document,
        *,
        start: Callable[[], Request[SpreadFound]],
    ) -> None:
        """Look for stations of a document's followers."""
        super().__init__(parent, theme, "Spread followers", "Followers that keep apart")
        self._document = document
        self._base: Project = document.committed
        self.found: SpreadFound | None = None
        self.body.addWidget(self.bar)
        self.body.addWidget(self.doing)
        self.answer = self.say("")
        self._row.addStretch(1)
        self.stations = self.push("Use stations", self._use_stations)
        self.spacers = self.push("Use spacers", self._use_spacers)
        self.stop = self.push("Cancel", self.close)
        self.stations.setToolTip("Put each follower at its station in the list")
        self.spacers.setToolTip("Make the spacers thicker, so that each follower has its own height")
        self._offer()
        document.project_changed.connect(self._offer)
        self.begin(start(), self._on_done, self._on_failed)

    def _on_done(self, found: SpreadFound) -> None:
        self.found = found
        self.stop.setText("Close")
        self.answer.setText(spread_text(found))
        self._offer()
        self.fit()

    def _on_failed(self, why: str) -> None:
        self.stop.setText("Close")
        self.answer.setText(why or "Cancelled.")
        self.fit()

    def _offer(self) -> None:
        """Show the buttons of what was found, while the project is the one that was looked at."""
        found = self.found if self._document.committed is self._base else None
        self.stations.setVisible(found is not None and bool(found.stations))
        self.spacers.setVisible(found is not None and bool(found.spacers))

    def _use_stations(self) -> None:
        self._perform(lambda found: spread_followers(self._base, found.stations))

    def _use_spacers(self) -> None:
        self._perform(lambda found: _with_spacers(self._base, found.spacers))

    def _perform(self, edit: Callable[[SpreadFound], Edited]) -> None:
        if self.found is not None and self._document.committed is self._base:
            try:
                self._document.perform(edit(self.found))
            except EditError as error:
                self.answer.setText(str(error))
                return
        self.close()


def _with_spacers(project: Project, spacers: Mapping[str, float]) -> Edited:
    """Make the spacers of stacks thicker as one step."""
    made = project
    for stack_id, thick in spacers.items():
        made = set_stack(made, stack_id, spacer_mm=thick).project
    return Edited(made, "Make spacers thicker")


def spread_text(found: SpreadFound) -> str:
    """Describe what was found."""
    if found.collisions == 0:
        return CLEAR
    head = f"{counted(found.collisions, 'pair')} of followers\u2019 parts too near."
    if not found.stations and not found.spacers:
        return f"{head} {NEITHER}"
    parts = [head]
    if found.stations:
        parts += ["Stations:", *found.station_lines]
    if found.spacers:
        parts += ["Or spacers:" if found.stations else "Spacers:", *found.spacer_lines]
    return "\n".join(parts)
