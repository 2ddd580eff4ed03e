"""The card *Gates for selected lanes*: a row a level, from where, to where, and what one item is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from PySide6.QtCore import QSize
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QLabel, QLineEdit, QPushButton, QWidget

from shaftscore.base.errors import ShaftscoreError
from shaftscore.base.wording import counted, part_name
from shaftscore.edits.flow_network import (
    LevelGates,
    NewEnd,
    gates_for_lanes,
    level_rows,
    plan_gates,
    unmatched_text,
)
from shaftscore.model import Flow, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.look import DiagramStyle
from shaftscore_app.views.flow_faces.cards import FlowCard
from shaftscore_app.views.flow_network.boxes import BoxPainter
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.undoing import share_undo

KEPT = NewEnd("kept", "")
"""Value of the option that leaves gates which differ as they are."""

End = str | NewEnd | None
"""A part by id, one to be made, or none."""


class LevelMark(QWidget):
    """The mark of a level: a body as high as the level is between the lowest and the highest."""

    def __init__(self, theme: Theme, rank: int, height: float) -> None:
        """Show a level by its rank from the lowest and its height, 0 to 1."""
        super().__init__()
        self._theme, self._rank, self._height = theme, rank, height
        self._look = DiagramStyle(theme)

    def sizeHint(self) -> QSize:
        """Return the size of the mark with a little room."""
        return QSize(self._theme.px(18), self._theme.px(20))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002 - Qt's signature
        """Paint the mark."""
        painter = QPainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = self.rect().center()
        BoxPainter(painter, self._look, muted=False).level(middle.x(), middle.y(), self._rank, self._height)


class LevelRow:
    """The widgets of a level: from, to, and what one item is."""

    def __init__(self, theme: Theme, flow: Flow, row: LevelGates, height: float) -> None:
        """Show what is asked for a level; height: between the lowest (0) and the highest (1)."""
        self._row = row
        self.mark = LevelMark(theme, row.rank, height)
        self.name = QLabel(row.level)
        self.source: Choice[object] = Choice(theme, f"{row.level}: from")
        self.to: Choice[object] = Choice(theme, f"{row.level}: to")
        self.item = QLineEdit(row.item)
        self.item.setAccessibleName(f"{row.level}: one item is")
        share_undo(self.item)
        self.source.set_options(_sources(flow, row))
        self.to.set_options(_ends(flow))
        self.source.set_shown(KEPT if row.keeps else row.source)
        self.to.set_shown(row.to if row.to is not None or row.source is not None else _usual(flow))
        self.follow()

    def follow(self) -> None:
        """Show only what counts: where no gate is, nothing goes anywhere."""
        has_gate = self.source.shown() not in (None, KEPT)
        self.to.setVisible(has_gate)
        self.item.setVisible(has_gate)

    def name_item(self) -> None:
        """Call the item after a magazine that was just chosen, until somebody types another word."""
        source = self.source.shown()
        if not self.item.isModified() and source not in (None, KEPT):
            name = source.name if isinstance(source, NewEnd) else part_name(str(source))
            self.item.setText(name[:1].lower() + name[1:])

    @property
    def asked(self) -> LevelGates:
        """What the widgets ask for."""
        source, to = self.source.shown(), self.to.shown()
        if source == KEPT:
            return replace(self._row, keeps=True)
        item = self.item.text().strip()
        return LevelGates(self._row.level, self._row.rank, _end(source), _end(to), item)


def _end(value: object) -> End:
    return value if isinstance(value, str | NewEnd) else None


def _sources(flow: Flow, row: LevelGates) -> Sequence[Option[object]]:
    """Return where items of a level may come from; a new magazine is called like the level."""
    kept: list[Option[object]] = [Option(KEPT, "as they are", "they differ")] if row.keeps else []
    there: list[Option[object]] = [Option(one.id, part_name(one.id), "magazine") for one in flow.magazines]
    name = f"{row.level[:1].upper()}{row.level[1:]}"
    return [*kept, Option(None, "no gate"), *there, Option(NewEnd("magazine", name), name, "new magazine")]


def _ends(flow: Flow) -> Sequence[Option[object]]:
    kinds = (("channel", flow.channels), ("outlet", flow.outlets), ("magazine", flow.magazines))
    there: list[Option[object]] = [
        Option(one.id, part_name(one.id), kind) for kind, own in kinds for one in own
    ]
    new = [Option(NewEnd("channel", "Chute"), "Chute", "new channel")] if not flow.channels else []
    new += [Option(NewEnd("outlet", "Outlet"), "Outlet", "new outlet")] if not flow.outlets else []
    return [*there, *new, Option(None, "Not followed further")]


def _usual(flow: Flow) -> End:
    there = [*(one.id for one in flow.channels), *(one.id for one in flow.outlets)]
    return there[0] if there else NewEnd("channel", "Chute")


class GatesCard(FlowCard):
    """The card."""

    def __init__(self, document: Document, theme: Theme, lane_ids: Sequence[str]) -> None:
        """Ask about lanes by id."""
        project = document.committed
        super().__init__(theme, "Gates for selected lanes", lanes_text(project, lane_ids))
        self._document, self._lanes = document, tuple(lane_ids)
        flow = project.flow or Flow()
        rows = level_rows(project, lane_ids)
        heights = heights_of(project, lane_ids)
        self.rows = [LevelRow(theme, flow, row, heights.get(row.level, 0.0)) for row in rows]
        self.apply = self.add_button(QPushButton("Apply"))
        self.apply.clicked.connect(lambda: self.do(self._made))
        self._grid = QGridLayout(self.body)
        self._lay()
        self._follow()
        document.history_changed.connect(self._follow)

    def _lay(self) -> None:
        px, theme = self._theme.px, self._theme
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setHorizontalSpacing(px(8))
        self._grid.setVerticalSpacing(px(6))
        for column, text in enumerate(("", "At level", "from", "to", "one item is")):
            head = QLabel(text)
            head.setObjectName("muted")
            head.setFont(theme.font(12))
            self._grid.addWidget(head, 0, column)
        for number, row in enumerate(self.rows, 1):
            for column, widget in enumerate((row.mark, row.name, row.source, row.to, row.item)):
                widget.setFont(theme.font(12))
                self._grid.addWidget(widget, number, column)
            row.source.chosen.connect(lambda value, row=row: self._choose(row, value))
            row.to.chosen.connect(lambda value, row=row: self._choose_end(row, value))
            row.item.textEdited.connect(self._follow)
        for column in (2, 3, 4):
            self._grid.setColumnMinimumWidth(column, px(132))
            self._grid.setColumnStretch(column, 1)

    def _choose(self, row: LevelRow, value: object) -> None:
        row.source.set_shown(value)
        row.follow()
        row.name_item()
        self._follow()

    def _choose_end(self, row: LevelRow, value: object) -> None:
        row.to.set_shown(value)
        self._follow()

    def _follow(self) -> None:
        """Count what would be done, or say why it cannot be."""
        if not self.rows:
            self.say("These lanes have no levels yet: Lane > Levels…", fault=True)
            self.apply.setEnabled(False)
            return
        project = self._document.committed
        try:
            plan = plan_gates(project, self._lanes, self._asked())
        except ShaftscoreError as error:
            self.say(str(error), fault=True)
            self.apply.setEnabled(False)
            return
        named = unmatched_text(project, plan)
        self.say(f"{plan.text}. One undo step.{' ' * bool(named)}{named}")
        self.apply.setEnabled(bool(plan.new or plan.updated or plan.removed))

    def _asked(self) -> tuple[LevelGates, ...]:
        return tuple(row.asked for row in self.rows)

    def _made(self) -> str:
        document = self._document
        return commit(document, lambda: gates_for_lanes(document.committed, self._lanes, self._asked()))


def heights_of(project: Project, lane_ids: Sequence[str]) -> dict[str, float]:
    """Return by level of the first lane with levels how high it is, lowest 0.0 to highest 1.0."""
    levels = next((own for lane in lane_ids if (own := project.lane(lane).levels)), {})
    low, high = min(levels.values(), default=0.0), max(levels.values(), default=0.0)
    return {level: (height - low) / (high - low) if high > low else 0.0 for level, height in levels.items()}


def lanes_text(project: Project, lane_ids: Sequence[str]) -> str:
    """Name lanes shortly: "A1 to A4", "A1, B2"; many that are not in a row are counted."""
    order = sorted(lane_ids, key=lambda own: project.lane_index[own])
    codes = [project.lane(own).code or project.lane(own).label for own in order]
    places = [project.lane_index[own] for own in order]
    if len(places) > 2 and places[-1] - places[0] == len(places) - 1:
        return f"{codes[0]} to {codes[-1]}"
    return ", ".join(codes) if len(codes) <= 4 else counted(len(codes), "lane")
