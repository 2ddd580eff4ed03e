"""The widgets of a form's rows: each edits one value of a draft.

An editor shows a value (`ABSENT` where none is given), says when a person has changed it, and takes the
faults that concern it. `marks` are the (record, field) pairs that it edits.
"""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import TypeVar

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QPlainTextEdit, QVBoxLayout, QWidget

from shaftscore.base import wording
from shaftscore.base.errors import Fault
from shaftscore_app.document.binding import muted
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Draft, Entry, Scalar, draft_in, scalar_of
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.abstract import AbstractWidgetType
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Quantity, Various

T = TypeVar("T")

Mark = tuple[str, str]
"""Record and field."""


class FieldEditor(QWidget, metaclass=AbstractWidgetType):
    """Base of all editors; each has its own `value` and `set_value`.

    Signals: changed() when the person has changed the value.
    """

    changed = Signal()

    def __init__(self, spec: Spec | None) -> None:
        """Make an editor of a row (None: of several)."""
        super().__init__()
        self.spec = spec
        names = spec.fields if spec is not None else ()
        self.marks: frozenset[Mark] = frozenset(
            (spec.record.__name__, name) for name in names if spec is not None
        )

    @abstractmethod
    def value(self) -> Entry:
        """Return the value for the draft, or `ABSENT`."""
        ...

    @abstractmethod
    def set_value(self, value: Entry) -> None:
        """Show a value, or `ABSENT`."""
        ...

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark what is at fault; returns the faults whose place it does not have."""
        return faults

    def unread(self) -> str:
        """Describe why what is being typed cannot be read; empty where it can."""
        return ""

    def left_unread(self) -> str:
        """Describe why what was typed before its field was left cannot be read.

        Empty where it can, or while it is still being typed; and of a form, whose own rows say so.
        """
        return ""

    def refresh(self) -> None:
        """Offer again what is chosen from lists that have changed."""

    def set_context(self, draft: Draft) -> None:
        """Take the draft of the whole record that the value is part of."""

    def all_marks(self) -> frozenset[Mark]:
        """Return the marks of this editor and of all inside it."""
        inner = [child.all_marks() for child in self.findChildren(QWidget) if isinstance(child, FieldEditor)]
        return self.marks.union(*inner)

    def field_at(self, path: str) -> QWidget:
        """Bring the field of a path forward, and return the widget that is filled in there.

        path: from the value on, as in the faults of a draft, such as "rod.shape"; the editor itself where it
        has no such field.
        """
        del path  # an editor of one value has no fields
        return self

    def controls(self) -> Iterator[QWidget]:
        """Yield the widgets that are filled in, in order."""
        kinds = (Field, Choice, QCheckBox, QPlainTextEdit)
        yield from (child for child in self.findChildren(QWidget) if isinstance(child, kinds))


def _alone(parent: QWidget, widget: QWidget) -> None:
    row = QHBoxLayout(parent)
    row.setContentsMargins(0, 0, 0, 0)
    row.addWidget(widget)
    parent.setFocusProxy(widget)


def left_in(*fields: Field[T]) -> str:
    """Return why what was left in the first of some fields cannot be read; empty where it can."""
    return next((said for field in fields if not field.hasFocus() and (said := field.unread())), "")


def settle(field: Field[T], value: T | None) -> None:
    """Show what was entered, and keep the mark of what is wrong with it."""
    if not field.isModified():
        fault = field.fault
        field.set_shown(value)
        field.set_fault(fault)


class TypedEditor(FieldEditor):
    """A value that is typed: a number with its unit, a count, or text."""

    def __init__(self, spec: Spec, theme: Theme, name: str = "") -> None:
        """Make the editor; name: for screen readers, the spec's label if empty."""
        super().__init__(spec)
        self._spec = spec
        self.field = Field(theme, name or spec.label, quantity_of(spec))
        self.field.setToolTip(spec.tip)
        self.field.typed.connect(self._take)
        self.field.entered.connect(self._take)
        self.field.dropped.connect(lambda: self._take(put_back(self.field)))
        self.field.left_unread.connect(self.changed)
        self._value: Entry = ABSENT
        _alone(self, self.field)

    def value(self) -> Entry:
        """Return the value; `ABSENT` where it is the one that is meant without any."""
        return self._value

    def set_value(self, value: Entry) -> None:
        """Show a value."""
        self._value = value
        shown = scalar_of(self._spec.default if value is ABSENT else value)
        self.field.set_shown(None if shown == "auto" and self._spec.auto else shown)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark the field."""
        if not self.unread():
            self.field.set_fault(faults[0].message if faults else "")
        return faults

    def unread(self) -> str:
        """Describe why what is typed cannot be read."""
        return self.field.unread()

    def left_unread(self) -> str:
        """Describe why what was left in the field cannot be read."""
        return left_in(self.field)

    def _take(self, value: Scalar | None) -> None:
        made = self._drafted(value)
        settle(self.field, value)
        if made != self._value or type(made) is not type(self._value):
            self._value = made
            self.changed.emit()

    def _drafted(self, value: Scalar | None) -> Entry:
        spec = self._spec
        if value is None:
            value = "auto" if spec.auto else None
        if value is None or value == spec.default:
            return ABSENT
        return value


class FlagEditor(FieldEditor):
    """Yes or no."""

    def __init__(self, spec: Spec, theme: Theme, name: str = "") -> None:
        """Make the editor."""
        super().__init__(spec)
        self._spec = spec
        self.box = TickBox("" if name else spec.label)
        self.box.setAccessibleName(name or spec.label)
        self.box.setToolTip(spec.tip)
        self.box.setFont(theme.font(12))
        self.box.clicked.connect(lambda _on: self.changed.emit())
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.box)
        row.addStretch(1)  # only box and words take a click
        self.setFocusProxy(self.box)

    def value(self) -> Entry:
        """Return the value; `ABSENT` where it is the usual one."""
        on = self.box.isChecked()
        return ABSENT if on == self._spec.default else on

    def set_value(self, value: Entry) -> None:
        """Show a value."""
        self.box.setChecked(bool(self._spec.default if value is ABSENT else value))


class ChoiceEditor(FieldEditor):
    """One of several; options: what can be chosen, asked for again by `refresh`."""

    def __init__(
        self, spec: Spec, theme: Theme, options: Callable[[], Sequence[Option[Scalar | None]]], name: str = ""
    ) -> None:
        """Make the editor; a value that may be absent is offered first, in its word."""
        super().__init__(spec)
        self._spec, self._options = spec, options
        self._value: Entry = ABSENT
        self.choice: Choice[Scalar | None] = Choice(theme, name or spec.label)
        self.choice.setToolTip(spec.tip)
        self.choice.chosen.connect(self._choose)
        self.refresh()
        _alone(self, self.choice)

    def value(self) -> Entry:
        """Return the value."""
        return self._value

    def set_value(self, value: Entry) -> None:
        """Show a value; one that is not offered (any more) is shown all the same."""
        self._value = value
        self.refresh()

    def refresh(self) -> None:
        """Offer again."""
        spec, options = self._spec, list(self._options())
        if spec.empty is not None:
            options.insert(0, Option(None, spec.empty[:1].upper() + spec.empty[1:]))
        shown = scalar_of(spec.default if self._value is ABSENT else self._value)
        if shown is not None and shown not in [o.value for o in options]:
            options.append(Option(shown, str(shown), "not there"))
        self.choice.set_options(options)
        self.choice.set_shown(shown)

    def _choose(self, value: Scalar | None) -> None:
        self._value = ABSENT if value is None or value == self._spec.default else value
        self.choice.set_shown(value)
        self.changed.emit()

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Describe the fault."""
        self.choice.setAccessibleDescription(faults[0].message if faults else "")
        return faults


