"""Editors of fields with a shape of their own: steps, the way out of a channel, areas not needed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout

from shaftscore.base import wording
from shaftscore.base.errors import Fault
from shaftscore.edits.drafts import inside
from shaftscore.model import Branch, Diverter
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Absent, Draft, Entry, draft_in, text_of
from shaftscore_app.forms.editors import ChoiceEditor, FieldEditor, left_in, put_back, settle
from shaftscore_app.forms.rows import RowsEditor
from shaftscore_app.forms.specs import Spec, specs_of
from shaftscore_app.forms.states import StateEditor
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import Field, Quantity

EQUAL, UNEVEN = "equal", "own"

Angles = tuple[float, ...]
"""The start angle of each step, degrees."""

T = TypeVar("T", int, Angles)
"""How steps are given: how many, or where each starts."""


class StepsEditor(FieldEditor):
    """The index steps: a count of equal ones, or the start angle of each."""

    def __init__(self, spec: Spec, theme: Theme) -> None:
        """Make the editor."""
        super().__init__(spec)
        self._value: int | Angles = 12
        self.way: Choice[str] = Choice(theme, "Steps")
        self.way.set_options([Option(EQUAL, "All equal"), Option(UNEVEN, "Start angles of their own")])
        self.way.setToolTip(spec.tip)
        self.field = Field(theme, "Steps", Quantity("steps", "count", str, _count))
        self.angles = Field(theme, "Start angles", Quantity("°", "degrees", _written, _angles))
        self.way.chosen.connect(self._choose)
        self._connect(self.field)
        self._connect(self.angles)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.way, 2)
        row.addWidget(self.field, 1)
        row.addWidget(self.angles, 3)
        self.setFocusProxy(self.field)

    def _connect(self, field: Field[T]) -> None:
        field.typed.connect(lambda value: self._take(field, value))
        field.entered.connect(lambda value: self._take(field, value))
        field.dropped.connect(lambda: self._take(field, put_back(field)))
        field.left_unread.connect(self.changed)

    def value(self) -> Entry:
        """Return a count, or the angles."""
        return ABSENT if self._value == 12 else self._value

    def set_value(self, value: Entry) -> None:
        """Show a count or angles."""
        uneven = isinstance(value, tuple)
        self.way.set_shown(UNEVEN if uneven else EQUAL)
        self.field.setVisible(not uneven)
        self.angles.setVisible(uneven)
        if isinstance(value, tuple):
            self._value = tuple(deg for deg in value if isinstance(deg, int | float))
            self.angles.set_shown(self._value)
        else:
            self._value = value if isinstance(value, int) else 12
            self.field.set_shown(self._value)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Mark the field."""
        field = self.angles if isinstance(self._value, tuple) else self.field
        if not field.unread():
            field.set_fault(faults[0].message if faults else "")
        return faults

    def unread(self) -> str:
        """Describe why what is typed cannot be read."""
        return self.field.unread() or self.angles.unread()

    def left_unread(self) -> str:
        """Describe why what was left in a field cannot be read."""
        return left_in(self.field) or left_in(self.angles)

    def _choose(self, way: str) -> None:
        count = self._value if isinstance(self._value, int) else len(self._value)
        equal = tuple(360.0 * step / count for step in range(count))
        self.set_value(equal if way == UNEVEN else count)
        self.changed.emit()

    def _take(self, field: Field[T], value: T | None) -> None:
        settle(field, value)
        if value is not None and value != self._value:
            self._value = value
            self.changed.emit()


def _count(text: str) -> int:
    value = wording.parse_number(text.casefold().removesuffix("steps").strip())
    if value != int(value):
        raise ValueError(f"The count of steps is a whole number, got {wording.plain(value)}")
    return int(value)


def _written(angles: tuple[float, ...]) -> str:
    return "; ".join(wording.plain(angle) for angle in angles)


def _angles(text: str) -> tuple[float, ...]:
    """Read angles with semicolons, or blanks, between them."""
    words = [word for word in text.replace(";", " ").split() if word]
    if not words:
        raise ValueError("Type the start angle of each step, with semicolons between them")
    return tuple(wording.parse_quantity(word, "°") for word in words)


class ByState:
    """Chosen instead of an end."""


