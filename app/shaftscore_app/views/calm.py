"""What the views share: refreshing calmly while something is held, and copying curves as a table."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from PySide6.QtCore import QObject, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QToolButton, QWidget

from shaftscore_app.document import Document
from shaftscore_app.runtime.turns import Later


class CalmRefresh(QObject):
    """Refreshes a view at once; while something is held only `held_ms` after the first change."""

    def __init__(
        self,
        view: QWidget,
        document: Document,
        refresh: Callable[[], None],
        held_ms: int,
        *,
        soon: bool = False,
    ) -> None:
        """Call `refresh` when the report or the selection changes.

        soon: refresh after the window has painted what else changed; for a view that takes long.
        """
        super().__init__(view)
        self._document, self._held_ms = document, held_ms
        self._refresh: Callable[[], None] = Later(self, refresh).ask if soon else refresh
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.timeout.connect(refresh)
        for signal in (document.report_changed, document.selection_changed):
            signal.connect(self._changed)

    def _changed(self) -> None:
        if not self._document.is_previewing:
            self._soon.stop()
            self._refresh()
        elif not self._soon.isActive():
            self._soon.start(self._held_ms)


def copy_button(what: str, copy: Callable[[], None]) -> QToolButton:
    """Make the button that copies a view as a table; what: what is in it, for the tooltip."""
    button = QToolButton()
    button.setObjectName("plain")
    button.setToolTip(f"Copy as table: {what}")
    button.setAccessibleName("Copy as table")
    button.clicked.connect(copy)
    return button


def copy_columns(heads: Iterable[str], columns: Iterable[Iterable[float]]) -> None:
    """Copy columns of numbers: heads, then a row an angle, tabs between."""
    rows = zip(*columns, strict=True)
    lines = ["\t".join(heads), *("\t".join(f"{value:.9g}" for value in row) for row in rows)]
    QGuiApplication.clipboard().setText("\n".join(lines))
