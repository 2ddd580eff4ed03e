"""How Qt finds what a screen reader is told of a widget that paints its own things.

Such a widget is a *whole* with *parts*; a part has a sentence as its name, a place on the screen and a state.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Generic, TypeVar

from PySide6.QtCore import QObject, QPoint, QRect
from PySide6.QtGui import QAccessible, QAccessibleInterface, QWindow
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

W = TypeVar("W", bound=QWidget)
P = TypeVar("P", bound=QAccessibleInterface)

Text = QAccessible.Text


class ReadablePart(QAccessibleInterface):
    """A part of a widget; `area` is the widget. A part has no parts and no object unless it says so."""

    def __init__(self, area: QAbstractScrollArea) -> None:
        """Be a part of a widget."""
        super().__init__()
        self.area = area

    @property
    def parts(self) -> Sequence[QAccessibleInterface]:
        """The parts of this part."""
        return ()

    def object(self) -> QObject | None:  # type: ignore[override]
        """Return the object behind it: only the whole has one."""
        return None

    def window(self) -> QWindow | None:  # type: ignore[override]
        """Return the window in which it is."""
        return self.area.window().windowHandle()

    def childCount(self) -> int:
        """Count its parts."""
        return len(self.parts)

    def child(self, index: int) -> QAccessibleInterface | None:  # type: ignore[override]
        """Return a part; None if there is none."""
        parts = self.parts
        return parts[index] if 0 <= index < len(parts) else None

    def indexOfChild(self, child: QAccessibleInterface) -> int:
        """Return the place of a part; -1 if it is none."""
        return next((index for index, part in enumerate(self.parts) if part is child), -1)

    def childAt(self, x: int, y: int) -> QAccessibleInterface | None:  # type: ignore[override]
        """Return the part at a place of the screen."""
        return next((part for part in self.parts if part.rect().contains(x, y)), None)

    def setText(self, kind: QAccessible.Text, text: str) -> None:
        """Nothing here is typed."""

    def on_screen(self, place: QRect) -> QRect:
        """Return what is seen of a place in the viewport, on the screen."""
        view = self.area.viewport()
        corner = view.mapToGlobal(QPoint(0, 0))
        return QRect(corner, view.size()).intersected(place.translated(corner))


class ReadableWhole(ReadablePart):
    """The whole widget, with its own name and description."""

    def object(self) -> QObject:
        """Return the widget."""
        return self.area

    def isValid(self) -> bool:
        """Whether the widget is there."""
        return True

    def parent(self) -> QAccessibleInterface | None:  # type: ignore[override]
        """Return what holds the widget; None for a window of its own."""
        holder = self.area.parentWidget()
        return None if holder is None else QAccessible.queryAccessibleInterface(holder)

    def text(self, kind: QAccessible.Text) -> str:
        """Return name and description of the widget."""
        if kind == Text.Name:
            return self.area.accessibleName()
        return self.area.accessibleDescription() if kind == Text.Description else ""

    def rect(self) -> QRect:
        """Return the viewport's place on the screen."""
        return self.on_screen(self.area.viewport().rect())

    def state(self) -> QAccessible.State:
        """Return that it takes the focus, and whether it has it."""
        state = QAccessible.State()
        state.focusable = True
        state.focused = self.area.hasFocus()
        return state


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
