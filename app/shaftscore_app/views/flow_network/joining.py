"""The course of joining a port to an element, by mouse or by keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, Qt, Signal

from shaftscore.judge.flow.drawn import ElementKey
from shaftscore_app.views.flow_network.painting import JoinDrag
from shaftscore_app.views.flow_network.paths import in_turn
from shaftscore_app.views.flow_network.places import NetworkPlaces
from shaftscore_app.views.flow_network.ports import Port, ports_of
from shaftscore_app.views.flow_network.routes import Spot

Keys = Qt.Key


class Joining(QObject):
    """A line that is being drawn, or none (`line`); `fitting` returns what a line from a port may end at.

    Signals: joined(port, key); at(key) when the keys have chosen what it may end at; said(sentence).
    """

    joined = Signal(object, object)
    at = Signal(object)
    said = Signal(str)

    def __init__(self, places: Callable[[], NetworkPlaces], holder: QObject) -> None:
        """Draw no line; places: returns where everything is."""
        super().__init__(holder)
        self._places = places
        self.fitting: Callable[[Port], frozenset[ElementKey]] = lambda _port: frozenset()
        self.line: JoinDrag | None = None
        self.by_keys = False

    def begin(self, port: Port, at: Spot, *, by_keys: bool = False) -> None:
        """Begin a line at a port; at: where its loose end is."""
        self.by_keys = by_keys
        self.line = JoinDrag(port, port.spot, at, self.fitting(port))

    def begin_by_keys(self, key: ElementKey | None) -> None:
        """Begin a line at an element's first port; where it has begun there, at its next port."""
        ports = ports_of(self._places(), key) if key is not None else ()
        if not ports:
            self.said.emit("Nothing can be connected here.")
            return
        now = self.line.port if self.by_keys and self.line is not None else None
        port = ports[(ports.index(now) + 1) % len(ports)] if now in ports else ports[0]
        self.begin(port, port.spot, by_keys=True)
        self.choose(1)
        if self.line is not None and self.line.target is None:
            self.said.emit("There is nothing that it can be connected to.")

    def follow(self, spot: Spot) -> None:
        """Take the loose end to a place."""
        if self.line is not None:
            target = self._places().element_at(*spot)
            fits = target if target in self.line.fitting else None
            self.line = replace(self.line, at=spot, target=fits)

    def choose(self, by: int) -> None:
        """Choose the next or previous element that the line may end at."""
        places, line = self._places(), self.line
        target = None if line is None else in_turn(places, line.fitting, line.target, by)
        if line is None or target is None:
            return
        box = places.boxes[target]
        at = (box.left if line.port.side == "out" else box.right, box.middle)
        self.line = replace(line, target=target, at=at)
        self.at.emit(target)
        self.said.emit(f"Connect to {places.shown.by_key[target].name}")

    def press(self, key: Qt.Key) -> None:
        """Do what a key means while a line is drawn by keys."""
        line = self.line
        steps = {Keys.Key_Right: 1, Keys.Key_Down: 1, Keys.Key_Left: -1, Keys.Key_Up: -1}
        if key in steps:
            self.choose(steps[key])
        elif key == Keys.Key_C and line is not None:
            self.begin_by_keys(line.port.key)
        elif key == Keys.Key_Escape:
            self.cancel()
        elif key in (Keys.Key_Return, Keys.Key_Enter) and line is not None:
            self.cancel()
            if line.target is not None:
                self.joined.emit(line.port, line.target)

    def cancel(self) -> bool:
        """Draw no line any more; returns whether there was one."""
        was, self.line, self.by_keys = self.line is not None, None, False
        return was
