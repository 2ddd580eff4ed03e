"""A dialog with work that runs in a process: what it does, how far it is, and Cancel."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

from PySide6.QtWidgets import QLabel, QProgressBar, QPushButton, QWidget

from shaftscore.base.errors import Cancelled
from shaftscore_app.runtime.jobs import ProgressReport, Task
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Dialog

T = TypeVar("T")
T_co = TypeVar("T_co", covariant=True)


class Request(Protocol[T_co]):
    """Begins work of which something comes."""

    def __call__(
        self,
        *,
        on_progress: Callable[[ProgressReport], None],
        then: Callable[[T_co], None],
        failed: Callable[[Exception], None],
    ) -> Task:
        """Begin; on_progress gets how far it is, then the result, failed why there is none."""
        ...


class RunningDialog(Dialog):
    """A dialog that waits for work; closing it cancels the work."""

    def __init__(self, parent: QWidget, theme: Theme, title: str, heading: str) -> None:
        """Make the bar, hidden until work begins."""
        super().__init__(parent, theme, title, heading)
        self._task: Task | None = None
        self.bar = QProgressBar()
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Progress, per cent")
        self.doing = QLabel()
        self.doing.setFont(theme.font(12))
        self.doing.setWordWrap(True)
        self._closed = False
        self.finished.connect(self._close)

    @property
    def is_running(self) -> bool:
        """Whether work runs."""
        return self._task is not None

    def begin(self, request: Request[T], then: Callable[[T], None], failed: Callable[[str], None]) -> None:
        """Begin work; then gets its result, failed why there is none (empty where it was cancelled).

        Neither is called once the dialog was closed.
        """

        def done(result: T) -> None:
            if not self._closed:
                self._end()
                then(result)

        def gone(error: Exception) -> None:
            if not self._closed:
                self._end()
                failed("" if isinstance(error, Cancelled) else str(error))

        self.bar.setValue(0)
        self.doing.setText("Starting")
        self._task = request(on_progress=self._on_progress, then=done, failed=gone)
        self._show_running(True)

    def push(self, text: str, does: Callable[[], object]) -> QPushButton:
        """Add a button that leaves the dialog open."""
        button = QPushButton(text)
        button.setFont(self._theme.font(13))
        button.setAutoDefault(False)
        button.clicked.connect(lambda _checked: does())
        self._row.addWidget(button)
        self._buttons[text] = button
        return button

    def fit(self) -> None:
        """Grow until all text is seen; the layout alone does not count wrapped lines."""
        self.resize(self.width(), max(self.height(), self.needed_height()))
        if self.isVisible():
            self.keep_on_screen()

    def cancel(self) -> None:
        """Stop what runs; everything stays as it was."""
        if self._task is not None:
            self._task.cancel()
            self.doing.setText("Cancelling")

    def _close(self, _result: int) -> None:
        """Stop what runs; its answer comes when the widgets are gone."""
        self.cancel()
        self._closed = True

    def _on_progress(self, told: ProgressReport) -> None:
        if not self._closed and self._task is not None and not self._task.is_cancelled:
            self.bar.setValue(round(100 * told.fraction))
            self.doing.setText(told.what)

    def _end(self) -> None:
        self._task = None
        self._show_running(False)

    def _show_running(self, running: bool) -> None:
        self.bar.setVisible(running)
        self.doing.setVisible(running)
