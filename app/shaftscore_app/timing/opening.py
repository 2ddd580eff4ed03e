"""Opening time with Ctrl and the mouse on the degree ruler: what follows is pushed on, or drawn near."""

from __future__ import annotations

from dataclasses import dataclass, field

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError
from shaftscore.edits import Edited, insert_time
from shaftscore.model import Project
from shaftscore_app.timing.drag import START_PX
from shaftscore_app.timing.gestures import Where
from shaftscore_app.timing.host import Host
from shaftscore_app.timing.scene import Overlay

FINE_DEG = 0.1
"""What Alt makes of the grid, degrees."""


@dataclass
class OpenTime:
    """Drag from the angle at which time is inserted; to the left, time is taken out there."""

    host: Host
    begin: Where
    at_deg: float = field(init=False)
    project: Project = field(init=False)
    edited: Edited | None = field(default=None, init=False)
    by_deg: float = field(default=0.0, init=False)

    def __post_init__(self) -> None:
        """Remember where it began."""
        self.at_deg = self._on_grid(self.host.frame.axis.deg(self.begin.x), self.begin)
        self.project = self.host.document.committed

    def _on_grid(self, deg: float, where: Where) -> float:
        habits = self.host.habits
        grid = FINE_DEG if where.alt or not habits.snapping else habits.grid_deg
        return round(deg / grid) * grid

    def move(self, where: Where) -> None:
        """Show how all would stand."""
        if self.edited is None and abs(where.x - self.begin.x) < START_PX * self.host.frame.u:
            return
        by = self._on_grid(self.host.frame.axis.deg(where.x) - self.at_deg, where)
        try:
            edited = insert_time(self.project, at_deg=self.at_deg, by_deg=by)
        except EditError as error:
            self.host.tell(str(error))
            return
        self.edited, self.by_deg = edited, by
        self.host.document.preview(edited)
        self.host.set_overlay(Overlay(opened=(wrap(self.at_deg), by)))
        seconds = abs(by) / (6.0 * self.project.shaft.speed_rpm)
        self.host.tell(f"{edited.name} · {wording.seconds(seconds)} · Esc puts it back")

    def release(self) -> None:
        """Make it one step."""
        self._end()
        if self.edited is not None:
            self.host.document.perform(self.edited)

    def cancel(self) -> None:
        """Put everything back."""
        self._end()

    def _end(self) -> None:
        if self.host.document.is_previewing:
            self.host.document.preview(None)
        self.host.set_overlay(Overlay())
        self.host.tell("")
