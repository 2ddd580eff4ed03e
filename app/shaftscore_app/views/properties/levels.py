"""The levels of a lane, or those that several lanes share by name: their heights, and which are guarded."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.edits import Edited, set_lane, set_levels
from shaftscore.model import Lane, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.form import LABEL_WIDTH
from shaftscore_app.views.properties.live import common, on_lanes
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres


class LevelsLive(QWidget):
    """A row for each level, highest first: name, height, guarded. Each entry is a step for all lanes.

    Names are changed in the dialog of the levels, since blocks and rules go by them.
    """

    def __init__(
        self,
        document: Document,
        theme: Theme,
        lanes: Callable[[], Sequence[Lane]],
        said: Callable[[str], object],
    ) -> None:
        """Begin without rows; lanes: returns the lanes shown. said: gets why a guard cannot be."""
        super().__init__()
        self._document, self._theme, self._lanes, self._said = document, theme, lanes, said
        self.heights: dict[str, Field[float]] = {}
        self.guards: dict[str, Check] = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._holder = QWidget()
        self._column.addWidget(self._holder)
        theme.changed.connect(self._refit)

    def refresh(self) -> None:
        """Show what the lanes have in common."""
        lanes = self._lanes()
        names = _shared(lanes)
        if names != tuple(self.heights):
            self._build(names)
        for name in names:
            show(self.heights[name], common(lane.levels[name] for lane in lanes))
            show(self.guards[name], common(name in lane.guarded for lane in lanes))

    def _refit(self) -> None:
        self._build(tuple(self.heights))
        if self.isVisible():
            self.refresh()

    def _build(self, names: Sequence[str]) -> None:
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self._theme.px(6))
        grid.setVerticalSpacing(self._theme.px(4))
        grid.setColumnStretch(1, 1)
        self.heights, self.guards = {}, {}
        for row, name in enumerate(names):
            for column, widget in enumerate(self._row(name)):
                grid.addWidget(widget, row, column)
        self._column.replaceWidget(self._holder, holder)
        self._holder.setParent(None)
        self._holder.deleteLater()
        self._holder = holder
        holder.show()

    def _row(self, name: str) -> tuple[QLabel, Field[float], Check]:
        label = QLabel()
        label.setObjectName("muted")
        label.setFont(self._theme.font(12))
        room = self._theme.px(LABEL_WIDTH)
        label.setText(label.fontMetrics().elidedText(name, Qt.TextElideMode.ElideRight, room))
        label.setFixedWidth(room)
        label.setToolTip(name)
        height = Field(self._theme, f"Height of {name}", millimetres())
        height.entered.connect(lambda mm: self._set_height(name, mm))
        guard = Check(self._theme, f"{name} is guarded", "guarded")
        guard.setToolTip("Guarded: no move may sweep through this level")
        guard.chosen.connect(lambda on: self._set_guarded(name, on))
        self.heights[name], self.guards[name] = height, guard
        return label, height, guard

    def _set_height(self, name: str, mm: float) -> None:
        def change(project: Project, lane_id: str) -> Edited:
            return set_levels(project, lane_id, {**project.lane(lane_id).levels, name: mm})

        self.heights[name].set_fault(self._commit(f"Set the height of {name}", change))

    def _set_guarded(self, name: str, guarded: bool) -> None:
        def change(project: Project, lane_id: str) -> Edited:
            rest = tuple(level for level in project.lane(lane_id).guarded if level != name)
            return set_lane(project, lane_id, guarded=(*rest, name) if guarded else rest)

        self._said(self._commit(f"{'Guard' if guarded else 'Do not guard'} {name}", change))

    def _commit(self, what: str, change: Callable[[Project, str], Edited]) -> str:
        ids = [lane.id for lane in self._lanes()]
        document = self._document
        name = f"{what} of {wording.counted(len(ids), 'lane')}"
        return commit(document, lambda: on_lanes(document.committed, ids, change, name))


def _shared(lanes: Sequence[Lane]) -> tuple[str, ...]:
    """Return the names of the levels that all lanes have, highest first by the first lane."""
    if not lanes or any(lane.kind == "rider" for lane in lanes):
        return ()
    first, *rest = lanes
    ranked = sorted(first.levels, key=lambda name: -first.levels[name])
    return tuple(name for name in ranked if all(name in lane.levels for lane in rest))
