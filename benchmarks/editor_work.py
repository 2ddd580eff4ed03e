"""What the open editor costs with all views open: playing, for a nudge, and while nobody does anything.

Opens the whole editor in a real window, shows every view (of those that share a place one is in
front; `--spread` puts none behind another), and measures processor time of the whole process, all threads:

- played: per second while the shaft turns at the machine's speed
- nudge: from a key that moves the selected block until everything is up to date and painted, findings that
  come late included
- idle: per second while nothing is done; with it how often timers fired and by how much memory grew

    xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" python -m benchmarks.editor_work [--profile WHAT]
"""

from __future__ import annotations

import argparse
import cProfile
import gc
import json
import os
import pstats
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TypeVar

from PySide6.QtCore import QEvent, QEventLoop, QObject, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from benchmarks import as_command  # noqa: F401 - before the modules of the window
from shaftscore.base.samples import sample_folder
from shaftscore.edits import BlockRef
from shaftscore.model.saved import saved_form
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime import memory
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.preload import load_beside
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme

Found = TypeVar("Found")

WARM_S, PLAYED_S, IDLE_S = 1.0, 5.0, 5.0
NUDGES = 8
MOST_S = 60.0
POLL_S = 0.02
STILL_S = 0.4
"""Everything is up to date once nothing was done for so long: rests and late parts wait for less."""

WHAT = ("play", "nudge", "idle")
LANES_12 = "12_lanes_with_flow"
"""A machine that no sample is: 12 lanes, drawn at random, with magazines and gates."""


@dataclass(frozen=True)
class EditorWork:
    """What was measured: seconds of processor time (a second, or a nudge), MiB, timers' events a second.

    opened_mib: at rest, with the file open in the usual arrangement. mib: after everything, all views open.
    """

    sample: str
    in_front: int
    play: float
    play_frames: float
    nudge: float
    nudge_least: float
    nudge_clock: float
    nudge_window: float
    idle: float
    idle_timers: float
    idle_grown_mib: float
    opened_mib: float
    mib: float


