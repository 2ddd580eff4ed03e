"""What the page of the feed can be asked: for how many steps, and how long an item rolls down a channel."""

from __future__ import annotations

from functools import partial
from math import isfinite

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from shaftscore.base.wording import plain, seconds
from shaftscore.bringup.feed import item_kinds
from shaftscore.bringup.rolling import RollingItem, SlopeRun, ball_run, travel_range_s
from shaftscore.bringup.sheets import listed
from shaftscore.edits import set_flow
from shaftscore.model import replaced
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.theme import Theme
from shaftscore_app.views.operation_pages import OperationResult
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.quantities import millimetres, plain_angle, whole_number

MOST_STEPS = 100_000
"""Steps that can be asked for."""

LENGTHS: tuple[Option[bool], ...] = (Option(True, "For ever"), Option(False, "For some steps"))

SLOW = 1.2
"""Slowest over computed time of a ball: starts are never clean (common practice, no source)."""


def friction_quantity() -> Quantity[float]:
    """Return a coefficient of friction, 0 to 2."""

    def read(text: str) -> float:
        value = float(text.replace(",", "."))
        if not 0 <= value <= 2:
            raise ValueError(f"0 to 2 is allowed, got {value:g}")
        return value

    return Quantity("", "", lambda value: plain(value, 3), read)


