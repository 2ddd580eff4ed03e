"""The bar that says once, of a file of an earlier version, what is judged now that was not judged then."""

from __future__ import annotations

from collections.abc import Callable

from shaftscore.judge.report import migrated_text
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.notice_bar import NoticeBar


class VersionBar(NoticeBar):
    """The bar; it waits until everything was judged, and closes when it was read or the file is saved."""

    def __init__(self, document: Document, theme: Theme, show: Callable[[], object]) -> None:
        """Watch a document; show: brings the coverage to the front."""
        super().__init__(theme, "version")
        self._document, self._show = document, show
        self._shown_for = 0
        document.report_changed.connect(self._look)
        document.file_changed.connect(self._look)

    def _look(self) -> None:
        """Show it once for each file that was opened; end with that file."""
        document = self._document
        if not document.is_migrated:
            self.end()
        elif document.opened != self._shown_for and document.is_late_current:
            self._shown_for = document.opened
            coverage = ("Show coverage", "go to what the verdict covers", self._show_coverage)
            dismiss = ("Dismiss", "close this message", self.end)
            self.tell(migrated_text(document.whole_report), [coverage, dismiss])

    def _show_coverage(self) -> None:
        self._show()
        self.end()
