"""Play: the shaft runs at the machine's speed, or at a part of it (`rate`).

The clock is an argument. Between two ticks the cursor goes on by 6 degrees a second for each turn a
minute; with *reduce motion* it goes from step to step, one step a second.

How often it ticks follows what a tick costs, all painting included: play takes at most a fifth of one
processor, so that a large machine turns in fewer frames and neither heats a laptop nor slows what else runs.
"""

from __future__ import annotations

import time
from bisect import bisect_right
from collections.abc import Callable

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from shaftscore.base.angles import TURN, wrap
from shaftscore_app.document import Document

LEAST_MS, MOST_MS = 33, 100
"""Least and longest time between two ticks: at the usual speeds a cursor goes a pixel or two in the least."""

SHARE = 0.2
"""Play works so great a part of the time at most, as long as that leaves it a tick in MOST_MS."""

FLUTTER = 0.1
"""A pace that differs by less is kept: starting the timer again would delay its tick."""

STEP_S = 1.0
"""With reduced motion play stands this long at each step."""


RATES = (
    ("As the machine", 1.0),
    ("Half as fast", 0.5),
    ("A quarter", 0.25),
    ("A tenth", 0.1),
    ("A fiftieth", 0.02),
)
"""How fast play may be, as parts of the machine's speed."""


def next_step_deg(starts: tuple[float, ...], deg: float) -> float:
    """Return the first step start after `deg`, round the turn."""
    index = bisect_right(starts, deg + 1e-9)
    return starts[index] if index < len(starts) else starts[0]


def previous_step_deg(starts: tuple[float, ...], deg: float) -> float:
    """Return the last step start before `deg`, round the turn."""
    before = [start for start in starts if start < deg - 1e-9]
    return before[-1] if before else starts[-1]


class Player(QObject):
    """Turns the cursor of a document.

    Signals: playing_changed(playing).
    """

    playing_changed = Signal(bool)

    def __init__(
        self,
        document: Document,
        clock: Callable[[], float] = time.monotonic,
        parent: QObject | None = None,
        *,
        work: Callable[[], float] = time.thread_time,
    ) -> None:
        """Stand still at first. clock gives seconds, work those that the window's thread has worked."""
        super().__init__(parent)
        self._document = document
        self._clock, self._work = clock, work
        self._last = self._worked = 0.0
        self.reduce_motion = False
        self.rate = 1.0
        self._timer = QTimer(self)
        self._timer.setTimerType(Qt.TimerType.PreciseTimer)
        self._timer.timeout.connect(self.tick)

    @property
    def tick_ms(self) -> int:
        """Time between two ticks, ms."""
        return self._timer.interval()

    @property
    def is_playing(self) -> bool:
        """Whether the shaft runs."""
        return self._timer.isActive()

    def toggle(self) -> None:
        """Play or pause."""
        if self.is_playing:
            self.pause()
            return
        self._last, self._worked = self._clock(), self._work()
        self._timer.start(LEAST_MS)
        self.playing_changed.emit(True)

    def pause(self) -> None:
        """Stand still."""
        if self.is_playing:
            self._timer.stop()
            self.playing_changed.emit(False)

    def tick(self) -> None:
        """Bring the cursor to where the shaft is by now."""
        self._keep_pace()
        now = self._clock()
        passed = now - self._last
        if self.reduce_motion:
            if passed * self.rate >= STEP_S:
                self._last = now
                self.step_forward()
            return
        self._last = now
        speed = self.rate * 6.0 * self._document.project.shaft.speed_rpm
        on = self._document.cursor_deg + speed * passed
        if on >= TURN:
            self._document.set_cycle(self._document.cycle + int(on // TURN))
        self._document.set_cursor(wrap(on))

    def _keep_pace(self) -> None:
        """Let the next tick come when this one's share of the time is over; what it cost is known by then."""
        before, self._worked = self._worked, self._work()
        cost_ms = 1000.0 * (self._worked - before)
        pace_ms = round(min(max(LEAST_MS, cost_ms / SHARE), MOST_MS))
        if abs(pace_ms - self.tick_ms) > FLUTTER * self.tick_ms:
            self._timer.setInterval(pace_ms)

    def step_forward(self) -> None:
        """Go to the next step of the machine."""
        starts = self._document.project.shaft.step_starts_deg
        self._document.set_cursor(next_step_deg(starts, self._document.cursor_deg))

    def step_back(self) -> None:
        """Go to the step before."""
        starts = self._document.project.shaft.step_starts_deg
        self._document.set_cursor(previous_step_deg(starts, self._document.cursor_deg))
