"""The bar over the diagram while some lanes are checked alone: which they are, and the way back."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QPushButton, QSizePolicy

from shaftscore.base import wording
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme

MOST_NAMES = 5
"""As many lanes are named; of more the rest are counted."""


class AloneBar(QFrame):
    """The bar; it is there only while lanes are checked alone."""

    def __init__(self, document: Document, theme: Theme) -> None:
        """Make the bar of a document."""
        super().__init__()
        self._document, self._theme = document, theme
        self.setObjectName("alone")
        self.text, self.back = QLabel(), QPushButton("Whole machine")
        self.text.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self.back.setObjectName("link")
        self.back.setToolTip("Whole machine (Esc): check all lanes again")
        self.back.clicked.connect(lambda: document.check_alone(None))
        self._row = QHBoxLayout(self)
        self._row.addWidget(self.text, 1)
        self._row.addWidget(self.back)
        document.report_changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    def refresh(self) -> None:
        """Show which lanes are checked, or hide."""
        lanes, project = self._document.lanes, self._document.project
        self.setVisible(lanes is not None)
        if lanes is not None:
            names = [lane.label for lane in project.lanes if lane.id in lanes]
            self.text.setText(sentence(names))
            self.text.setToolTip(
                f"{sentence(names, len(names))} Title, file and export are the whole machine's."
            )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Leave with Esc."""
        if event.key() == Qt.Key.Key_Escape:
            self._document.check_alone(None)
        else:
            super().keyPressEvent(event)

    def _fit(self) -> None:
        theme, px = self._theme, self._theme.px
        self._row.setContentsMargins(px(12), px(3), px(8), px(3))
        self.text.setFont(theme.font(12, 600))
        self.back.setFont(theme.font(12, 600))
        self.setStyleSheet(
            f"QFrame#alone {{ background: {theme.css('accent-soft')};"
            f" border-bottom: 1px solid {theme.css('accent-line')}; }}"
        )
        self.refresh()


def sentence(names: list[str], most: int = MOST_NAMES) -> str:
    """Describe which lanes are checked; of more than `most` the rest are counted."""
    said = names if len(names) <= most else [*names[: most - 1], f"{len(names) - most + 1} more"]
    return f"Only {wording.listed(said)} {'is' if len(names) == 1 else 'are'} checked."