class EitherEditor(FieldEditor):
    """A stretch of time, in degrees or in seconds; its draft has one of two keys."""

    UNITS = (("deg", "°", "degrees"), ("s", "s", "seconds"))

    def __init__(self, spec: Spec, theme: Theme) -> None:
        """Make a field and the choice of its unit."""
        super().__init__(spec)
        self._spec, self._theme = spec, theme
        self._unit = "deg"
        self._amount: float | None = None
        self.field = Field(theme, spec.label, self._quantity())
        self.unit: Choice[str] = Choice(theme, f"{spec.label}, unit")
        self.unit.set_options([Option(key, spoken) for key, _, spoken in self.UNITS])
        self.field.setToolTip(spec.tip)
        self.field.typed.connect(self._take)
        self.field.entered.connect(self._take)
        self.field.dropped.connect(lambda: self._take(put_back(self.field)))
        self.field.left_unread.connect(self.changed)
        self.unit.chosen.connect(self._choose)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.field, 1)
        row.addWidget(self.unit, 1)
        self.setFocusProxy(self.field)

    def value(self) -> Draft:
        """Return {key of the unit: amount}, without any where none is given."""
        return {} if self._amount is None else {f"{self._spec.key}_{self._unit}": self._amount}

    def set_value(self, value: Entry) -> None:
        """Show the amount of whichever key is there."""
        keys = [key for key, _, _ in self.UNITS]
        amounts = {key: draft_in(value).get(f"{self._spec.key}_{key}") for key in keys}
        found = [(key, amount) for key, amount in amounts.items() if isinstance(amount, int | float)]
        self._unit, self._amount = found[0] if found else (self._unit, None)
        self._show()

    def _show(self) -> None:
        self.unit.set_shown(self._unit)
        self.field.set_quantity(self._quantity())
        self.field.set_shown(self._amount)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark the field."""
        if not self.unread():
            self.field.set_fault(faults[0].message if faults else "")
        return faults

    def unread(self) -> str:
        """Describe why what is typed cannot be read."""
        return self.field.unread()

    def left_unread(self) -> str:
        """Describe why what was left in the field cannot be read."""
        return left_in(self.field)

    def _quantity(self) -> Quantity[float]:
        unit, spoken = next((unit, spoken) for key, unit, spoken in self.UNITS if key == self._unit)
        read = partial(wording.parse_quantity, unit=unit)
        return Quantity(unit, spoken, wording.plain, read, self._spec.empty)

    def _take(self, value: float | None) -> None:
        settle(self.field, value)
        if value != self._amount:
            self._amount = value
            self.changed.emit()

    def _choose(self, unit: str) -> None:
        self._unit = unit
        self._show()
        self.changed.emit()


class LinesEditor(FieldEditor):
    """Several short texts, one a line."""

    def __init__(self, spec: Spec, theme: Theme) -> None:
        """Make the editor."""
        super().__init__(spec)
        self._spec = spec
        self._value: Entry = ABSENT
        self.text = QPlainTextEdit()
        self.text.setAccessibleName(f"{spec.label}, one a line")
        self.text.setToolTip(f"{spec.tip}. One a line")
        self.text.setPlaceholderText(spec.empty or "one a line")
        self.text.setTabChangesFocus(True)
        self.text.setFont(theme.font(12))
        self.text.setFixedHeight(theme.px(88))
        self.text.textChanged.connect(self._take)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.addWidget(self.text)
        self.setFocusProxy(self.text)

    def value(self) -> Entry:
        """Return the lines; `ABSENT` without any."""
        return self._value

    def set_value(self, value: Entry) -> None:
        """Show lines."""
        self._value = value
        lines = value if isinstance(value, tuple) else ()
        with muted(self.text):
            self.text.setPlainText("\n".join(map(str, lines)))

    def _take(self) -> None:
        lines = [line.strip() for line in self.text.toPlainText().splitlines()]
        while lines and not lines[-1]:
            lines.pop()
        made: Entry = tuple(lines) if lines else ABSENT
        if made != self._value:
            self._value = made
            self.changed.emit()


def quantity_of(spec: Spec) -> Quantity[Scalar]:
    """Return how a row's value is written and read."""
    if spec.kind == "text":
        return Quantity("", "", str, str.strip, spec.empty if spec.empty is not None else "")
    read: Callable[[str], Scalar] = partial(
        wording.parse_quantity, unit=spec.unit if spec.kind == "number" else ""
    )
    if spec.kind == "number" and spec.choices:
        read = partial(_word_or_number, spec)
    if spec.kind == "count":
        return Quantity(spec.unit, spec.spoken, str, partial(_whole, spec), spec.empty)
    write = {"mm": _tenths, "°": _tenths, "N·m": _torque}.get(spec.unit, _plain)
    return Quantity(spec.unit, spec.spoken, write, read, spec.empty)


