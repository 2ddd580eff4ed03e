"""The form of a spring by its dimensions, with the force that follows from them below its rows."""

from __future__ import annotations

from pydantic import ValidationError
from PySide6.QtWidgets import QLabel

from shaftscore.base import wording
from shaftscore.built.springs import installed_force, within_en_15800
from shaftscore.model import CoilSpring
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import ABSENT, Entry
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme


class SpringForm(RecordForm):
    """Edits the draft of a described spring and shows its preload, rate and solid length."""

    force: QLabel

    def __init__(self, theme: Theme, context: Context, spec: Spec) -> None:
        """Make the form in the row of a load."""
        super().__init__(theme, context, spec.records, spec=spec)
        self._column.addWidget(self.force)
        self.changed.connect(self._show_force)

    def _add_top(self) -> None:
        super()._add_top()
        self.force = QLabel()
        self.force.setObjectName("muted")
        self.force.setFont(self._theme.font(11))
        self.force.setWordWrap(True)

    def set_value(self, value: Entry) -> None:
        """Show a draft, and the force that follows."""
        super().set_value(value)
        self._show_force()

    def _show_force(self) -> None:
        text = force_words(self.value())
        self.force.setText(text)
        self.force.setVisible(bool(text))


def force_words(draft: Entry) -> str:
    """Write the force of a described spring; empty where its draft is no spring yet."""
    if draft is ABSENT:
        return ""
    try:
        spring = CoilSpring.model_validate(draft)
    except ValidationError:  # the rows say what is wrong
        return ""
    force, wire = installed_force(spring.installed, 0.0), spring.installed.spring
    preload, rate = wording.newtons(force.preload_n, 2), wording.plain(force.rate_n_per_mm, 3)
    limit = wording.newtons(float(force.limit_n(0.0)), 2)
    known = f"± {limit} by EN 15800, grade 2" if within_en_15800(wire) else "tolerance as stated above"
    solid = f" Solid length {wording.millimetres(wire.solid_mm)}." if spring.kind == "compression" else ""
    return f"Preload {preload} ({known}), rate {rate} N/mm.{solid}"
