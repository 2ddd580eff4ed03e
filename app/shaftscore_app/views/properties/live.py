"""Rows of Properties made from the records: each entry is a step at once, for one lane or for several.

A row shows what the lanes have in common, or "various"; what is entered goes to all of them. Rows that
not all of the lanes have (an arm's length, say) are not shown.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Protocol, TypeVar

from PySide6.QtWidgets import QLabel

from shaftscore.base import wording
from shaftscore.edits import Edited, set_disc, set_follower, set_lane, set_load
from shaftscore.edits.base import wrapped
from shaftscore.edits.drafts import LanePart, draft_of
from shaftscore.edits.series import ValueSeries, read_series
from shaftscore.model import Lane, Load, Project, SwingingRoller, TranslatingFlat, TranslatingRoller
from shaftscore.model.base import Record
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit, show
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import Scalar
from shaftscore_app.forms.editors import quantity_of, worded
from shaftscore_app.forms.specs import Spec, keys_of, kind_of, specs_of, starter_of, title_of
from shaftscore_app.theme import Theme
from shaftscore_app.views.properties.form import PropertyForm
from shaftscore_app.views.properties.laws import law_options
from shaftscore_app.widgets.check import Check
from shaftscore_app.widgets.choice import Choice, Option
from shaftscore_app.widgets.field import DIFFERENT, Field, Quantity, Various

T = TypeVar("T")

Widget = Field[Scalar] | Choice[Scalar | None] | Check


class FieldsEdit(Protocol):
    """An edit of fields of a lane, or of a part of it."""

    def __call__(self, project: Project, lane_id: str, **fields: object) -> Edited:
        """Change fields; raises EditError if they are not allowed."""
        ...


FIELD_EDITS: Mapping[str, FieldsEdit] = {
    "": set_lane,
    "follower": set_follower,
    "disc": set_disc,
    "load": set_load,
}
"""The part of a lane, empty for the lane itself, and the edit of its fields."""

FOLLOWERS: tuple[type[Record], ...] = (TranslatingRoller, SwingingRoller, TranslatingFlat)

ELSEWHERE = {
    "id",
    "name",
    "levels",
    "guarded",
    "blocks",
    "points",
    "follower",
    "disc",
    "load",
    "kind",
    "link",
    "frictions",
    "spring",
}
"""Fields of a lane and its follower with a row or a dialog of their own."""


@dataclass(frozen=True)
class LiveRow:
    """A row; part: the field of the lane that holds the value, empty for the lane itself."""

    part: str
    spec: Spec
    widget: Widget
    label: QLabel | None

    @property
    def mark(self) -> tuple[str, str]:
        """Record and field that it edits."""
        return self.spec.record.__name__, self.spec.fields[0]


class LaneRows:
    """The rows of one lane or of several, added to a form."""

    def __init__(
        self,
        form: PropertyForm,
        document: Document,
        theme: Theme,
        lanes: Callable[[], Sequence[Lane]],
        said: Callable[[str], object],
    ) -> None:
        """Prepare; lanes: returns the lanes that are shown. said: gets why a choice cannot be."""
        self._form, self._document, self._theme, self._lanes = form, document, theme, lanes
        self._said = said
        self.rows: dict[tuple[str, str], LiveRow] = {}
        self.follower_kind: Choice[str] = Choice(theme, "Follower")
        self.follower_kind.set_options([Option(kind_of(r), title_of(r)) for r in FOLLOWERS])
        self.follower_kind.chosen.connect(self._set_follower_kind)

    def add(self, part: str, record: type[Record], *keys: str) -> None:
        """Add rows for fields of a record, or for all that have no row yet."""
        for spec in specs_of(record):
            wanted = spec.key in keys if keys else spec.key not in ELSEWHERE
            if wanted and (part, spec.key) not in self.rows:
                self._add(part, spec)

    def add_follower_kind(self) -> None:
        """Add the choice of the follower's kind."""
        self._form.row("Kind", self.follower_kind)

    def widget(self, part: str, key: str) -> Widget:
        """Return the widget of a row."""
        return self.rows[(part, key)].widget

    def refresh(self) -> None:
        """Show what the lanes have in common."""
        lanes = self._lanes()
        show(self.follower_kind, common(lane.follower.kind for lane in lanes))
        context = Context(self._document.project)
        for row in self.rows.values():
            holders = [_part_of(lane, row.part) for lane in lanes]
            there = all(hasattr(holder, row.spec.fields[0]) for holder in holders) and _tells(row, lanes)
            row.widget.setVisible(there and not self._form.is_folded(row.widget))
            if row.label is not None:
                row.label.setVisible(there and not self._form.is_folded(row.widget))
            if there:
                self._offer(row, context)
                show(
                    row.widget, self._shown(row, [getattr(holder, row.spec.fields[0]) for holder in holders])
                )

    # Inside

    def _add(self, part: str, spec: Spec) -> None:
        widget = self._made(part, spec)
        if isinstance(widget, Check):
            self._form.row("", widget)
            label = None
        else:
            label = self._form.row(spec.label, widget)
            label.setToolTip(spec.tip)
        widget.setToolTip(spec.tip)
        self.rows[(part, spec.key)] = LiveRow(part, spec, widget, label)

    def _made(self, part: str, spec: Spec) -> Widget:
        which = Context(self._document.project).list_of(spec.record, spec.key)
        if spec.kind == "flag":
            check = Check(self._theme, spec.label, spec.label)
            check.chosen.connect(lambda value: self._set(part, spec, value))
            return check
        if spec.kind == "choice" or which:
            choice: Choice[Scalar | None] = Choice(self._theme, spec.label)
            choice.chosen.connect(lambda value: self._set(part, spec, value))
            return choice
        field = Field(self._theme, spec.label, self._with_series(quantity_of(spec)))
        field.entered.connect(lambda value: self._set(part, spec, value))
        return field

    def _with_series(self, quantity: Quantity[Scalar]) -> Quantity[Scalar]:
        """Let several lanes take a series of values ("0, 120, 240"), one after the other."""

        def read(text: str) -> Scalar | ValueSeries:
            if not quantity.unit or len(self._lanes()) < 2:
                return quantity.read(text)
            series = read_series(text, lambda part: float(quantity.read(part)))
            return quantity.read(text) if series is None else series

        # A series is entered, never shown: what is written is always one value.
        return replace(quantity, read=read)  # type: ignore[arg-type]

    def _offer(self, row: LiveRow, context: Context) -> None:
        if not isinstance(row.widget, Choice):
            return
        which = context.list_of(row.spec.record, row.spec.key)
        choices = context.options(which) if which else [Option(c, worded(c)) for c in row.spec.choices]
        options: list[Option[Scalar | None]] = [*choices]
        if row.spec.key == "law":
            options = [*law_options()]
        if row.spec.empty is not None:
            options = [Option(None, row.spec.empty[:1].upper() + row.spec.empty[1:]), *options]
        row.widget.set_options(options)

    @staticmethod
    def _shown(row: LiveRow, values: Sequence[Scalar | None]) -> Scalar | Various | None:
        value = common(values)
        return None if value == "auto" and row.spec.auto else value

    def _set(self, part: str, spec: Spec, value: Scalar | ValueSeries | None) -> None:
        row = self.rows[(part, spec.key)]
        if value is None:
            value = "auto" if spec.auto else "" if spec.default == "" else None
        fault = self._commit(spec.label, self._change_of(part, spec, value))
        if isinstance(row.widget, Field):
            row.widget.set_fault(fault)
        else:
            self._chosen(fault)

    def _change_of(
        self, part: str, spec: Spec, value: Scalar | ValueSeries | None
    ) -> Callable[[Project, str], Edited]:
        """Return the edit of one lane; of a series each lane takes its value, in the order of the diagram."""
        if not isinstance(value, ValueSeries):
            return lambda project, lane_id: _changed(project, lane_id, part, spec, value)
        order = sorted((lane.id for lane in self._lanes()), key=self._document.project.lane_index.__getitem__)
        is_station = spec.fields[0] == "station_deg"

        def change(project: Project, lane_id: str) -> Edited:
            own = value.at(order.index(lane_id))
            return _changed(project, lane_id, part, spec, wrapped(own) if is_station else round(own, 9))

        return change

    def _set_follower_kind(self, kind: str) -> None:
        record = next(record for record in FOLLOWERS if kind_of(record) == kind)
        fault = self._commit("Follower", lambda project, lane_id: _with_kind(project, lane_id, record))
        self._chosen(fault)

    def _chosen(self, fault: str) -> None:
        """Put a choice back that could not be made, and say why."""
        self._said(fault)
        if fault:
            self.refresh()

    def _commit(self, what: str, change: Callable[[Project, str], Edited]) -> str:
        """Change all lanes as one step; give why it cannot be."""
        ids = [lane.id for lane in self._lanes()]
        document = self._document
        name = f"Change {what.lower()} of {wording.counted(len(ids), 'lane')}"
        return commit(document, lambda: on_lanes(document.committed, ids, change, name))


