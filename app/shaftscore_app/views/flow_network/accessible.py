"""What screen readers find in the network: banks and elements, each with its sentence.

Qt asks a *factory* for the interface of a widget when a screen reader first asks for it; interfaces are made
once and kept, so that a reader meets the same objects again; one whose element is gone says that it is not
valid.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect
from PySide6.QtGui import QAccessible, QAccessibleInterface

from shaftscore.judge.flow.drawn import ElementKey
from shaftscore_app.views.flow_network.paths import bank_stop, box_of, is_bank
from shaftscore_app.views.flow_network.session import said_bank
from shaftscore_app.widgets.readable import ReadablePart, ReadableWhole, ReadableWidgets

if TYPE_CHECKING:
    from shaftscore_app.views.flow_network.canvas import NetworkCanvas

Text, Role = QAccessible.Text, QAccessible.Role


class NetworkPart(ReadablePart):
    """An element of the network, or the heading of a bank."""

    def __init__(self, canvas: NetworkCanvas, stop: ElementKey) -> None:
        """Stand for a stop of the keys."""
        super().__init__(canvas)
        self.canvas, self.stop = canvas, stop

    def isValid(self) -> bool:
        """Whether it is drawn."""
        return box_of(self.canvas.places, self.stop) is not None

    def parent(self) -> QAccessibleInterface:
        """Return the network."""
        return network_part_of(self.canvas)

    def role(self) -> QAccessible.Role:
        """Return the role: a heading of a bank is a button, an element an item."""
        return Role.Button if is_bank(self.stop) else Role.ListItem

    def text(self, kind: QAccessible.Text) -> str:
        """Return the sentence that is read."""
        if kind != Text.Name or not self.isValid():
            return ""
        if is_bank(self.stop):
            return said_bank(self.canvas.session, self.stop[1])
        return self.canvas.places.shown.by_key[self.stop].spoken

    def rect(self) -> QRect:
        """Return its place on the screen."""
        box = box_of(self.canvas.places, self.stop)
        if box is None:
            return QRect()
        place = QRect(round(box.left), round(box.top), round(box.width), round(box.height))
        return self.on_screen(place.translated(-self.canvas.origin))

    def state(self) -> QAccessible.State:
        """Return whether it can be and is selected, and whether it is seen."""
        state, session = QAccessible.State(), self.canvas.session
        state.selectable = not is_bank(self.stop)
        state.focusable = True
        state.selected = any(session.shown_for(key) == self.stop for key in session.selected)
        state.focused = self.stop == session.current and self.canvas.hasFocus()
        state.expandable = is_bank(self.stop)
        state.expanded = is_bank(self.stop) and self.stop[1] in session.open_banks
        state.offscreen = self.rect().isEmpty()
        return state


class NetworkCanvasPart(ReadableWhole):
    """The whole network."""

    def __init__(self, canvas: NetworkCanvas) -> None:
        """Stand for a canvas."""
        super().__init__(canvas)
        self.canvas = canvas
        self._known: dict[ElementKey, NetworkPart] = {}

    def part(self, stop: ElementKey) -> NetworkPart:
        """Return the part of a stop."""
        return self._known.setdefault(stop, NetworkPart(self.canvas, stop))

    @property
    def parts(self) -> list[NetworkPart]:
        """Headings of banks, then all elements by column."""
        places = self.canvas.places
        stops = [bank_stop(key) for key in places.banks]
        stops += [key for _, keys in sorted(places.by_column.items()) for key in keys]
        return [self.part(stop) for stop in stops]

    def focusChild(self) -> QAccessibleInterface | None:  # type: ignore[override]
        """Return the part at which the keys are."""
        current = self.canvas.session.current
        return None if current is None else self.part(current)

    def role(self) -> QAccessible.Role:
        """Return the role of a list."""
        return Role.List


_READABLE: ReadableWidgets[NetworkCanvas, NetworkCanvasPart] = ReadableWidgets(NetworkCanvasPart)


def network_part_of(canvas: NetworkCanvas) -> NetworkCanvasPart:
    """Return the part that stands for a canvas."""
    return _READABLE.part_of(canvas)


def make_network_readable(kind: type[NetworkCanvas]) -> None:
    """Let Qt know how canvases of a class are read; done once for a program."""
    _READABLE.install(kind)
