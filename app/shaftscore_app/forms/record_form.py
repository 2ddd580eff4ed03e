"""The form of one record: a row a field, nested records as sections, faults below their rows."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QLabel, QVBoxLayout, QWidget

from shaftscore.base.errors import Fault
from shaftscore.edits.drafts import inside
from shaftscore.model.base import Record
from shaftscore.model.rules import LevelState
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Absent, Draft, Entry, Value, draft_in, first_step
from shaftscore_app.forms.editors import FieldEditor, FlagEditor, Mark, editor_of
from shaftscore_app.forms.rows import RowsEditor
from shaftscore_app.forms.specs import Spec, keys_of, kind_of, label_of, specs_of, starter_of, title_of
from shaftscore_app.forms.states import StateEditor
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import TickBox
from shaftscore_app.widgets.choice import Choice, Option

Own = Mapping[Mark, Callable[[Spec], FieldEditor]]
"""(record, field): makes the editor of a field that has one of its own."""

LABEL_WIDTH = 148

KEYS = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b|(?<=together with )[a-z]+\b")
"""What may be the key of a field in a message: words with underscores, and what is given with another."""


@dataclass(frozen=True)
class FormRow:
    """One row: what it edits, its editor, where its faults are told, and the label or box about it."""

    spec: Spec
    editor: FieldEditor
    said: QLabel
    beside: QWidget | None = None


class RecordForm(FieldEditor):
    """Edits the draft of one record; of several kinds of records, one is chosen."""

    def __init__(
        self,
        theme: Theme,
        context: Context,
        records: Sequence[type[Record]],
        *,
        spec: Spec | None = None,
        own: Own | None = None,
        skip: frozenset[Mark] = frozenset(),
    ) -> None:
        """Make the form; spec: the row that it stands in, if any. skip: fields that it does not show."""
        super().__init__(spec)
        self._theme, self._context, self._records = theme, context, tuple(records)
        self._own, self._skip = own or {}, skip
        self._record = self._records[0]
        self.may_go = spec is not None and _may_be_absent(spec)
        self._rows: list[FormRow] = []
        self._kept: Draft = {}
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(theme.px(6))
        self.there = TickBox(spec.label if spec and len(self._records) > 1 else title_of(self._record))
        self.kind: Choice[str] = Choice(theme, "Kind" if spec is None else f"{spec.label}, kind")
        self._add_top()
        self._holder = QWidget()
        self._column.addWidget(self._holder)
        self._build(self._record)
        self.set_value(ABSENT)

    def _add_top(self) -> None:
        self.there.setFont(self._theme.font(12, 600))
        self.there.setVisible(self.may_go)
        self.there.clicked.connect(self._set_there)
        self._column.addWidget(self.there, 0, Qt.AlignmentFlag.AlignLeft)
        self.kind.set_options([Option(kind_of(r), title_of(r)) for r in self._records])
        self.kind.setVisible(len(self._records) > 1)
        self.kind.chosen.connect(self._choose_kind)
        self._column.addWidget(self.kind)

    # As an editor

    def value(self) -> Entry:
        """Return the draft; `ABSENT` where there is none, or nothing in it differs from what is usual."""
        if self.may_go and not self.there.isChecked():
            return ABSENT
        kind = kind_of(self._record)
        draft: dict[str, Value] = {"kind": kind} if kind else {}
        for row in self._rows:
            value = row.editor.value()
            if row.spec.kind == "either":
                draft |= draft_in(value)
            elif not isinstance(value, Absent):
                draft[row.spec.key] = value
        draft |= self._kept
        usual = self.spec.default if self.spec is not None else None
        return ABSENT if draft == usual else draft

    def set_value(self, value: Entry) -> None:
        """Show a draft."""
        absent = value is ABSENT or value is None
        self.there.setChecked(not absent)
        usual = self.spec.default if self.spec is not None else None
        draft = draft_in(usual if absent else value)
        record = next((r for r in self._records if kind_of(r) and kind_of(r) == draft.get("kind")), None)
        if record is not None and record is not self._record:
            self._build(record)
        self.kind.set_shown(kind_of(self._record))
        hidden = {key for name, key in self._skip if name == self._record.__name__}
        self._kept = {key: item for key, item in draft.items() if key in hidden}
        for row in self._rows:
            row.editor.set_context(draft)
            row.editor.set_value(draft if row.spec.kind == "either" else draft.get(row.spec.key, ABSENT))
        self._holder.setVisible(not self.may_go or not absent)

    def set_faults(self, faults: Sequence[Fault]) -> Sequence[Fault]:
        """Show faults below their rows; returns those without a row."""
        told: list[Fault] = []
        for row in self._rows:
            names = row.spec.fields if row.spec.kind == "either" else (row.spec.key,)
            inner = [fault for name in names for fault in inside(list(faults), name)]
            own = [_of_row(self._record, fault) for fault in inner]
            told += [fault for fault in faults if any(_is_at(fault, name) for name in names)]
            rest = row.editor.set_faults(own)
            said = [fault_words(row.spec.records, fault) for fault in rest]
            unread = row.editor.left_unread()
            row.said.setText("\n".join([unread, *said] if unread else said))
            row.said.setVisible(bool(row.said.text()))
        return [fault for fault in faults if fault not in told]

    def said(self, fault: Fault) -> str:
        """Return a fault of any of its records in words."""
        return fault_words(self._records, fault)

    def unread(self) -> str:
        """Describe why what is being typed in a row cannot be read."""
        if self.may_go and not self.there.isChecked():
            return ""
        return next((said for row in self._rows if (said := row.editor.unread())), "")

    def field_at(self, path: str) -> QWidget:
        """Return the widget of a field; the box that begins a record where there is none yet."""
        if self.may_go and not self.there.isChecked():
            return self.there
        key, rest = first_step(path)
        own = (row for row in self._rows if key in (row.spec.key, *row.spec.fields))
        found = next(own, None)
        return next(self.controls(), self) if found is None else found.editor.field_at(rest)

    def refresh(self) -> None:
        """Offer again what is chosen from lists."""
        for row in self._rows:
            row.editor.refresh()

    def all_marks(self) -> frozenset[Mark]:
        """Return the marks of all kinds that may be chosen."""
        found = super().all_marks()
        for record in self._records:
            if record is not self._record:
                other = RecordForm(self._theme, self._context, [record], own=self._own, skip=self._skip)
                found |= other.all_marks()
                other.deleteLater()
        kinds = {(r.__name__, "kind") for r in self._records if len(self._records) > 1}
        return found | kinds

    def row(self, key: str) -> FormRow:
        """Return a row by its key."""
        return next(row for row in self._rows if row.spec.key == key)

    def matters(self, row: FormRow) -> bool:
        """Return whether a row is shown: one that means nothing is, while it has a value of its own."""
        value = row.editor.value()
        given = value is not ABSENT and value is not None
        return given or self._matters(row.spec, draft_in(self.value()))

    def show_rows(self) -> None:
        """Show the rows that mean something with what is chosen in the others."""
        for row in self._rows:
            shown = self.matters(row)
            for widget in (row.editor, row.beside):
                if widget is not None:
                    widget.setVisible(shown)

    # Inside

    def _matters(self, spec: Spec, draft: Draft) -> bool:  # noqa: ARG002 - for who knows more of the record
        """Return whether a row means something where the others are as in a draft."""
        return True

    def _build(self, record: type[Record]) -> None:
        self._record = record
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(self._theme.px(8))
        grid.setVerticalSpacing(self._theme.px(4))
        grid.setColumnMinimumWidth(0, self._theme.px(LABEL_WIDTH))
        grid.setColumnStretch(1, 1)
        self._rows = [self._add_row(grid, number, spec) for number, spec in enumerate(self._specs(record))]
        self._column.replaceWidget(self._holder, holder)
        self._holder.hide()
        self._holder.setParent(None)  # it is not to be found any more
        self._holder.deleteLater()
        self._holder = holder
        holder.show()

    def _specs(self, record: type[Record]) -> Iterator[Spec]:
        return (s for s in specs_of(record) if (record.__name__, s.key) not in self._skip)

    def _add_row(self, grid: QGridLayout, number: int, spec: Spec) -> FormRow:
        editor = self._editor(spec)
        editor.changed.connect(self.changed)
        said = QLabel()
        said.setObjectName("fault")
        said.setFont(self._theme.font(11))
        said.setWordWrap(True)
        said.hide()
        top = 2 * number
        beside: QWidget | None = None
        if self._is_section(editor):
            beside = self._section(spec, editor)
            grid.addWidget(beside, top, 0, 1, 2)
            grid.addWidget(said, top + 1, 0, 1, 2)
        else:
            if not isinstance(editor, FlagEditor):
                beside = self._label(spec)
                grid.addWidget(beside, top, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(editor, top, 1)
            grid.addWidget(said, top + 1, 1)
        return FormRow(spec, editor, said, beside)

    def _label(self, spec: Spec) -> QLabel:
        label = QLabel(spec.label)
        label.setFont(self._theme.font(12))
        label.setToolTip(spec.tip)
        label.setMinimumHeight(self._theme.px(24))
        label.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter)
        return label

    @staticmethod
    def _is_section(editor: FieldEditor) -> bool:
        return isinstance(editor, RecordForm | RowsEditor) or editor.property("section") is True

    def _section(self, spec: Spec, editor: FieldEditor) -> QWidget:
        """Put a heading over a part; one that may be absent has its own."""
        box = QWidget()
        column = QVBoxLayout(box)
        column.setContentsMargins(0, self._theme.px(6), 0, 0)
        column.setSpacing(self._theme.px(4))
        there = isinstance(editor, RecordForm) and editor.may_go
        if not there:
            head = QLabel(spec.label)
            head.setFont(self._theme.font(12, 600))
            head.setToolTip(spec.tip)
            column.addWidget(head)
        inner = QVBoxLayout()
        inner.setContentsMargins(0 if there else self._theme.px(12), 0, 0, 0)
        inner.addWidget(editor)
        column.addLayout(inner)
        return box

    def _editor(self, spec: Spec) -> FieldEditor:
        name = spec.record.__name__
        if (name, spec.key) in self._own:
            return self._own[(name, spec.key)](spec)
        if spec.kind == "record":
            return RecordForm(
                self._theme, self._context, spec.records, spec=spec, own=self._own, skip=self._skip
            )
        if spec.kind == "records":
            return rows_of(spec, self._theme, self._context)
        if spec.kind == "state":
            return StateEditor(spec, self._theme, self._context, spec.label)
        return editor_of(spec, self._theme, self._context)

    def _choose_kind(self, kind: str) -> None:
        record = next(r for r in self._records if kind_of(r) == kind)
        known = keys_of(record) - {"kind"}
        kept = {key: value for key, value in draft_in(self.value()).items() if key in known}
        self._build(record)
        self.set_value({**starter_of(record), **kept, "kind": kind})
        self.changed.emit()

    def _set_there(self, there: bool) -> None:
        draft = starter_of(self._record)
        for spec in self._specs(self._record):
            if spec.kind == "state":
                draft[spec.key] = self._context.first_state()
        self.set_value(draft if there else ABSENT)
        self.changed.emit()


def _with_labels(record: type[Record], message: str) -> str:
    """Write a message with the fields of the record that it names as their rows are labelled."""

    def label(found: re.Match[str]) -> str:
        key = found[0]
        return f'"{label_of(record, key)}"' if key in record.model_fields else key

    return KEYS.sub(label, message)


def _of_row(record: type[Record], fault: Fault) -> Fault:
    """Return a fault of a row with the fields that it names as they are labelled; inner ones as they are."""
    return fault if fault.path else Fault("", _with_labels(record, fault.message))


def fault_words(records: Sequence[type[Record]], fault: Fault) -> str:
    """Return a fault of a record as people read it: labels in place of the keys of its path and message.

    records: the kinds of record that it may be of.
    """
    step, rest = first_step(fault.path)
    if step is None:
        return fault.message
    if isinstance(step, int):
        number, inner = step + 1, fault_words(records, Fault(rest, fault.message))
        return f"{number}: {inner}"
    specs = (spec for record in records for spec in specs_of(record))
    spec = next((one for one in specs if step in (one.key, *one.fields)), None)
    if spec is None:
        return f"{step}: {fault_words((), Fault(rest, fault.message))}"
    inner = fault_words(spec.records, Fault(rest, fault.message))
    joint = " " if isinstance(first_step(rest)[0], int) else ": "
    alone = spec.kind == "record" and len(spec.records) == 1 and _may_be_absent(spec)
    head = title_of(spec.records[0]) if alone else spec.label
    return f"{head}{joint}{_with_labels(spec.record, inner)}"


def _may_be_absent(spec: Spec) -> bool:
    """Return whether the record of a row may be absent: a box with its title then begins it."""
    return spec.default is None and not spec.record.model_fields[spec.fields[0]].is_required()


def _is_at(fault: Fault, key: str) -> bool:
    return fault.path == key or fault.path.startswith((f"{key}.", f"{key}["))


def rows_of(spec: Spec, theme: Theme, context: Context) -> RowsEditor:
    """Make the table of a field that is a list of records."""
    if LevelState in spec.records:

        def states(number: int) -> Sequence[FieldEditor]:
            return [StateEditor(None, theme, context, f"State {number + 1}")]

        return RowsEditor(
            spec, theme, noun="state", columns=[("", "")], cells=states, starter=context.first_state
        )
    (record,) = spec.records
    noun = title_of(record).lower()
    inner = specs_of(record)
    columns = [(own.key, label_of(record, own.fields[0])) for own in inner]

    def cells(number: int) -> Sequence[FieldEditor]:
        named = [(own, f"{noun.capitalize()} {number + 1}, {own.label.lower()}") for own in inner]
        return [editor_of(own, theme, context, name) for own, name in named]

    return RowsEditor(spec, theme, noun=noun, columns=columns, cells=cells, starter=partial(_starter, record))


def _starter(record: type[Record], _number: int) -> Draft:
    return starter_of(record)
