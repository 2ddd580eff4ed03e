"""Search and filter above the headers: only lanes that match what is typed, or have findings, are drawn.

It belongs to what is drawn, as hiding does: findings, checks and export mean the whole machine. What is left
out is decided when something is typed or the button pressed: while a block moves no lane comes or goes.
"""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QLineEdit, QToolButton, QWidget

from shaftscore_app.document import Document
from shaftscore_app.document.words import lane_has
from shaftscore_app.theme import Theme

LEFT, TOP, HIGH = 8.0, 49.0, 24.0
"""Place of the field in the corner, and its height, px of the design."""

BUTTON = (64.0, 24.0)
"""Place of the button, in the row of the corner's other buttons, px of the design."""

NAMES = 64.0
"""Room for the names of the rulers at the right, px of the design."""


class LaneFilter(QWidget):
    """The field and the button beside it.

    Signals: changed(out) with the ids of the lanes that are not drawn; left(lane_id) when the person goes to
    the diagram, with the first lane that was found, None for none.
    """

    changed = Signal(object)
    left = Signal(object)

    def __init__(self, document: Document, theme: Theme, parent: QWidget) -> None:
        """Make it for the lanes of a document."""
        super().__init__(parent)
        self._document, self._theme = document, theme
        self.text, self.found = QLineEdit(self), QToolButton(parent)
        self.text.setAccessibleName("Find lanes by name, code or group")
        self.text.setPlaceholderText("Find lane")
        self.text.setToolTip("Find lane: draws only lanes with this name, code or group (Esc: all again)")
        self.found.setObjectName("plain")
        self.found.setCheckable(True)
        self.found.setAccessibleName("Only lanes with findings")
        self.found.setToolTip("Only lanes with findings: draws no others; the whole machine is still checked")
        self.text.textChanged.connect(self._filter)
        self.found.toggled.connect(self._filter)
        theme.changed.connect(self._fit)
        self._fit()

    @property
    def is_on(self) -> bool:
        """Whether lanes may be left out."""
        return bool(self.text.text().strip()) or self.found.isChecked()

    def clear(self) -> None:
        """Leave no lane out."""
        self.text.clear()
        self.found.setChecked(False)

    def place(self, header_width: float) -> None:
        """Take its place in the corner of headers of a width, px."""
        px, side = self._theme.px, self._theme.px(HIGH)
        self.setGeometry(px(LEFT), px(TOP), round(header_width) - px(LEFT + NAMES), side)
        self.text.setGeometry(self.rect())
        self.found.setGeometry(px(BUTTON[0]), px(BUTTON[1]), side, side)

    def set_there(self, there: bool) -> None:
        """Be there, or not where there are no lanes."""
        self.setVisible(there)
        self.found.setVisible(there)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Go to the diagram with Enter or Down, to the first lane found; draw all lanes again with Esc."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Down):
            self.left.emit(self._first())
        elif event.key() == Qt.Key.Key_Escape:
            self.clear()
            self.left.emit(None)
        else:
            super().keyPressEvent(event)

    def _first(self) -> str | None:
        out = self._out()
        return next((lane.id for lane in self._document.project.lanes if lane.id not in out), None)

    def _out(self) -> frozenset[str]:
        """Return the lanes that are left out."""
        project = self._document.project
        typed, only_found = self.text.text(), self.found.isChecked()
        found = {lane for finding in self._document.report.findings for lane in finding.lanes}
        return frozenset(
            lane.id
            for lane in project.lanes
            if not lane_has(lane, typed) or (only_found and lane.id not in found)
        )

    def _filter(self) -> None:
        self.changed.emit(self._out())

    def _fit(self) -> None:
        theme = self._theme
        self.text.setFont(theme.font(11))
        self.found.setIcon(theme.icon("filter", 16, on="accent"))
        self.found.setIconSize(QSize(theme.px(16), theme.px(16)))