def put_back(field: Field[T]) -> T | None:
    """Return what a field shows after what was being typed was dropped; None for nothing."""
    shown = field.shown()
    return None if isinstance(shown, Various) else shown


def _word_or_number(spec: Spec, text: str) -> Scalar:
    """Read one of the words that a row takes, or a number in its unit."""
    word = text.strip().casefold()
    return word if word in spec.choices else wording.parse_quantity(text, unit=spec.unit)


def _whole(spec: Spec, text: str) -> int:
    value = wording.parse_number(text.casefold().removesuffix(spec.unit).strip())
    if value != int(value):
        raise ValueError(f"{spec.label} is a whole number, got {wording.plain(value)}")
    return int(value)


def _plain(value: Scalar) -> str:
    """Write a number as short as it can be read back; a text as it is."""
    return value if isinstance(value, str) else wording.plain(value)


def _torque(value: Scalar) -> str:
    """Write at most four decimals of a torque, which may come from another unit; small ones as they are."""
    is_small = isinstance(value, int | float) and abs(value) < SMALL_NM
    return _plain(value) if isinstance(value, str) or is_small else wording.plain(float(value), 4)


SMALL_NM = 0.01
"""Torques under this are written with all their decimals, N·m."""


def _tenths(value: Scalar) -> str:
    """Write one decimal, or as many as the value has; a text as it is."""
    if isinstance(value, str):
        return value
    exact = wording.plain(value)
    return exact if "." in exact else wording.number(value, 1)