def common(values: Iterable[T]) -> T | Various:
    """Return the value that all have, or `DIFFERENT`."""
    different = list(dict.fromkeys(values))
    return different[0] if len(different) == 1 else DIFFERENT


def on_lanes(
    project: Project, lane_ids: Sequence[str], change: Callable[[Project, str], Edited], name: str
) -> Edited:
    """Make an edit of one lane after the other: one step for all, with its own name if it is one lane."""
    edited = Edited(project, name)
    for lane_id in lane_ids:
        edited = change(edited.project, lane_id)
    return Edited(edited.project, edited.name if len(lane_ids) == 1 else name)


def _tells(row: LiveRow, lanes: Sequence[Lane]) -> bool:
    """Return whether a row means something for the lanes: a groove needs a groove, a ratio a straight way."""
    if row.spec.key in ("groove_clearance_mm", "groove_depth_mm", "rim_mm"):
        return any(lane.follower.closure == "groove" for lane in lanes)
    if row.spec.key == "output_ratio":
        return all(lane.follower.kind != "swinging-roller" and lane.follower.link is None for lane in lanes)
    if row.spec.key == "disc_of":
        return all(lane.kind == "rider" for lane in lanes)
    return True


def _part_of(lane: Lane, part: str) -> Record:
    if part == "load":
        return lane.load or Load()
    found: Record = getattr(lane, part) if part else lane
    return found


def _changed(project: Project, lane_id: str, part: str, spec: Spec, value: Scalar | None) -> Edited:
    return FIELD_EDITS[part](project, lane_id, **{spec.fields[0]: value})


def _with_kind(project: Project, lane_id: str, record: type[Record]) -> Edited:
    """Change a lane's follower to another kind, which keeps what both kinds have."""
    own = draft_of(project.lane(lane_id).follower)
    kept = {key: value for key, value in own.items() if key in keys_of(record) - {"kind"}}
    draft = {**starter_of(record), **kept}
    return LanePart(lane_id, "follower").edited(project, draft)


def marks_of(rows: LaneRows) -> Iterator[tuple[str, str]]:
    """Yield the (record, field) pairs that rows edit."""
    yield from (row.mark for row in rows.rows.values())
    yield from ((record.__name__, "kind") for record in FOLLOWERS)
