"""The form of a follower: a drawing with a letter for each dimension, and only the rows that matter."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QEvent, Qt
from PySide6.QtWidgets import QCheckBox, QLabel, QWidget

from shaftscore.model import Record
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Draft, Entry, draft_in
from shaftscore_app.forms.follower_sketch import FollowerSketch, letters
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec, kind_of
from shaftscore_app.runtime.watching import EventWatch
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.check import TickBox

GUIDE = ("guide_length_mm", "overhang_mm", "guide_friction", "guide_start_mm")
"""Fields of the guide of a follower that moves along a line."""

GROOVE = ("groove_clearance_mm",)


class FollowerForm(RecordForm):
    """Edits the draft of a follower; the guide's rows come with its box, a groove's with the groove."""

    sketch: FollowerSketch
    guided: QCheckBox

    def __init__(self, theme: Theme, context: Context, records: Sequence[type[Record]]) -> None:
        """Make the form; records: the kinds of follower."""
        super().__init__(theme, context, records)
        self.changed.connect(self._show_sketch)

    def _add_top(self) -> None:
        super()._add_top()
        self.sketch = FollowerSketch(self._theme)
        self.guided = TickBox("The guide is described")
        self.guided.setFont(self._theme.font(12))
        self.guided.setToolTip("The guide: its length and place say whether the bar can lock in it")
        self.guided.clicked.connect(self._set_guided)
        self._column.addWidget(self.sketch)
        self._column.addWidget(self.guided, 0, Qt.AlignmentFlag.AlignLeft)

    def set_value(self, value: Entry) -> None:
        """Show a draft, its drawing and the rows that matter."""
        super().set_value(value)
        self.guided.setChecked(any(key in draft_in(self.value()) for key in GUIDE))
        self._show_sketch()

    # Inside

    def _build(self, record: type[Record]) -> None:
        super()._build(record)
        for row in self._rows:
            for control in row.editor.controls():
                self._watch(row.spec.key, control)

    def _set_guided(self, guided: bool) -> None:
        """Show the rows of the guide, or take the guide away."""
        if not guided:
            for row in self._rows:
                if row.spec.key in GUIDE:
                    row.editor.set_value(ABSENT)
        self.changed.emit()

    def _watch(self, key: str, control: QWidget) -> None:
        """Draw the dimension of a field bold while it has the focus."""

        def heard(event: QEvent) -> bool:
            if event.type() == QEvent.Type.FocusIn:
                self.sketch.hold(key)
            return False

        EventWatch(control, heard)

    def _label(self, spec: Spec) -> QLabel:
        label = super()._label(spec)
        letter = letters(kind_of(self._record)).get(spec.key, "")
        if letter:
            label.setText(f"{spec.label} <b>{letter}</b>")
            label.setAccessibleName(f"{spec.label}, {letter} in the drawing")
        return label

    def _matters(self, spec: Spec, draft: Draft) -> bool:
        if spec.key in GROOVE:
            return draft.get("closure") == "groove"
        return spec.key not in GUIDE or self.guided.isChecked()

    def _show_sketch(self) -> None:
        self.show_rows()
        kind, draft = kind_of(self._record), draft_in(self.value())
        self.guided.setVisible(kind == "translating-roller")
        shown = [row.spec.key for row in self._rows if self.matters(row)]
        self.sketch.show_follower(kind, shown, groove=draft.get("closure") == "groove")
        self.sketch.setAccessibleDescription(self._said())

    def _said(self) -> str:
        """Return every dimension with its letter."""
        by = letters(kind_of(self._record))
        rows = (row for row in self._rows if row.spec.key in by and self.matters(row))
        return "; ".join(f"{by[row.spec.key]}: {row.spec.label}" for row in rows)
