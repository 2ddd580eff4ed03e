"""The cards that duplicate parts of the flow onto other lanes, and remove parts with their dependents."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtWidgets import QGridLayout, QLabel, QPushButton, QVBoxLayout

from shaftscore.base.wording import listed
from shaftscore.edits.flow_network import (
    PartKey,
    Removal,
    duplicate_parts,
    lanes_of_parts,
    new_keys,
    part_label,
    remove_parts_of_flow,
)
from shaftscore.model import Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.theme import Theme
from shaftscore_app.views.flow_faces.cards import FlowCard
from shaftscore_app.widgets.choice import Choice, Option

MOST_NAMED = 6
"""Parts that are named; more are counted."""


class DuplicateCard(FlowCard):
    """Asks onto which lanes copies of parts go."""

    def __init__(
        self,
        document: Document,
        theme: Theme,
        keys: Sequence[PartKey],
        then: Callable[[Sequence[PartKey]], object],
    ) -> None:
        """Ask about parts by key; then: takes the keys of the copies."""
        project = document.committed
        super().__init__(theme, "Duplicate", names_text(project, keys))
        self._document, self._keys, self._then = document, tuple(keys), then
        self.lanes: dict[str, Choice[str]] = {}
        grid = QGridLayout(self.body)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(theme.px(12))
        grid.setVerticalSpacing(theme.px(6))
        options = [Option(lane.id, lane.label, lane.code or "") for lane in project.lanes]
        for number, lane_id in enumerate(lanes_of_parts(project, keys)):
            name = QLabel(f"{project.lane(lane_id).label} becomes")
            name.setFont(theme.font(12))
            choice: Choice[str] = Choice(theme, f"Lane in place of {project.lane(lane_id).label}")
            choice.set_options(options)
            choice.set_shown(_next_lane(project, lane_id))
            choice.chosen.connect(choice.set_shown)
            grid.addWidget(name, number, 0)
            grid.addWidget(choice, number, 1)
            self.lanes[lane_id] = choice
        grid.setColumnStretch(1, 1)
        self.say("Copies get the names of the new lanes. One undo step.")
        self.make = self.add_button(QPushButton("Duplicate"))
        self.make.clicked.connect(lambda: self.do(self._made))

    def _made(self) -> str:
        document, lanes = self._document, {old: choice.given() for old, choice in self.lanes.items()}
        before = document.committed
        fault = commit(document, lambda: duplicate_parts(document.committed, self._keys, lanes))
        if not fault:
            self._then(new_keys(before, document.committed))
        return fault


def _next_lane(project: Project, lane_id: str) -> str:
    """Return the lane that copies usually go to: the next one with levels of the same names."""
    own = project.lane(lane_id)
    place = project.lane_index[lane_id]
    around = (*project.lanes[place + 1 :], *project.lanes[:place])
    return next((lane.id for lane in around if lane.levels.keys() == own.levels.keys()), lane_id)


class RemoveCard(FlowCard):
    """Names what cannot do without some parts, and offers to remove it, too."""

    def __init__(self, document: Document, theme: Theme, plan: Removal) -> None:
        """Show what goes."""
        project = document.committed
        super().__init__(theme, "Remove", names_text(project, plan.keys))
        self._document, self._plan = document, plan
        column = QVBoxLayout(self.body)
        column.setContentsMargins(0, 0, 0, 0)
        for text in _texts(project, plan):
            label = QLabel(text)
            label.setWordWrap(True)
            label.setFont(theme.font(12))
            column.addWidget(label)
        self.make = self.add_button(QPushButton(plan.button))
        self.make.clicked.connect(lambda: self.do(self._made))
        self.say("One undo step.")

    def _made(self) -> str:
        document = self._document
        return commit(document, lambda: remove_parts_of_flow(document.committed, self._plan.keys))


def _texts(project: Project, plan: Removal) -> list[str]:
    """Return what is used by others, sentence by sentence."""
    said = []
    if plan.dependents:
        said.append(f"Cannot do without it and go, too: {names_text(project, plan.dependents)}.")
    if plan.cut:
        said.append(f"Stay, but lose a line: {names_text(project, plan.cut)}.")
    return said


def names_text(project: Project, keys: Sequence[PartKey]) -> str:
    """Name parts: "Gate A1 left and Gate A2 left"; many are counted."""
    names = [part_label(project, key) for key in keys[:MOST_NAMED]]
    more = [f"{len(keys) - MOST_NAMED} more"] if len(keys) > MOST_NAMED else []
    return listed([*names, *more])
