"""What happens when the program itself errs: the work is kept, the person is informed once, and it goes on.

Errors arrive here from everywhere: from Python's hook for what nobody caught, from jobs on other threads, and
from Qt's own messages. None of them takes the window down. Of an error that ends the process all the same
(in a library, say) the system's trace is kept in a file, and the next start offers the draft.
"""

from __future__ import annotations

import faulthandler
import logging
import logging.handlers
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType

from PySide6.QtCore import QMessageLogContext, QObject, QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QWidget

from shaftscore_app.dialogs.crash import CrashDialog
from shaftscore_app.document import Document
from shaftscore_app.keeping import PersonStore
from shaftscore_app.keeping.drafting import Drafting
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.reports import first_line, report_text, write_report
from shaftscore_app.theme import Theme

log = logging.getLogger(__name__)

LEVELS = {
    QtMsgType.QtDebugMsg: logging.DEBUG,
    QtMsgType.QtInfoMsg: logging.INFO,
    QtMsgType.QtWarningMsg: logging.WARNING,
    QtMsgType.QtCriticalMsg: logging.ERROR,
    QtMsgType.QtFatalMsg: logging.CRITICAL,
}
LOG_BYTES, LOGS = 1 << 20, 3


def _now() -> datetime:
    return datetime.now(UTC)


class Crashes(QObject):
    """Takes the errors of one window."""

    def __init__(
        self,
        window: QWidget,
        theme: Theme,
        document: Document,
        *,
        store: PersonStore,
        drafting: Drafting,
        save_as: Callable[[], object],
        now: Callable[[], datetime] = _now,
    ) -> None:
        """Serve a window; nothing is taken before `install`."""
        super().__init__(window)
        self._window, self._theme, self._document = window, theme, document
        self._store, self._drafting, self._save_as, self._now = store, drafting, save_as, now
        self._busy = False
        self._seen: dict[str, int] = {}
        self._dialog: CrashDialog | None = None

    def install(self, jobs: Jobs) -> Callable[[], None]:
        """Take what nobody catches from now on; returns what puts back how it was."""
        hook = sys.excepthook
        sys.excepthook = self._uncaught
        before = qInstallMessageHandler(self._qt_said)
        jobs.failed.connect(self.happened)
        unwatch = jobs.watch_threads()

        def uninstall() -> None:
            sys.excepthook = hook
            qInstallMessageHandler(before)
            jobs.failed.disconnect(self.happened)
            unwatch()

        return uninstall

    def happened(self, error: BaseException) -> None:
        """Keep the work, write the report, tell the person. Never raises."""
        log.error("an unexpected error", exc_info=error)
        if self._busy:
            return  # an error while telling of one is in the log
        self._busy = True
        try:
            self._handle(error)
        except Exception as other:  # the last place where it could be caught
            log.critical("an error could not be told", exc_info=other)
        finally:
            self._busy = False

    def _handle(self, error: BaseException) -> None:
        self._document.preview(None)  # what was held is put back; what is committed is whole
        kept = self._drafting.keep_now()
        what = first_line(error)
        self._seen[what] = self._seen.get(what, 0) + 1
        if self._dialog is not None:
            self._dialog.count(sum(self._seen.values()))
        elif self._seen[what] == 1:
            self._tell(what, kept, error)

    def _tell(self, what: str, kept: bool, error: BaseException) -> None:
        when = self._now()
        text = report_text(error, when, self._private())
        try:
            report: Path | None = write_report(self._store.reports, text, when)
        except OSError as trouble:
            log.warning("the report was not written: %s", trouble)
            report = None
        self._dialog = CrashDialog(
            self._window,
            self._theme,
            what=what,
            where=self._where(kept),
            report=text,
            file=report,
            save_as=self._save_as,
        )
        self._dialog.finished.connect(self._closed)
        self._dialog.open()

    def _closed(self) -> None:
        self._dialog = None

    def _where(self, kept: bool) -> str:
        """Describe where the person's work is."""
        document = self._document
        if not document.is_modified:
            return "All your work is saved." if document.path else "There was nothing to save."
        file = f" {document.name} is as you saved it last." if document.path else ""
        if kept:
            return f"Your work is kept: a draft of all changes was written just now.{file}"
        why = self._drafting.keeper.trouble or "the draft could not be written"
        return f"Your work is still here, but no draft could be kept: {why}. Save it now.{file}"

    def _private(self) -> list[str]:
        """Return what must not be in a report: where the person's files are, and names in the project."""
        document = self._document
        paths = [Path.home(), self._store.folder, *([document.path] if document.path else [])]
        texts = [str(path) for path in paths] + [document.name, document.project.name]
        names = [name for lane in document.project.lanes for name in (lane.name, lane.group)]
        return [text for text in (*texts, *names) if text and len(text) > 2]

    def _uncaught(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        if issubclass(kind, KeyboardInterrupt):
            self._drafting.keep_now()
            sys.__excepthook__(kind, error, trace)
            return
        self.happened(error.with_traceback(trace))

    def _qt_said(self, kind: QtMsgType, _context: QMessageLogContext, text: str) -> None:
        if kind is QtMsgType.QtFatalMsg:
            self._drafting.keep_now()  # Qt ends the process after this
        log.log(LEVELS.get(kind, logging.WARNING), "Qt: %s", text)


def keep_logs(folder: Path) -> None:
    """Write what the program logs to files that take turns, and traces of a process that dies beside them.

    Where the folder cannot be written, the program runs without.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        logs = logging.handlers.RotatingFileHandler(
            folder / "shaftscore.log", maxBytes=LOG_BYTES, backupCount=LOGS, encoding="utf-8", delay=True
        )
        faulthandler.enable((folder / "fault.log").open("a", encoding="utf-8"))
    except OSError as error:
        log.warning("nothing is logged: %s", error)
        return
    logs.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s"))
    logs.setLevel(logging.INFO)
    logging.getLogger().addHandler(logs)
