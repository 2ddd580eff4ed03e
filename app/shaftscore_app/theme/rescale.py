"""Bringing what is already open to another size of the text."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QComboBox,
    QGridLayout,
    QLayout,
    QLineEdit,
    QProgressBar,
    QScrollBar,
    QSlider,
    QWidget,
)

LIMITLESS = 16777215
"""Greatest size of a widget that nobody limited, px: Qt's own."""


SHEETED = (QAbstractButton, QAbstractSpinBox, QComboBox, QLineEdit, QProgressBar, QScrollBar, QSlider)
"""Widgets whose limits the style sheet says."""


def rescale(window: QWidget, by: float) -> None:
    """Bring fonts, gaps and fixed sizes of everything in a window to `by` times their size.

    Fonts that widgets do not have of their own, and what the style sheet says, come from the theme anyway.
    """
    for part in window.findChildren(QWidget):
        if not isinstance(part, SHEETED):
            _limits(part, by)
    for part in (window, *window.findChildren(QWidget)):
        if part.testAttribute(Qt.WidgetAttribute.WA_SetFont) and part.font().pixelSize() > 0:
            font = part.font()
            font.setPixelSize(max(1, round(font.pixelSize() * by)))
            part.setFont(font)
        if isinstance(part, QAbstractButton):
            part.setIconSize(part.iconSize() * by)
    for layout in window.findChildren(QLayout):
        _gaps(layout, by)
    size = (window.size() * by).boundedTo(window.screen().availableSize())
    window.setMinimumWidth(round(window.minimumWidth() * by))
    window.resize(size)


def _limits(part: QWidget, by: float) -> None:
    least, most = part.minimumSize(), part.maximumSize()
    if most.width() < LIMITLESS:
        part.setMaximumWidth(round(most.width() * by))
    if most.height() < LIMITLESS:
        part.setMaximumHeight(round(most.height() * by))
    if least.width():
        part.setMinimumWidth(round(least.width() * by))
    if least.height():
        part.setMinimumHeight(round(least.height() * by))


def _gaps(layout: QLayout, by: float) -> None:
    edges = layout.contentsMargins()
    sides = (edges.left(), edges.top(), edges.right(), edges.bottom())
    layout.setContentsMargins(*(round(side * by) for side in sides))
    if isinstance(layout, QGridLayout):
        layout.setHorizontalSpacing(round(layout.horizontalSpacing() * by))
        layout.setVerticalSpacing(round(layout.verticalSpacing() * by))
    elif layout.spacing() > 0:
        layout.setSpacing(round(layout.spacing() * by))
