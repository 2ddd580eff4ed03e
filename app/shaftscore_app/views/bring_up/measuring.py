"""The line below the cards in which a measured output is typed in the place of a level."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QWidget

from shaftscore.base import wording
from shaftscore_app.theme import Theme
from shaftscore_app.views.bring_up.session import BringUpSession
from shaftscore_app.views.bring_up.words import code_of
from shaftscore_app.widgets.field import Field
from shaftscore_app.widgets.quantities import millimetres


class MeasuringLine(QWidget):
    """The line: the chosen lane, a field in mm, and what is expected.

    Signals: finished() when the value was entered or left.
    """

    finished = Signal()

    def __init__(self, session: BringUpSession, theme: Theme) -> None:
        """Show a session."""
        super().__init__()
        self._session, self._theme = session, theme
        self.label, self.due = QLabel(), QLabel()
        self.field: Field[float] = Field(theme, "Measured output", millimetres(empty="none"))
        self.due.setObjectName("muted")
        self.field.setToolTip("Output of the chosen lane, measured at this check; it takes the level's place")
        self._row = QHBoxLayout(self)
        for widget in (self.label, self.field, self.due):
            self._row.addWidget(widget)
        self._row.addStretch(1)
        self.field.entered.connect(self._take)
        session.changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()
        self.refresh()

    def refresh(self) -> None:
        """Show the chosen lane."""
        session, lane_id = self._session, self._session.lane_id
        there = lane_id is not None and session.stop is not None
        self.setVisible(there)
        if not there or lane_id is None:
            return
        self.label.setText(f"Measured output of {code_of(session.project, lane_id)}")
        due = session.expected(lane_id)
        self.due.setText(f"expected {wording.millimetres(due.output_mm)}" if due is not None else "")
        seen = session.sighting(lane_id)
        if not self.field.isModified():
            self.field.set_shown(seen if isinstance(seen, float) else None)
        self.field.setEnabled(session.is_ready)

    def begin(self) -> None:
        """Begin to type."""
        self.field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keep the keys of the field to itself: Enter has entered the value."""
        event.accept()

    # Inside

    def _take(self, value: float | None) -> None:
        lane_id = self._session.lane_id
        if lane_id is not None:
            if value is None:
                self._session.clear(lane_id)
            else:
                self._session.see(lane_id, value)
        self.finished.emit()

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        for label in (self.label, self.due):
            label.setFont(theme.font(12))
        self.field.setFixedWidth(px(110))
        self._row.setContentsMargins(px(12), px(6), px(12), px(8))
        self._row.setSpacing(px(8))
