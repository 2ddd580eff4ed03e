"""What each key does in the network."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QKeyEvent, QKeySequence

from shaftscore.judge.flow.drawn import ElementKey
from shaftscore_app.views.flow_network.paths import (
    along_column,
    bank_stop,
    beside,
    box_of,
    first_stop,
    is_bank,
)
from shaftscore_app.views.flow_network.session import NetworkSession

if TYPE_CHECKING:
    from shaftscore_app.views.flow_network.canvas import NetworkCanvas

Keys = Qt.Key
ARROWS = (Keys.Key_Left, Keys.Key_Right, Keys.Key_Up, Keys.Key_Down)
NONE, SHIFT = Qt.KeyboardModifier.NoModifier, Qt.KeyboardModifier.ShiftModifier
CTRL = Qt.KeyboardModifier.ControlModifier

Action = Callable[[], object]


class NetworkKeys:
    """The keys of a canvas."""

    def __init__(self, canvas: NetworkCanvas, session: NetworkSession) -> None:
        """Act on a canvas and its session."""
        self._canvas, self._session = canvas, session

    def action(self, event: QKeyEvent) -> Action | None:
        """Return what a key does; None where it does nothing here."""
        key, joining = Keys(event.key()), self._canvas.joining
        mods = event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if joining.by_keys and joining.line is not None:
            return partial(joining.press, key) if mods == NONE else None
        if key in ARROWS and mods in (NONE, SHIFT):
            return partial(self._go, key, adds=mods == SHIFT)
        if key == Keys.Key_Escape and mods == NONE:
            return self._escape if self._canvas.is_busy or self._session.selected else None
        if event.matches(QKeySequence.StandardKey.SelectAll):
            return lambda: self._session.select(self._canvas.places.boxes)
        return self._plain().get((key, mods))

    def _plain(self) -> dict[tuple[Qt.Key, Qt.KeyboardModifier], Action]:
        canvas = self._canvas
        return {
            (Keys.Key_Return, NONE): self._enter,
            (Keys.Key_Enter, NONE): self._enter,
            (Keys.Key_F2, NONE): self._rename,
            (Keys.Key_C, NONE): lambda: canvas.joining.begin_by_keys(self._session.current),
            (Keys.Key_Insert, NONE): self._add,
            (Keys.Key_Delete, NONE): canvas.remove_wanted.emit,
            (Keys.Key_D, CTRL): canvas.duplicate_wanted.emit,
            (Keys.Key_E, CTRL | SHIFT): canvas.gates_wanted.emit,
            (Keys.Key_Home, NONE): lambda: self._arrive(first_stop(canvas.places)),
        }

    def _go(self, key: Qt.Key, *, adds: bool) -> None:
        """Go by an arrow."""
        session, places = self._session, self._canvas.places
        current = session.current
        if current is None or box_of(places, current) is None:
            self._arrive(first_stop(places))
            return
        sideways, onward = key in (Keys.Key_Left, Keys.Key_Right), key in (Keys.Key_Right, Keys.Key_Down)
        if is_bank(current) and sideways:
            self._fold(current[1], is_open=onward)
            return
        if not is_bank(current):
            session.column = places.shown.by_key[current].column
        if sideways:
            self._arrive(beside(places, current, right=onward), adds=adds)
        else:
            self._arrive(along_column(places, current, 1 if onward else -1, session.column), adds=adds)

    def _fold(self, bank: str, *, is_open: bool) -> None:
        """Open or fold a bank; Right on one that is open goes into it."""
        session, stop = self._session, bank_stop(bank)
        if not session.set_open(bank, is_open=is_open) and is_open:
            self._arrive(along_column(self._canvas.places, stop, 1, session.column))

    def _arrive(self, stop: ElementKey | None, *, adds: bool = False) -> None:
        """Go to a stop and select it; adds: to what is selected."""
        if stop is None:
            return
        if is_bank(stop):
            self._session.go(stop)
        else:
            self._session.select([*self._session.selected, stop] if adds else [stop], current=stop)
        self._canvas.see(stop)

    def _escape(self) -> None:
        if not self._canvas.cancel():
            self._session.select([])

    def _enter(self) -> None:
        """Go to the first field of what is selected; a pile opens, a bank opens or folds."""
        current = self._session.current
        if current is not None and is_bank(current):
            self._canvas.toggle_bank(current[1])
        elif self._session.pile(current) is not None:
            self.open_pile(current)
        elif self._session.selected:
            self._canvas.entered.emit()

    def open_pile(self, key: ElementKey | None) -> None:
        """Open the bank of a pile, or its list where there are too many gates."""
        pile, canvas = self._session.pile(key), self._canvas
        if pile is None or pile.bank is None:
            return
        if self._session.may_unfold:
            self._session.set_open(pile.bank, is_open=True)
            self._arrive(pile.gates[0])
            return
        box = canvas.places.boxes[pile.key]
        corner = QPoint(round(box.left), round(box.bottom)) - canvas.origin
        canvas.pile_wanted.emit(pile.key, canvas.viewport().mapToGlobal(corner))

    def _rename(self) -> None:
        current = self._session.current
        if current is not None and not is_bank(current) and self._session.pile(current) is None:
            self._canvas.begin_name(current)

    def _add(self) -> None:
        """Add in the column in which the keys are."""
        current = self._session.current
        element = None if current is None else self._canvas.places.shown.by_key.get(current)
        self._canvas.add_wanted.emit(0 if element is None else element.column)