class WayEditor(FieldEditor):
    """Where a channel leads: to one end, or by a lane's state to one of several."""

    BY_STATE = ByState()

    def __init__(self, spec: Spec, theme: Theme, context: Context) -> None:
        """Make the editor."""
        super().__init__(spec)
        self.setProperty("section", True)
        self.marks |= {("Diverter", "lane"), ("Diverter", "by_state"), ("Branch", "state"), ("Branch", "to")}
        self._theme, self._context = theme, context
        self._value: Entry = ABSENT
        self.end: Choice[str | ByState] = Choice(theme, "Leads to")
        self.lane: Choice[str] = Choice(theme, "By the state of the lane")
        self.end.chosen.connect(self._choose)
        self.lane.chosen.connect(self._choose_lane)
        row = QHBoxLayout()
        row.addWidget(self.end, 1)
        row.addWidget(self.lane, 1)
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.addLayout(row)
        self.ways = self._made_ways("")
        self._column.addWidget(self.ways)
        self.setFocusProxy(self.end)
        self.set_value(ABSENT)

    def _made_ways(self, lane: str) -> RowsEditor:
        """Make the table of ways of a lane."""
        spec = next(own for own in specs_of(Diverter) if own.key == "by_state")
        to = next(own for own in specs_of(Branch) if own.key == "to")
        theme, context = self._theme, self._context

        def cells(number: int) -> Sequence[FieldEditor]:
            state = StateEditor(None, theme, context, f"Way {number + 1}, state", lane)
            end = ChoiceEditor(to, theme, lambda: context.options("ends"), f"Way {number + 1}, to")
            return [state, end]

        def starter(_number: int) -> Draft:
            levels = context.levels(lane)
            state = {"lane": lane, "level": levels[0].value} if levels else {"lane": lane}
            ends = context.options("ends")
            return {"state": state, **({"to": ends[0].value} if ends else {})}

        ways = RowsEditor(
            spec,
            theme,
            noun="way",
            columns=[("state", "While at"), ("to", "Leads to")],
            cells=cells,
            starter=starter,
        )
        ways.changed.connect(self._take_ways)
        return ways

    def value(self) -> Entry:
        """Return the id of an end, or the draft of a diverter."""
        return self._value

    def set_value(self, value: Entry) -> None:
        """Show a way."""
        self._value = value
        fresh = self._made_ways(text_of(draft_in(value), "lane"))
        self._column.replaceWidget(self.ways, fresh)
        self.ways.hide()
        self.ways.setParent(None)
        self.ways.deleteLater()
        self.ways = fresh
        fresh.show()
        fresh.set_value(draft_in(value).get("by_state"))
        self._show()

    def refresh(self) -> None:
        """Offer the ends again."""
        self._show()
        self.ways.refresh()

    def _show(self) -> None:
        divides = isinstance(self._value, Mapping)
        options: list[Option[str | ByState]] = [*self._context.options("ends")]
        shown = self.BY_STATE if divides else self._value if isinstance(self._value, str) else None
        if isinstance(shown, str) and shown not in [option.value for option in options]:
            options.append(Option(shown, shown, "not there"))
        self.end.set_options([*options, Option(self.BY_STATE, "By a lane’s state…")])
        self.end.set_shown(shown)
        self.lane.set_options(self._context.options("lanes"))
        self.lane.set_shown(text_of(draft_in(self._value), "lane") if divides else None)
        self.lane.setVisible(divides)
        self.ways.setVisible(divides)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Return what has no place in the table of ways."""
        ways = inside(list(faults), "by_state")
        rest = [fault for fault in faults if not fault.path.startswith("by_state")]
        return [*rest, *(Fault("Ways", fault.message) for fault in self.ways.set_faults(ways))]

    def unread(self) -> str:
        """Describe why what is typed cannot be read."""
        return self.ways.unread()

    def left_unread(self) -> str:
        """Describe why what was left in a way cannot be read."""
        return self.ways.left_unread()

    def _choose(self, end: str | ByState) -> None:
        lanes = self._context.options("lanes")
        divided: Draft = {"lane": lanes[0].value if lanes else "", "by_state": ()}
        self.set_value(divided if isinstance(end, ByState) else end)
        self.changed.emit()

    def _choose_lane(self, lane: str) -> None:
        self.set_value({"lane": lane, "by_state": ()})
        self.changed.emit()

    def _take_ways(self) -> None:
        ways = self.ways.value()
        self._value = {**draft_in(self._value), "by_state": () if isinstance(ways, Absent) else ways}
        self.changed.emit()


AREAS: Mapping[str, str] = {
    "timing": "Timing: levels, moves and rules between lanes",
    "items": "Items: the flow of material",
    "forces": "Forces: springs, friction and contact",
    "torque": "Torque: motor or crank and drive train",
    "fits": "Fits: play and seat of the discs",
    "heights": "Heights: parts along the shaft",
    "shaft": "Shaft: bending, twist and bearings",
    "parts": "Parts: walls, bores and sizes",
}
"""Area of the verdict: what its box says."""


class AreasEditor(FieldEditor):
    """The areas of the verdict that a person leaves out: a check box each."""

    def __init__(self, spec: Spec, theme: Theme) -> None:
        """Make the boxes."""
        super().__init__(spec)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        self.boxes = {area: self._box(theme, area, spec.tip) for area in AREAS}
        for box in self.boxes.values():
            column.addWidget(box)
        column.addStretch(1)
        self.setFocusProxy(next(iter(self.boxes.values())))

    def _box(self, theme: Theme, area: str, tip: str) -> QCheckBox:
        box = TickBox(AREAS[area])
        box.setAccessibleName(f"{AREAS[area]}: not needed")
        box.setToolTip(tip)
        box.setFont(theme.font(12))
        box.clicked.connect(lambda _on: self.changed.emit())
        return box

    def value(self) -> Entry:
        """Return the areas that are checked, in the order of the format."""
        return tuple(area for area, box in self.boxes.items() if box.isChecked())

    def set_value(self, value: Entry) -> None:
        """Show areas."""
        there = value if isinstance(value, tuple) else ()
        for area, box in self.boxes.items():
            box.setChecked(area in there)
