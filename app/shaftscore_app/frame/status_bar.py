"""The status bar: what was found, the smallest margin, what is held, and what is saved or running."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QStatusBar,
    QToolButton,
    QWidget,
)

from shaftscore.base.wording import counted
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import CoverageState
from shaftscore_app.document import Document
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.stale import is_stale
from shaftscore_app.document.words import margin_text, selection_text
from shaftscore_app.theme import Theme
from shaftscore_app.theme.signs import SIGNS
from shaftscore_app.widgets.elided import ElidedLabel

NAMED = 3
"""So many areas that are not described are named; of more the number is given."""


class StatusBar(QStatusBar):
    """The status bar of the window.

    Signals: findings_wanted() when errors and warnings were clicked; coverage_wanted() when what is not
    described was; cancel_wanted() when Cancel was.
    """

    findings_wanted = Signal()
    coverage_wanted = Signal()
    cancel_wanted = Signal()

    def __init__(self, document: Document, theme: Theme, unsaved: Callable[[], str]) -> None:
        """Make the status bar of a document; unsaved: says what becomes of changes that are not saved."""
        super().__init__()
        self._document, self._theme, self._unsaved = document, theme, unsaved
        self._hint = ""
        self.setSizeGripEnabled(False)
        self._row = QHBoxLayout()
        self._errors = self._count_button(Severity.ERROR)
        self._warnings = self._count_button(Severity.WARNING)
        self._margin = QLabel()
        self.gaps = self._gaps_button()
        self._held = ElidedLabel()
        self._state = QLabel()
        self._state.setObjectName("muted")
        self._build_progress()
        self._build()
        document.report_changed.connect(self.refresh)
        document.selection_changed.connect(self.refresh)
        document.file_changed.connect(self.refresh)
        theme.changed.connect(self._fit)
        self._fit()

    # What others tell it

    def set_hint(self, text: str) -> None:
        """Show what is pointed at or why something cannot be done; empty: what is held again."""
        self._hint = text
        shown = text or selection_text(self._document)
        self._held.set_text(shown)
        before = not (self._errors.isHidden() and self._warnings.isHidden() and not self._margin.text())
        self._lines[1].setVisible(bool(shown) and before)

    def show_progress(self, what: str, fraction: float) -> None:
        """Show how far a running job is, with a button to cancel it."""
        self._bar.setValue(round(fraction * 100))
        self._state.setText(f"{what} {round(fraction * 100)} %")
        self._set_running(True)

    def end_progress(self) -> None:
        """Take the bar away."""
        self._set_running(False)
        self.refresh()

    @property
    def is_showing_progress(self) -> bool:
        """Whether a job is shown as running."""
        return not self._cancel.isHidden()

    # Inside

    def _count_button(self, severity: Severity) -> QToolButton:
        button = QToolButton()
        button.setObjectName("plain")
        button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        button.setToolTip(f"{severity.value.capitalize()}s: go to the findings")
        button.clicked.connect(self.findings_wanted)
        return button

    def _gaps_button(self) -> QToolButton:
        button = QToolButton()
        button.setObjectName("plain")
        button.setToolTip("Not described, so not checked: go to Coverage")
        button.clicked.connect(self.coverage_wanted)
        return button

    def _build_progress(self) -> None:
        self._bar = QProgressBar()
        self._bar.setTextVisible(False)
        self._bar.setAccessibleName("Progress, per cent")
        self._cancel = QPushButton("Cancel")
        self._cancel.setObjectName("link")
        self._cancel.clicked.connect(self.cancel_wanted)

    def _build(self) -> None:
        inner = QWidget()
        row = QHBoxLayout(inner)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self._errors)
        row.addWidget(self._warnings)
        self._lines = [_line(), _line()]
        row.addWidget(self._lines[0])
        row.addWidget(self._margin)
        row.addWidget(self.gaps)
        row.addWidget(self._lines[1])
        row.addWidget(self._held, 1)
        row.addWidget(self._state)
        row.addWidget(self._bar)
        row.addWidget(self._cancel)
        self._inner_row = row
        self.addWidget(inner, 1)
        self._set_running(False)

    def _set_running(self, running: bool) -> None:
        self._bar.setVisible(running)
        self._cancel.setVisible(running)

    def refresh(self) -> None:
        """Bring all parts up to date."""
        report = self._document.report
        roots = report.folded.roots
        for button, severity in ((self._errors, Severity.ERROR), (self._warnings, Severity.WARNING)):
            found = [one for one in roots if one.severity is severity]
            count, stale = len(found), any(is_stale(report, one) for one in found)
            button.setText(f" {counted(count, severity.value)}{f', {UPDATING}' if stale else ''}")
            button.setVisible(count > 0)
        margin = margin_text(self._document)
        self._margin.setText(margin)
        nothing = self._errors.isHidden() and self._warnings.isHidden()
        self._lines[0].setVisible(not nothing and bool(margin))
        self._show_gaps()
        self.set_hint(self._hint)
        self.refresh_state()

    def _show_gaps(self) -> None:
        """Name the areas that are not described."""
        document = self._document
        areas = document.whole_report.coverage.in_state(CoverageState.NOT_DESCRIBED)
        named = ", ".join(areas) if len(areas) <= NAMED else f"{len(areas)} areas"
        self.gaps.setText(f"Not described yet: {named}")
        self.gaps.setVisible(bool(areas) and document.is_started and bool(document.project.lanes))

    def refresh_state(self) -> None:
        """Show again what is saved, unless something runs."""
        if self._cancel.isHidden():
            self._state.setText(self._file_text())

    def _file_text(self) -> str:
        document = self._document
        if not document.is_started:
            return ""
        if document.is_modified:
            return self._unsaved()
        if document.is_read_only:
            return "Read-only"
        return "Saved" if document.path else ""

    def _fit(self) -> None:
        theme = self._theme
        self._inner_row.setContentsMargins(theme.px(8), 0, theme.px(12), 0)
        self._inner_row.setSpacing(theme.px(8))
        for widget in self.findChildren(QWidget):
            widget.setFont(theme.font(12))
        for button, severity in ((self._errors, Severity.ERROR), (self._warnings, Severity.WARNING)):
            button.setIcon(theme.icon(SIGNS[severity], 14))
            button.setIconSize(QSize(theme.px(14), theme.px(14)))
        for line in self._lines:
            line.setFixedHeight(theme.px(14))
        self._bar.setFixedWidth(theme.px(120))
        self._cancel.setFont(theme.font(12, 600))
        self.refresh()


def _line() -> QFrame:
    line = QFrame()
    line.setObjectName("line")
    line.setFixedWidth(1)
    return line
