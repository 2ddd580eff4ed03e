"""How Qt finds what a screen reader is told of a widget that paints its own things."""

from __future__ import annotations

from collections.abc import Callable
from typing import Generic, TypeVar

from PySide6.QtCore import QObject
from PySide6.QtGui import QAccessible, QAccessibleInterface
from PySide6.QtWidgets import QWidget

W = TypeVar("W", bound=QWidget)
P = TypeVar("P", bound=QAccessibleInterface)


class ReadableWidgets(Generic[W, P]):
    """The accessible parts of the widgets of one kind that a screen reader has asked for.

    A part goes with its widget; for one widget there is one part, as Qt compares them.
    """

    def __init__(self, make: Callable[[W], P]) -> None:
        """Begin without parts; make: makes the part of a widget."""
        self._make = make
        self._parts: dict[int, P] = {}
        self._is_installed = False

    def part_of(self, widget: W) -> P:
        """Return the part that stands for a widget."""
        key = id(widget)
        if key not in self._parts:
            self._parts[key] = self._make(widget)
            widget.destroyed.connect(lambda: self._parts.pop(key, None))
        return self._parts[key]

    def install(self, kind: type[W]) -> None:
        """Let Qt know how widgets of a class are read; done once for a program."""

        def factory(_class_name: str, widget: QObject | None) -> QAccessibleInterface | None:
            return self.part_of(widget) if isinstance(widget, kind) else None

        if not self._is_installed:
            self._is_installed = True
            QAccessible.installFactory(factory)
