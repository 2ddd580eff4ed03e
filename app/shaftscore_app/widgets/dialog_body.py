"""The middle of a dialog: it scrolls where the screen has no room for all of it, and only there."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import QEvent, QSize, Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from shaftscore_app.runtime.watching import EventWatch

FRAME = QSize(8, 40)
"""Room that the system's frame and title bar of a dialog may take, px."""


def room_of(widget: QWidget) -> QSize:
    """Return the size that a dialog may have on the screen of a widget, px."""
    return widget.screen().availableSize() - FRAME


class DialogBody(QScrollArea):
    """The area; it asks for the size of what is in it, as far as the screen has room."""

    def __init__(self, inner: QWidget, others: Callable[[int], QSize]) -> None:
        """Scroll `inner`; others: what the rest of the dialog takes where this is so wide, px."""
        super().__init__()
        self._inner, self._others = inner, others
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidget(inner)
        inner.setAutoFillBackground(False)
        self.viewport().setAutoFillBackground(False)
        EventWatch(self, self._on_event)

    def sizeHint(self) -> QSize:
        """Return the size of what is in it, bounded by the screen."""
        return self._bounded(self._inner.sizeHint())

    def minimumSizeHint(self) -> QSize:
        """Return the least size of what is in it, bounded by the screen."""
        return self._bounded(self._inner.minimumSizeHint())

    def hasHeightForWidth(self) -> bool:
        """Return whether its height depends on its width, as that of wrapped text does."""
        return self._inner.hasHeightForWidth()

    def heightForWidth(self, width: int) -> int:
        """Return the height at a width, bounded by the screen, px."""
        return min(self._inner.heightForWidth(width), self._room(width).height())

    def _on_event(self, event: QEvent) -> bool:
        """Ask for another size when what is in it does."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return False

    def _bounded(self, wanted: QSize) -> QSize:
        room = self._room(wanted.width())
        if wanted.height() > room.height():  # beside the bar that scrolls it
            wanted = wanted + QSize(self.verticalScrollBar().sizeHint().width(), 0)
        return wanted.boundedTo(room)

    def _room(self, width: int) -> QSize:
        return room_of(self) - self._others(width)