class FeedOptions(QWidget):
    """The options.

    Signals: changed() when the numbers are wanted for another run; status_message(sentence) says why the
    travel time of a channel cannot be set.
    """

    changed = Signal()
    status_message = Signal(str)

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the options of a document's feed."""
        super().__init__()
        self._document, self._theme = document, theme
        self.length: Choice[bool] = Choice(theme, "Length of the run")
        self.count: Field[int] = Field(theme, "Steps", whole_number("steps", 1, MOST_STEPS))
        self.channel: Choice[str] = Choice(theme, "Channel")
        self.item: Choice[str] = Choice(theme, "Item whose radius, arm and friction are shown")
        self._items: dict[str, RollingItem] = {}
        self._kinds: dict[str, tuple[str, ...]] = {}
        self.slope: Field[float] = Field(theme, "Slope", plain_angle())
        self.way: Field[float] = Field(theme, "Length of the channel", millimetres())
        self.radius: Field[float] = Field(theme, "Radius of the ball", millimetres())
        self.arm: Field[float] = Field(theme, "Arm of rolling resistance", millimetres())
        self.friction: Field[float] = Field(theme, "Friction", friction_quantity())
        self.set_time = QPushButton("Set travel time")
        self._columns = 0
        self.answer = QLabel()
        self._build()
        self._fill()
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def steps(self) -> int | None:
        """For how many steps the feed shall hold; None for ever."""
        return None if self.length.given() else self.count.given()

    @property
    def _shown(self) -> RollingItem:
        """The kind of item that the fields show."""
        return self._items.get(str(self.item.shown()), RollingItem())

    @property
    def run(self) -> SlopeRun | None:
        """How the item that is shown goes down the channel; None where the fields make no slope."""
        one = self._shown
        try:
            return ball_run(
                self.slope.given(), self.way.given(), one.radius_mm, arm_mm=one.arm_mm, friction=one.friction
            )
        except ValueError:
            return None

    @property
    def travel_s(self) -> tuple[float, float] | None:
        """The shortest and longest time of all kinds of items of the channel, s; None where one rests."""
        kinds = self._kinds.get(str(self.channel.shown()), ())
        items = [self._items.get(kind, RollingItem()) for kind in kinds]
        try:
            times = travel_range_s(self.slope.given(), self.way.given(), items)
        except ValueError:
            return None
        return times if isfinite(times[1]) else None

    def set_channels(self, result: OperationResult) -> None:
        """Offer the channels of a report's flow, with the kinds of items that come through each."""
        flow = result.report.project.flow
        kinds = {} if flow is None else item_kinds(flow)
        options = [Option(channel, channel, listed(names, 2)) for channel, names in kinds.items()]
        self.channel.set_options(options)
        if self.channel.shown() not in kinds:
            self.channel.set_shown(next(iter(kinds), None))
        self._kinds = kinds
        self._rolling.setVisible(bool(kinds))
        self._offer_items()

    # Inside

    def _show_run(self) -> None:
        self.set_time.setEnabled(self.travel_s is not None)
        self.answer.setText(_answer(self.run, self.travel_s))

    def _offer_items(self) -> None:
        """Offer the kinds of items of the channel that is chosen."""
        kinds = self._kinds.get(str(self.channel.shown()), ())
        self.item.set_options([Option(kind, kind) for kind in kinds])
        if self.item.shown() not in kinds:
            self.item.set_shown(next(iter(kinds), None))
        self._show_item()

    def _show_item(self) -> None:
        one = self._shown
        for field, value in (
            (self.radius, one.radius_mm),
            (self.arm, one.arm_mm),
            (self.friction, one.friction),
        ):
            show(field, value)
        self._show_run()

    def _set_time(self) -> None:
        """Write the travel time into the channel: as computed, up to the slowest."""
        times, document = self.travel_s, self._document
        flow, chosen = document.committed.flow, self.channel.shown()
        if times is None or flow is None:
            return
        fastest, slowest = round(times[0], 3), round(times[1] * SLOW, 3)
        channels = tuple(
            replaced(one, travel_min_s=fastest, travel_max_s=slowest) if one.id == chosen else one
            for one in flow.channels
        )
        changed = replaced(flow, channels=channels)
        why = commit(document, lambda: set_flow(document.committed, changed))
        if why:
            self.status_message.emit(why)

    def _fill(self) -> None:
        self.length.set_options(LENGTHS)
        self.length.set_shown(True)
        self.count.set_shown(100)
        self.count.setEnabled(False)
        for field, value in (
            (self.slope, 10.0),
            (self.way, 200.0),
        ):
            field.set_shown(value)
        self._show_item()

    def _build(self) -> None:
        self._top, self._grid = QHBoxLayout(), QGridLayout()
        self._labels = [
            QLabel(text)
            for text in ("Holds", "Channel", "Slope", "Length", "Item", "Radius", "Arm", "Friction")
        ]
        self._top.addWidget(self._labels[0])
        self._top.addWidget(self.length)
        self._top.addWidget(self.count)
        self._top.addStretch(1)
        self._title = QLabel("Rolling time of a ball from rest")
        self._rolling = QWidget()
        self._lay_fields()
        rolling = QVBoxLayout(self._rolling)
        rolling.setContentsMargins(0, 0, 0, 0)
        foot = QHBoxLayout()
        self.answer.setWordWrap(True)
        foot.addWidget(self.answer, 1)
        foot.addWidget(self.set_time)
        rolling.addWidget(self._title)
        rolling.addLayout(self._grid)
        rolling.addLayout(foot)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addLayout(self._top)
        self._column.addWidget(self._rolling)
        self.set_time.setAutoDefault(False)
        self.set_time.setToolTip(
            f"Write it into the channel: from the time computed to {SLOW:g} times as long"
        )
        self._connect()

    def _lay_fields(self) -> None:
        """Lay the fields out in as many columns as there is room for."""
        fields = (self.channel, self.slope, self.way, self.item, self.radius, self.arm, self.friction)
        columns = (
            3 if self.width() >= self._theme.px(560) else 2 if self.width() >= self._theme.px(380) else 1
        )
        if columns == self._columns:
            return
        self._columns = columns
        for place, (label, field) in enumerate(zip(self._labels[1:], fields, strict=True)):
            row, column = place // columns, place - place // columns * columns
            self._grid.addWidget(label, row, 2 * column)
            self._grid.addWidget(field, row, 2 * column + 1)
        for column in range(7):
            self._grid.setColumnStretch(column, int(column == 2 * columns))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the fields out again where the room has changed."""
        super().resizeEvent(event)
        self._lay_fields()

    def _connect(self) -> None:
        self.length.chosen.connect(self._choose_length)
        self.count.entered.connect(self._count)
        self.channel.chosen.connect(self._choose_channel)
        self.item.chosen.connect(self._choose_item)
        for field in (self.slope, self.way, self.radius, self.arm, self.friction):
            field.entered.connect(partial(self._enter, field))
        self.set_time.clicked.connect(self._set_time)

    def _count(self, steps: int) -> None:
        self.count.set_shown(steps)
        self.changed.emit()

    def _enter(self, field: Field[float], value: float) -> None:
        """Reckon with what was entered, for the item that is shown."""
        field.set_shown(value)
        kind = self.item.shown()
        if isinstance(kind, str):
            self._items[kind] = RollingItem(self.radius.given(), self.arm.given(), self.friction.given())
        self._show_run()

    def _choose_length(self, for_ever: bool) -> None:
        self.length.set_shown(for_ever)
        self.count.setEnabled(not for_ever)
        self.changed.emit()

    def _choose_channel(self, channel: str) -> None:
        self.channel.set_shown(channel)
        self._offer_items()

    def _choose_item(self, kind: str) -> None:
        self.item.set_shown(kind)
        self._show_item()

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        for label in (*self._labels, self.answer):
            label.setFont(theme.font(12))
        self._title.setFont(theme.font(12, 600))
        self.set_time.setFont(theme.font(12))
        self.count.setFixedWidth(px(96))
        for choice in (self.channel, self.item):
            choice.setMinimumWidth(px(140))
        for field in (self.slope, self.way, self.radius, self.arm, self.friction):
            field.setMaximumWidth(px(110))
        self._grid.setHorizontalSpacing(px(8))
        self._grid.setVerticalSpacing(px(4))
        self._top.setSpacing(px(6))
        self._column.setSpacing(px(8))


def _answer(run: SlopeRun | None, times: tuple[float, float] | None) -> str:
    """Return how the item that is shown goes down, and how long all of the channel take, in s, in words."""
    if run is None:
        return "Slope, length and radius must be over 0, the arm at least 0."
    if not isfinite(run.time_s):
        return "The ball does not start by itself: make the channel steeper."
    moves = "rolls" if run.rolls else "slides"
    told = f"It {moves} in {seconds(run.time_s)}, at {plain(run.acceleration_m_s2, 2)} m/s²"
    least = f"friction of at least {plain(run.least_friction, 2)}"
    told += f"; it rolls with a {least}." if run.rolls else f"; to roll it takes a {least}."
    if times is None:
        return f"{told} Another item of the channel does not start by itself."
    return told if times[0] == times[1] else f"{told} All items: {seconds(times[0])} to {seconds(times[1])}."
