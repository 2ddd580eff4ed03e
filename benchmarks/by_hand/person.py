"""Hands and eyes: real events through the X server, each counted as an operator of the keystroke-level model.

xdotool sends the events; nothing of the program is called but to see where something is and whether what was
done has happened. There is no window manager under a bare X server: a dialog that opened is made active.
"""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable, Sequence

from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QApplication, QWidget

from benchmarks.by_hand.keystrokes import KeystrokeCount

QUIET_S = 0.03
"""So long nothing must have happened before the next act."""

LONGEST_S = 120.0
"""Longer than this nothing is waited for."""


class HandsError(AssertionError):
    """What should have happened did not."""


class Person:
    """Somebody who knows the program, with one hand for the mouse."""

    def __init__(self, app: QApplication, window: QWidget) -> None:
        """Sit down before the window of an application, the hands on the keys."""
        self._app, self._window = app, window
        self._on_mouse = False
        self.count = KeystrokeCount()

    # What is done

    def think(self) -> None:
        """Prepare for what comes next."""
        self.count.add("M")

    def click(self, at: QWidget | QRect, *, keys: Sequence[str] = (), double: bool = False) -> None:
        """Click in the middle of a widget, or of a rectangle of the screen; keys are held meanwhile."""
        rect = at if isinstance(at, QRect) else on_screen(at)
        self._take_mouse(True)
        self.count.add("P")
        self.count.add("B", 4 if double else 2)
        self.count.add("K", len(keys))
        place = rect.center()
        act = ["mousemove", str(place.x()), str(place.y())]
        act += [part for key in keys for part in ("keydown", key)]
        act += ["click", "--repeat", "2", "--delay", "60", "1"] if double else ["click", "1"]
        act += [part for key in keys for part in ("keyup", key)]
        self._send(act)

    def type(self, text: str) -> None:
        """Type a text; capitals and signs above the digits take Shift too."""
        self._take_mouse(False)
        self.count.add("K", sum(2 if one.isupper() or one in '~!@#$%^&*()_+{}|:"<>?' else 1 for one in text))
        self._send(["type", "--delay", "4", text])

    def press(self, *keys: str, times: int = 1) -> None:
        """Press keys one after the other, as X calls them ("Return", "ctrl+v"); all of it some times."""
        self._take_mouse(False)
        self.count.add("K", times * sum(len(key.split("+")) for key in keys))
        self._send(["key", "--delay", "4", *(keys * times)])

    # What is seen

    def wait(self, happened: Callable[[], object], what: str) -> None:
        """Wait until something has happened; the time counts. Raises HandsError where it never does."""
        start = time.monotonic()
        while not happened():
            self._app.processEvents()
            if time.monotonic() - start > LONGEST_S:
                raise HandsError(f"{what}: not within {LONGEST_S:.0f} s")
            time.sleep(0.002)
        self.count.waited_s += time.monotonic() - start
        self._settle()

    # Inside

    def _take_mouse(self, wanted: bool) -> None:
        if wanted != self._on_mouse:
            self.count.add("H")
            self._on_mouse = wanted

    def _send(self, act: Sequence[str]) -> None:
        """Send events, and let the program deal with them; only its own work counts as waiting."""
        self._activate()
        sender = subprocess.Popen(["xdotool", *act])
        while sender.poll() is None:
            self._app.processEvents()
            time.sleep(0.001)
        if sender.returncode:
            raise HandsError(f"xdotool {' '.join(act)}: exit {sender.returncode}")
        start = time.monotonic()
        self._settle()
        self.count.waited_s += max(0.0, time.monotonic() - start - QUIET_S)

    def _settle(self) -> None:
        """Let the window do what it has to do, until it has been quiet for a moment."""
        quiet = time.monotonic()
        while time.monotonic() - quiet < QUIET_S:
            before = time.monotonic()
            self._app.processEvents()
            if time.monotonic() - before > 0.004:
                quiet = time.monotonic()
            time.sleep(0.001)

    def _activate(self) -> None:
        """Do what a window manager does: give the keys to the dialog that opened last, else to the window."""
        if self._app.activePopupWidget() is not None:
            return  # a menu has taken the keys by itself
        top = self._app.activeModalWidget() or self._window
        if not top.isActiveWindow():
            top.activateWindow()
            self._settle()


def on_screen(widget: QWidget) -> QRect:
    """Return where a widget is on the screen. Raises HandsError where it is not to be seen."""
    if not widget.isVisible() or widget.visibleRegion().isEmpty():
        name = widget.accessibleName() or widget.objectName() or type(widget).__name__
        raise HandsError(f"{name} is not to be seen")
    shown = widget.visibleRegion().boundingRect()
    return QRect(widget.mapToGlobal(shown.topLeft()), shown.size())


def beside(rect: QRect, right: int, down: int) -> QRect:
    """Return a small rectangle that is so far from the upper left corner of another, px."""
    return QRect(rect.topLeft() + QPoint(right - 2, down - 2), QRect(0, 0, 4, 4).size())