def editor_of(spec: Spec, theme: Theme, context: Context, name: str = "") -> FieldEditor:
    """Make the editor of a simple row; name: for screen readers where the label is not enough."""
    which = context.list_of(spec.record, spec.key) if spec.kind == "text" else ""
    if which:
        return ChoiceEditor(spec, theme, lambda: context.options(which), name)
    if spec.kind == "choice":
        return ChoiceEditor(spec, theme, lambda: [Option(c, worded(c)) for c in spec.choices], name)
    if spec.kind == "flag" and spec.empty is not None:
        return ChoiceEditor(spec, theme, lambda: [Option(True, "Yes"), Option(False, "No")], name)
    if spec.kind == "flag":
        return FlagEditor(spec, theme, name)
    wide = {"either": EitherEditor, "texts": LinesEditor}
    return wide[spec.kind](spec, theme) if spec.kind in wide else TypedEditor(spec, theme, name)


CHOICES = {
    "one-way": "Turned one way while tightened",
    "as-they-lie": "Tightened as they lie",
    "built": "On the built stack",
    "drawing": "By dimension, as drawn",
}
"""Words of the file format that say too little alone, and what is shown for them."""


def worded(choice: str) -> str:
    """Write a word of the file format for people; a tolerance class, such as h11, keeps its small letter."""
    if choice[1:].isdigit():
        return choice
    if choice in CHOICES:
        return CHOICES[choice]
    text = choice.replace("-", " ")
    return text[:1].upper() + text[1:]