class TimerCount(QObject):
    """Counts the events of timers in the whole program."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self.count = 0
        app.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002 - Qt's signature
        """Count, and let everything pass."""
        self.count += event.type() == QEvent.Type.Timer
        return False


class OpenEditor:
    """The whole editor on a display, with every view open."""

    def __init__(self, app: QApplication, folder: Path, sample: str, *, spread: bool) -> None:
        self.app, self.sample = app, sample
        self.theme, self.jobs = Theme(app, "light"), Jobs()
        self.document = Document(jobs=self.jobs)
        settings, store = Settings(folder / "settings.json"), PersonStore(folder / "data")
        self.window = MainWindow(self.document, self.theme, settings, self.jobs, store=store)
        self.window.resize(1900, 1150)
        self.window.show()
        memory.settle()
        memory.give_back()
        load_beside(self.jobs)
        path = folder / f"{sample}.shaft"
        path.write_bytes(bytes_of(sample))
        self.window.groups.files.open(path)
        self.rest()
        memory.give_back()  # as the window does some seconds later
        self.opened_mib = resident_mib()
        for name in self.window.docks.names():
            self.window.docks[name].show()
        self.rest()
        if spread:
            self._spread()
        self.rest()

    def _spread(self) -> None:
        """Put every view into a window of its own, side by side: none stands behind a tab."""
        for number, name in enumerate(self.window.docks.names()):
            dock = self.window.docks[name]
            dock.setFloating(True)
            dock.resize(380, 340)
            dock.move(20 + 385 * (number % 5), 20 + 370 * (number // 5))

    @property
    def in_front(self) -> int:
        """How many views are not behind a tab."""
        docks = (self.window.docks[name] for name in self.window.docks.names())
        return sum(not dock.widget().visibleRegion().isEmpty() for dock in docks)

    def turn_events(self, seconds: float) -> None:
        """Handle events for so long."""
        loop = QEventLoop()
        timer = QTimer(singleShot=True, timerType=Qt.TimerType.PreciseTimer)
        timer.timeout.connect(loop.quit)
        timer.start(round(1000 * seconds))
        loop.exec()

    def rest(self) -> None:
        """Handle events until nothing was done for a while."""
        until, worked = time.perf_counter() + MOST_S, 1.0
        while time.perf_counter() < until and (
            worked > 0.05 * STILL_S or self.jobs.is_busy() or not self.document.is_late_current
        ):
            before = time.process_time()
            self.turn_events(STILL_S)
            worked = time.process_time() - before

    def leave(self) -> None:
        """Close the window."""
        self.window.close_at_once()
        self.theme.leave()

    # What is measured

    def play(self) -> tuple[float, float]:
        """Play; returns processor time and positions of the cursor a second."""
        frames: list[float] = []
        self.document.cursor_changed.connect(frames.append)
        self.window.actions_table["view.play"].trigger()
        self.turn_events(WARM_S)
        frames.clear()
        begin, worked = time.perf_counter(), time.process_time()
        self.turn_events(PLAYED_S)
        worked, took = time.process_time() - worked, time.perf_counter() - begin
        self.window.player.pause()
        self.document.cursor_changed.disconnect(frames.append)
        self.rest()
        return worked / took, len(frames) / took

    def nudge(self) -> tuple[list[float], list[float], list[float]]:
        """Nudge a block to and fro by keys; returns of each processor time, the clock's, the window's own."""
        worked, took, window = [], [], []
        lane = next(lane for lane in self.document.project.lanes if lane.blocks)
        self.document.select_blocks(BlockRef(lane.id, 0))
        self.window.activateWindow()
        self.window.diagram.setFocus()
        self.rest()
        for number in range(NUDGES):
            before, begin, began = self.document.project, time.process_time(), time.perf_counter()
            own = time.thread_time()
            key = Qt.Key.Key_Left if number % 2 else Qt.Key.Key_Right
            QTest.keyClick(self.window.diagram.viewport(), key, Qt.KeyboardModifier.AltModifier)
            while self.document.is_late_coming or self.jobs.is_busy():
                self.turn_events(POLL_S)
            took.append(time.perf_counter() - began)
            self.turn_events(2 * STILL_S)  # what is still painted; idle, this costs nothing
            worked.append(time.process_time() - begin)
            window.append(time.thread_time() - own)
            assert self.document.project is not before, "the key moved nothing"
        return worked, took, window

    def idle(self, timers: TimerCount) -> tuple[float, float, float]:
        """Do nothing; returns processor time and timers a second, and by how much memory grew, MiB."""
        self.rest()
        gc.collect()
        timers.count, before = 0, resident_mib()
        worked, began = time.process_time(), time.perf_counter()
        self.turn_events(IDLE_S)
        took = time.perf_counter() - began
        worked = time.process_time() - worked
        # One event is that of the timer that ends the waiting.
        return worked / took, (timers.count - 1) / took, resident_mib() - before


def bytes_of(sample: str) -> bytes:
    """Return the file of a sample by its name, or of the machine of 12 lanes with flow."""
    if sample == LANES_12:
        from benchmarks.arranged_better import random_machine  # loads what no editor does

        return saved_form(random_machine(12, 1))
    return (sample_folder() / f"{sample}.shaft").read_bytes()


def resident_mib() -> float:
    """Return the memory that this process has now, MiB."""
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def measured(editor: OpenEditor, profiled: str | None, only: tuple[str, ...]) -> EditorWork:
    """Measure what was asked for; the rest is 0."""
    profile = cProfile.Profile()
    timers = TimerCount(editor.app)

    def run(what: str, does: Callable[[], Found], empty: Found) -> Found:
        if what not in only:
            return empty
        if what == profiled:
            profile.enable()
        found = does()
        profile.disable()
        return found

    play, frames = run("play", editor.play, (0.0, 0.0))
    worked, took, window = run("nudge", editor.nudge, ([0.0], [0.0], [0.0]))
    idle, events, grown = run("idle", lambda: editor.idle(timers), (0.0, 0.0, 0.0))
    if profiled is not None:
        stats = pstats.Stats(profile)
        stats.sort_stats("cumulative").print_stats(90)
        stats.sort_stats("tottime").print_stats(40)
    return EditorWork(
        editor.sample, editor.in_front, play, frames,
        statistics.median(worked), min(worked), statistics.median(took), statistics.median(window),
        idle, events, grown, editor.opened_mib, resident_mib(),
    )  # fmt: skip


def main() -> None:
    """Measure one sample and print it as JSON, as the last line."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sample", nargs="?", default="seedling_sower")
    parser.add_argument("--spread", action="store_true", help="put no view behind another one's tab")
    parser.add_argument("--only", choices=WHAT, action="append", help="measure only this")
    parser.add_argument("--profile", choices=WHAT, help="print where the time of one of them goes")
    parser.add_argument("--json", action="store_true", help="as always: JSON is the last line")
    options = parser.parse_args()
    memory.share_heaps()
    memory.start()
    app = QApplication(sys.argv[:1])
    with tempfile.TemporaryDirectory() as folder:
        editor = OpenEditor(app, Path(folder), options.sample, spread=options.spread)
        print(json.dumps(asdict(measured(editor, options.profile, tuple(options.only or WHAT)))))
        sys.stdout.flush()
        editor.leave()


if __name__ == "__main__":
    main()
