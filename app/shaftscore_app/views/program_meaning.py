"""What a painted cell means: a row a group of lanes, or a lane, and when visits start."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QToolButton, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.program.frames import ranked_levels
from shaftscore.program.headway import least_stagger_deg
from shaftscore.program.meaning import PaintMeaning
from shaftscore_app.document.binding import show
from shaftscore_app.theme import Theme
from shaftscore_app.views.program_session import ProgramSession
from shaftscore_app.views.program_words import MEANINGS, lane_code
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import DIFFERENT, Field, Quantity, Various
from shaftscore_app.widgets.quantities import plain_angle

T = TypeVar("T")

MOST_ROWS = 60
"""So many rows are shown; lanes beyond them are set by their group."""

TIMES = (
    ("first_deg", "First visit starts after the step begins", "From the step’s start to the visit’s hold"),
    (
        "stagger_deg",
        "Each further visit in the same step starts later by",
        "From the start of one visit’s hold to that of the next, in the order of the places",
    ),
    ("move_deg", "Each move takes", "From one level to another, degrees of the lane’s own stack"),
)
"""Fields of the timing, their labels and tooltips."""


@dataclass(frozen=True)
class MeaningLanes:
    """The lanes of a row: a name for them, and whether they can be opened into rows of their own."""

    name: str
    lanes: tuple[str, ...]
    opens: str = ""


class MeaningRow:
    """The widgets of a row."""

    def __init__(self, theme: Theme, own: MeaningLanes) -> None:
        """Make the widgets of some lanes."""
        self.own = own
        self.name = QLabel(own.name)
        self.fold = QToolButton()
        self.rest: Choice[str] = Choice(theme, f"{own.name}: level at rest")
        self.kind: Choice[str] = Choice(theme, f"{own.name}: what a painted level means")
        self.kind.set_options([Option(kind, text) for kind, text in MEANINGS.items()])
        self.hold: Field[float] = Field(theme, f"{own.name}: hold", _hold())
        self.hold.setToolTip("How long a visit stays at its level, degrees of the lane’s own stack")
        for choice in (self.rest, self.kind):
            choice.setMinimumContentsLength(4)


def _hold() -> Quantity[float]:
    plain = plain_angle()
    return Quantity("°", "degrees", plain.write, _read_hold)


def _read_hold(text: str) -> float:
    value = wording.parse_quantity(text, "°")
    if not 0 <= value < 360:
        raise ValueError(f"A length is 0° or more and less than 360°, got {wording.degrees(value)}")
    return value


class MeaningPanel(QWidget):
    """The panel."""

    def __init__(self, session: ProgramSession, theme: Theme) -> None:
        """Show the meanings of a session's draft."""
        super().__init__()
        self._session, self._theme = session, theme
        self._open: set[str] = set()
        self.rows: list[MeaningRow] = []
        self.title, self.info = QLabel("Meaning of a painted cell"), QLabel()
        self._rows_box = QWidget()  # rows made late stay before the times in the order of Tab
        self._grid, self._times = QGridLayout(self._rows_box), QGridLayout()
        self.times: dict[str, Field[float]] = {}
        self._labels: list[QLabel] = []
        self._build()
        session.changed.connect(self.follow)
        theme.changed.connect(self._fit)
        self._fit()

    def row_of(self, lane_id: str) -> MeaningRow:
        """Return the row of a lane; raises KeyError where it has none."""
        for row in self.rows:
            if lane_id in row.own.lanes:
                return row
        raise KeyError(lane_id)

    def follow(self) -> None:
        """Show the draft as it is now."""
        wanted = list(self._wanted())[:MOST_ROWS]
        if [row.own for row in self.rows] != wanted:
            self._make_rows(wanted)
        for row in self.rows:
            self._show_row(row)
        timing = self._session.draft.timing
        for key, field in self.times.items():
            show(field, getattr(timing, key))
        self.info.setText(self._info())
        self.info.setVisible(bool(self.info.text()))

    # Rows

    def _wanted(self) -> Iterator[MeaningLanes]:
        """Yield the rows: a group with more than one lane is one, unless it is open or its levels differ."""
        session = self._session
        groups: dict[str, list[str]] = {}
        for lane_id in session.draft.grid.lanes:
            group = session.project.lane(lane_id).group
            groups.setdefault(group or lane_id, []).append(lane_id)
        for key, lanes in groups.items():
            alike = len({ranked_levels(session.project, own) for own in lanes}) == 1
            if len(lanes) > 1 and alike:
                ends = (lane_code(session.project, lanes[0]), lane_code(session.project, lanes[-1]))
                yield MeaningLanes(f"{ends[0]} to {ends[1]}", tuple(lanes), key)
                if key not in self._open:
                    continue
            for lane_id in lanes:
                yield MeaningLanes(lane_code(session.project, lane_id), (lane_id,))

    def _make_rows(self, wanted: list[MeaningLanes]) -> None:
        for row in self.rows:
            for widget in (row.name, row.fold, row.rest, row.kind, row.hold):
                self._grid.removeWidget(widget)
                widget.hide()
                widget.deleteLater()  # not sooner: one of them may be what was clicked
        self.rows = [MeaningRow(self._theme, own) for own in wanted]
        for number, row in enumerate(self.rows, start=1):
            self._place_row(number, row)
        self._fit_rows()

    def _place_row(self, number: int, row: MeaningRow) -> None:
        lanes = row.own.lanes
        self._grid.addWidget(row.fold, number, 0)
        for column, widget in enumerate((row.name, row.rest, row.kind, row.hold), start=1):
            self._grid.addWidget(widget, number, column)
        session = self._session
        row.rest.set_options([Option(one, one) for one in ranked_levels(session.project, lanes[0])])
        row.rest.chosen.connect(lambda rest: session.set_meaning(lanes, rest=rest))
        row.kind.chosen.connect(lambda kind: session.set_meaning(lanes, kind=kind))
        row.hold.entered.connect(lambda hold: session.set_meaning(lanes, hold_deg=hold))
        row.fold.setObjectName("plain")
        row.fold.setAccessibleName(f"Lanes of {row.own.name}")
        row.fold.setVisible(bool(row.own.opens))
        row.fold.clicked.connect(lambda: self._toggle(row.own.opens))
        row.name.setContentsMargins(0 if row.own.opens or len(lanes) > 1 else self._theme.px(2), 0, 0, 0)

    def _toggle(self, group: str) -> None:
        self._open ^= {group}
        self.follow()

    def _show_row(self, row: MeaningRow) -> None:
        meanings = [self._session.draft.meanings[lane_id] for lane_id in row.own.lanes]
        rest, kind = _common([one.rest for one in meanings]), _common([str(one.kind) for one in meanings])
        hold = _common([one.hold_deg for one in meanings])
        if row.rest.shown() != rest:
            row.rest.set_shown(rest)
        if row.kind.shown() != kind:
            row.kind.set_shown(kind)
        if row.hold.shown() != hold:
            row.hold.set_shown(hold)
        row.hold.setEnabled(any(one.kind == "visit" for one in meanings))

    def _info(self) -> str:
        """Return what the channels ask of the stagger; empty where they ask for nothing."""
        session = self._session
        visiting = [own for own in session.draft.grid.lanes if _visits(session.draft.meanings[own])]
        least = least_stagger_deg(session.project, visiting)
        if not least:
            return ""
        seconds = wording.seconds(least / 6.0 / session.project.shaft.speed_rpm)
        asked = f"{wording.degrees(least)} ({seconds})"
        if session.draft.timing.stagger_deg >= least - 1e-6:
            return f"Items keep apart in their channels from {asked} on."
        return f"Items need {asked} from one visit to the next to keep apart in their channels."

    # Building

    def _build(self) -> None:
        column = QVBoxLayout(self)
        column.addWidget(self.title)
        for place, text in enumerate(("Lane", "At rest", "Painted level", "Hold"), start=1):
            label = QLabel(text)
            label.setObjectName("muted")
            self._labels.append(label)
            self._grid.addWidget(label, 0, place)
        self._grid.setColumnStretch(3, 1)
        self._grid.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self._rows_box)
        for number, (key, text, tip) in enumerate(TIMES):
            label, field = QLabel(text), Field(self._theme, text, _hold())
            label.setWordWrap(True)
            field.setToolTip(tip)
            self._labels.append(label)
            field.entered.connect(lambda value, key=key: self._session.set_timing(**{key: value}))
            self.times[key] = field
            self._times.addWidget(label, number, 0)
            self._times.addWidget(field, number, 1)
        self._times.setColumnStretch(0, 1)
        column.addLayout(self._times)
        row = QHBoxLayout()
        self.info.setWordWrap(True)
        self.info.setObjectName("muted")
        row.addWidget(self.info, 1)
        column.addLayout(row)
        column.addStretch(1)
        self._column = column

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._column.setContentsMargins(px(12), px(10), px(12), px(10))
        self._column.setSpacing(px(8))
        for layout in (self._grid, self._times):
            layout.setHorizontalSpacing(px(6))
            layout.setVerticalSpacing(px(5))
        self.title.setFont(theme.font(13, 600))
        for label in (*self._labels, self.info):
            label.setFont(theme.font(12))
        for field in self.times.values():
            field.setFixedWidth(px(64))
        self._fit_rows()

    def _fit_rows(self) -> None:
        theme, px = self._theme, self._theme.px
        for row in self.rows:
            row.name.setFont(theme.font(12, 600))
            row.hold.setFixedWidth(px(64))
            row.rest.setFixedWidth(px(84))
            open_now = row.own.opens in self._open
            row.fold.setIcon(theme.icon("chevron-down" if open_now else "chevron-right", 12))
            row.fold.setIconSize(QSize(px(12), px(12)))
            row.fold.setFixedSize(px(20), px(20))
            row.name.setAlignment(Qt.AlignmentFlag.AlignVCenter)


def _visits(meaning: PaintMeaning) -> bool:
    return meaning.kind == "visit"


def _common(values: Sequence[T]) -> T | Various:
    """Return the one value that all have, else the sign for different ones."""
    return values[0] if len(set(values)) == 1 else DIFFERENT
