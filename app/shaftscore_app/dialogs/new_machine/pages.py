"""Two pages of the assistant: the machine as a whole, and the parts that all lanes begin with."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from typing import Literal, TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFormLayout, QLabel, QLineEdit, QPlainTextEdit, QWidget

from shaftscore.base import wording
from shaftscore.edits.beginnings import NEW_FOLLOWER, new_stack
from shaftscore.model import Bore, Follower, Stack, SwingingRoller, TranslatingFlat, TranslatingRoller, Turn
from shaftscore_app.forms.words import PIVOT_SIDE, STARTERS, TITLES
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Quantity
from shaftscore_app.widgets.quantities import millimetres, rpm_quantity

T = TypeVar("T")

NOTHING = ""
"""Value of the choice to begin without a sample."""

TURNS: tuple[Option[Turn], ...] = (
    Option("clockwise", "Clockwise", "seen from the top"),
    Option("counterclockwise", "Counterclockwise", "seen from the top"),
)
FOLLOWERS = (
    Option("translating-roller", TITLES["TranslatingRoller"]),
    Option("swinging-roller", TITLES["SwingingRoller"]),
    Option("translating-flat", TITLES["TranslatingFlat"]),
)
BORES: tuple[Option[Literal["hex", "square", "round"]], ...] = (
    Option("hex", "Hexagon"),
    Option("square", "Square"),
    Option("round", "Round"),
)
MOST_STEPS = 720


class _Page(QWidget):
    """Rows of a label and an entry."""

    def __init__(self, theme: Theme) -> None:
        super().__init__()
        self._theme = theme
        self.form = QFormLayout(self)
        self.form.setContentsMargins(0, 0, 0, 0)
        self.form.setHorizontalSpacing(theme.px(16))
        self.form.setVerticalSpacing(theme.px(8))
        self.form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)

    def add(self, name: str, entry: QWidget) -> None:
        """Add a row."""
        label = QLabel(name)
        label.setFont(self._theme.font(12))
        label.setBuddy(entry)
        if isinstance(entry, QLineEdit) and not isinstance(entry, Field):
            entry.setFont(self._theme.font(12))
        self.form.addRow(label, entry)

    def field(self, name: str, quantity: Quantity[T], value: T) -> Field[T]:
        """Add a row with a quantity."""
        field = Field(self._theme, name, quantity)
        field.set_shown(value)
        field.entered.connect(field.set_shown)
        self.add(name, field)
        return field

    def choice(self, name: str, options: Iterable[Option[T]]) -> Choice[T]:
        """Add a row with a choice; the first option is shown."""
        known = tuple(options)
        choice: Choice[T] = Choice(self._theme, name)
        choice.set_options(known)
        choice.set_shown(known[0].value)
        choice.chosen.connect(choice.set_shown)
        self.add(name, choice)
        return choice


def _first(record: str, field: str) -> float:
    """Return the first value of a field that is a number."""
    value = STARTERS[record, field]
    assert isinstance(value, float)
    return value


def _read_count(text: str) -> int:
    value = wording.parse_number(text.lower().removesuffix("steps").strip())
    if value != int(value) or not 1 <= value <= MOST_STEPS:
        raise ValueError(f"Steps are a whole number from 1 to {MOST_STEPS}, got {text}")
    return int(value)


class MachinePage(_Page):
    """Name, turning sense, speed and steps, or a sample to begin with.

    Signals: sample_chosen() when another beginning was chosen.
    """

    sample_chosen = Signal()

    def __init__(self, theme: Theme, samples: Iterable[str]) -> None:
        """Make the page; samples: their titles."""
        super().__init__(theme)
        self.name = QLineEdit()
        self.name.setPlaceholderText("Untitled")
        self.name.setAccessibleName("Name of the machine")
        self.add("Name", self.name)
        offered = (Option(NOTHING, "Nothing"), *(Option(title, title, "sample") for title in samples))
        self.begin = self.choice("Begin with", offered)
        self.turn = self.choice("Shaft turns", TURNS)
        self.speed = self.field("Speed", rpm_quantity(), 6.0)
        self.cycle = QLabel()
        self.cycle.setObjectName("muted")
        self.cycle.setFont(theme.font(12))
        self.form.addRow("", self.cycle)
        self.steps = self.field("Steps in a turn", Quantity("steps", "steps", str, _read_count), 12)
        self.names = QPlainTextEdit()
        self.names.setPlaceholderText("Events of each step, one line per step; may stay empty")
        self.names.setAccessibleName("Names of the steps, a line a step")
        self.names.setTabChangesFocus(True)
        self.names.setFont(theme.font(12))
        self.add("Step names", self.names)
        self.begin.chosen.connect(self._choose)
        for field in (self.speed, self.steps):
            field.entered.connect(self._say_cycle)
        self._say_cycle()

    @property
    def sample(self) -> str:
        """Title of the sample to begin with, empty for none."""
        return self.begin.given()

    def turn_shown(self) -> Turn:
        """Return the turning sense."""
        return self.turn.given()

    def step_names(self) -> tuple[str, ...]:
        """Return the names of the steps, as far as they go."""
        lines = [line.strip() for line in self.names.toPlainText().rstrip().splitlines()]
        return tuple(lines)

    def show_steps(self, count: int, names: Iterable[str]) -> None:
        """Show other steps."""
        self.steps.set_shown(count)
        self.names.setPlainText("\n".join(names).rstrip())
        self._say_cycle()

    def _choose(self, _title: object) -> None:
        for widget in (self.turn, self.speed, self.steps, self.names):
            widget.setEnabled(not self.sample)
        self.sample_chosen.emit()

    def _say_cycle(self, _value: object = None) -> None:
        turn_s = 60.0 / self.speed.given()
        step = wording.seconds(turn_s / self.steps.given())
        self.cycle.setText(f"A turn takes {wording.seconds(turn_s, 1)}, a step {step}")


class PartsPage(_Page):
    """Follower, disc and shaft with which every lane begins; each can be changed later, lane by lane."""

    def __init__(self, theme: Theme) -> None:
        """Make the page with usual parts."""
        super().__init__(theme)
        self.follower = self.choice("Follower", FOLLOWERS)
        self.radius = self.field(
            "Roller radius", millimetres(), _first("TranslatingRoller", "roller_radius_mm")
        )
        arm, pivot = (_first("SwingingRoller", part) for part in ("arm_mm", "pivot_distance_mm"))
        self.arm = self.field("Arm", millimetres(), arm)
        self.pivot = self.field("Pivot from the shaft", millimetres(), pivot)
        self.face = self.field("Face width", millimetres(), _first("TranslatingFlat", "face_width_mm"))
        self.thickness = self.field("Disc thickness", millimetres(), 5.0)
        self.bore = self.choice("Shaft profile", BORES)
        self.across = self.field("Shaft across", millimetres(), 8.0)
        self.spacer = self.field("Spacer between discs", millimetres(), 6.0)
        self.follower.chosen.connect(self._show_rows)
        self._show_rows()

    def follower_made(self) -> Follower:
        """Return the follower. Raises pydantic.ValidationError where it is not allowed."""
        kind = self.follower.given()
        if kind == "translating-flat":
            return TranslatingFlat(kind="translating-flat", face_width_mm=self.face.given(), **NEW_FOLLOWER)
        if kind == "swinging-roller":
            return SwingingRoller(
                kind="swinging-roller",
                roller_radius_mm=self.radius.given(),
                arm_mm=self.arm.given(),
                pivot_distance_mm=self.pivot.given(),
                pivot_side=PIVOT_SIDE,
                **NEW_FOLLOWER,
            )
        return TranslatingRoller(
            kind="translating-roller", roller_radius_mm=self.radius.given(), **NEW_FOLLOWER
        )

    def stack_made(self) -> Stack:
        """Return the stack. Raises pydantic.ValidationError where it is not allowed."""
        bore = Bore(shape=self.bore.given(), across_mm=self.across.given())
        return new_stack(spacer_mm=self.spacer.given(), bore=bore)

    def _show_rows(self, _kind: object = None) -> None:
        kind = self.follower.given()
        show = partial(self.form.setRowVisible)
        show(self.radius, kind != "translating-flat")
        show(self.arm, kind == "swinging-roller")
        show(self.pivot, kind == "swinging-roller")
        show(self.face, kind == "translating-flat")
