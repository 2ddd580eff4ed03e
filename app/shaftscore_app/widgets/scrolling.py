"""The scroll area of what is higher than its place."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QFrame, QScrollArea, QWidget

from shaftscore_app.runtime.turns import Later


def upright_scroll(inner: QWidget) -> QScrollArea:
    """Return an area in which a widget scrolls up and down; sideways only where it is too wide."""
    scroll = QScrollArea()
    scroll.setFrameShape(QFrame.Shape.NoFrame)
    scroll.setWidgetResizable(True)
    scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    scroll.setWidget(inner)
    return scroll


def bring_into_view(widget: QWidget) -> None:
    """Scroll every area around a widget so that all of it is seen, as far as it fits.

    What was only just shown is laid out first: that takes a turn of the event loop.
    """
    Later(widget, partial(_scroll_to, widget), 2).ask()


def _scroll_to(widget: QWidget) -> None:
    areas: list[QScrollArea] = []
    parent = widget.parentWidget()
    while parent is not None:
        areas += [parent] if isinstance(parent, QScrollArea) else []
        parent = parent.parentWidget()
    for area in areas:
        area.ensureWidgetVisible(widget)
