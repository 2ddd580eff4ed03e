"""The beginning of views that work only while they are in front."""

from __future__ import annotations

from abc import abstractmethod

from PySide6.QtWidgets import QWidget

from shaftscore_app.widgets.abstract import AbstractWidgetType


class TabbedView(QWidget, metaclass=AbstractWidgetType):
    """A view that costs nothing behind a tab: it is brought up to date when it is seen, and while it is."""

    def __init__(self) -> None:
        super().__init__()
        self._is_seen = False

    def set_seen(self, seen: bool) -> None:
        """Set whether the view is in front."""
        self._is_seen = seen
        self.refresh()

    def refresh(self) -> None:
        """Show the document as it is now; does nothing while the view is not seen."""
        if self._is_seen:
            self._show_now()

    @abstractmethod
    def _show_now(self) -> None:
        """Show the document as it is now; each view does it its own way."""
        ...
