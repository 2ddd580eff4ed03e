"""The views of the table, each made when it is first asked for, and what waits for it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from functools import partial
from typing import Any, TypeAlias

from PySide6.QtWidgets import QWidget

from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.views.table import VIEWS

LateView: TypeAlias = Any
"""A view by its name: Any, since no checker knows which class a row of the table makes."""


class LateViews:
    """The views that are made so far, by name."""

    def __init__(self, document: Document, theme: Theme, jobs: Jobs) -> None:
        """Know how to make each view of the table."""
        self._to_make = {row.name: partial(row.make, document, theme, jobs) for row in VIEWS}
        self._made: dict[str, QWidget] = {}
        self._waiting = defaultdict[str, list[Callable[[LateView], object]]](list)

    def is_made(self, name: str) -> bool:
        """Return whether a view was made."""
        return name in self._made

    def make(self, name: str) -> QWidget:
        """Make a view that was not made yet; nothing hears of it before `announce`."""
        view = self._made[name] = self._to_make.pop(name)()
        return view

    def when_made(self, name: str, then: Callable[[LateView], object]) -> None:
        """Call `then` with a view: at once if it was made, else by `announce`."""
        if self.is_made(name):
            then(self._made[name])
        else:
            self._waiting[name].append(then)

    def announce(self, name: str) -> None:
        """Call what waits for a view, which was made."""
        for then in self._waiting.pop(name, ()):
            then(self._made[name])
