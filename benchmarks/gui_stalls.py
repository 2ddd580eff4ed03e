"""How long the editor leaves its window alone: the longest stretch in which no event was handled.

Opens the whole editor on a machine, then does what a person does: each command, view, dialog and a few
edits. A timer that is due every few milliseconds shows how long the window did not answer, by
the clock and in processor time of the window's own thread (the clock also counts what other programs took).
Aim: nothing over 100 ms.

    xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" python -m benchmarks.gui_stalls [--profile ACTION]
"""

from __future__ import annotations

import argparse
import cProfile
import json
import pstats
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

import shiboken6
from PySide6.QtCore import QEventLoop, Qt, QTimer
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QMenu

from shaftscore.base.samples import sample_folder
from shaftscore.edits import BlockRef, apply_edit
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.menus.actions import COMMANDS
from shaftscore_app.runtime import memory
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.preload import load_beside
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme
from shaftscore_app.widgets.dialog import Dialog

SAMPLES = sample_folder()
AIM_MS = 100.0
BEAT_MS = 2
QUIET_BEATS = 12
"""So many beats without work end an action."""

MOST_S = 5.0
PLAYED_MS = 500

LEFT_OUT = frozenset({"file.quit", "file.close", "file.revert", "file.open", "view.full_screen"})
"""Commands that end the run, ask before they do so, or are done in another way."""

WindowAction = tuple[str, Callable[[], object]]


@dataclass(frozen=True)
class Stall:
    """The longest pause in an action, ms: by the clock, and of it what this thread worked."""

    action: str
    clock_ms: float
    worked_ms: float


class Nobody:
    """Chooses no file, so that no dialog of the system waits for a person."""

    def __getattr__(self, question: str) -> Callable[..., None]:
        return lambda *_arguments: None


class Pulse:
    """Beats as long as events are handled; remembers the longest time between two beats."""

    def __init__(self) -> None:
        self._timer = QTimer(timerType=Qt.TimerType.PreciseTimer, interval=BEAT_MS)
        self._timer.timeout.connect(self._beat)
        self._profile: cProfile.Profile | None = None
        self.clear()
        self._timer.start()

    def clear(self, *, profiles: bool = False) -> None:
        """Start again; profiles: keep in `longest` where the time of the longest pause goes."""
        self._stop()
        self.clock_ms = self.worked_ms = 0.0
        self.quiet = 0
        self.longest: cProfile.Profile | None = None
        self._clock, self._worked = time.perf_counter(), time.thread_time()
        if profiles:
            self._profile_anew()

    def _beat(self) -> None:
        clock, worked = time.perf_counter(), time.thread_time()
        self.clock_ms = max(self.clock_ms, 1000.0 * (clock - self._clock))
        busy_ms = 1000.0 * (worked - self._worked)
        if self._profile is not None:
            before = self._stop()
            self.longest = before if busy_ms > self.worked_ms else self.longest
            self._profile_anew()
        self.worked_ms = max(self.worked_ms, busy_ms)
        self.quiet = self.quiet + 1 if busy_ms < 2 * BEAT_MS else 0
        self._clock, self._worked = clock, worked

    def _profile_anew(self) -> None:
        self._profile = cProfile.Profile(time.thread_time)
        self._profile.enable()

    def _stop(self) -> cProfile.Profile | None:
        profile, self._profile = self._profile, None
        if profile is not None:
            profile.disable()
        return profile


class DrivenEditor:
    """The whole editor on a display, and what a person does with it."""

    def __init__(self, app: QApplication, folder: Path) -> None:
        self.app, self.theme, self.jobs = app, Theme(app, "light"), Jobs()
        self.document = Document(jobs=self.jobs)
        self.window = MainWindow(
            self.document,
            self.theme,
            Settings(folder / "settings.json"),
            self.jobs,
            store=PersonStore(folder / "data"),
            picker=Nobody(),
        )
        self.window.resize(1600, 1000)
        self.window.show()
        self.pulse = Pulse()

    def rest(self) -> None:
        """Process events until nothing is done any more."""
        until = time.perf_counter() + MOST_S
        while time.perf_counter() < until:
            self.app.processEvents(QEventLoop.ProcessEventsFlag.WaitForMoreEvents, 50)
            if self.pulse.quiet > QUIET_BEATS and not self.jobs.is_busy():
                return

    def leave(self) -> None:
        """Close the window and have it gone: the next machine's must be the only one."""
        self.window.close_at_once()
        self.theme.leave()
        self.rest()
        shiboken6.delete(self.window)

    def close_all(self) -> None:
        for shown in self.window.findChildren(Dialog):
            shown.reject()
        for menu in self.window.findChildren(QMenu):
            menu.close()

    def actions(self, sample: Path) -> Iterator[WindowAction]:
        """Yield what is done, in order."""
        window, document = self.window, self.document
        yield "open", lambda: window.groups.files.open(sample)
        yield "open again", lambda: window.groups.files.open(sample)
        lane = document.project.lanes[1]
        yield "select a block", lambda: document.select_blocks(BlockRef(lane.id, 0))
        for key in (Qt.Key.Key_Right, Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_Home, Qt.Key.Key_PageDown):
            yield f"key {key.name[4:]}", lambda key=key: self._press(key)
        yield "undo", document.undo
        yield "redo", document.redo
        yield "rename the lane", lambda: self._edit("rename_lane", lane_id=lane.id, name="Another")
        yield "turn the shaft", lambda: document.set_cursor(123.4)
        yield "check alone", lambda: document.check_alone([lane.id])
        yield "check all", lambda: document.check_alone(None)
        for name in window.docks.names():
            yield f"show {name}", lambda name=name: window.docks.show(name)
        for choice in ("dark", "light"):
            yield f"{choice} theme", lambda choice=choice: self.theme.set_choice(choice)
        for scale in (2.0, 1.0):
            yield f"text {scale:.0%}", lambda scale=scale: self.theme.set_scale(scale)
        for command in COMMANDS:
            if command.kind != "menu" and command.id not in LEFT_OUT:
                yield command.id, lambda name=command.id: self._trigger(name)
        yield "save", lambda: document.save(sample.with_name("saved.shaft"))

    def _edit(self, name: str, /, **arguments: object) -> None:
        self.document.perform(apply_edit(self.document.committed, name, **arguments))

    def _press(self, key: Qt.Key) -> None:
        self.window.diagram.setFocus()
        QTest.keyClick(self.window.diagram.viewport(), key)

    def _trigger(self, name: str) -> None:
        self.window.actions_table.refresh()
        action = self.window.actions_table[name]
        if action.isEnabled():
            action.trigger()
        if name == "view.play":
            QTimer.singleShot(PLAYED_MS, self.window.player.pause)


def stalls_of(editor: DrivenEditor, sample: Path, profiled: str | None) -> Iterator[Stall]:
    """Do everything; returns the longest pause of each action."""
    for action, does in editor.actions(sample):
        editor.rest()
        editor.pulse.clear(profiles=action == profiled)
        does()
        editor.rest()
        yield Stall(action, editor.pulse.clock_ms, editor.pulse.worked_ms)
        if editor.pulse.longest is not None:
            pstats.Stats(editor.pulse.longest).sort_stats("cumulative").print_stats(70)
        editor.close_all()


def main() -> int:
    """Measure the samples named; the exit code is 1 where the aim is missed in processor time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--profile", metavar="ACTION", help="print where the longest pause of one action goes"
    )
    parser.add_argument("--json", action="store_true", help="print all pauses as JSON, as the last line")
    parser.add_argument("samples", nargs="*", default=["tea_blender", "seedling_sower", "chime_wall"])
    options = parser.parse_args()
    app = QApplication(sys.argv[:1])
    missed, measured = False, {}
    for name in options.samples:
        with tempfile.TemporaryDirectory() as folder:
            sample = Path(folder) / f"{name}.shaft"
            sample.write_bytes((SAMPLES / sample.name).read_bytes())
            memory.start()
            editor = DrivenEditor(app, Path(folder))
            editor.rest()
            memory.settle()
            load_beside(editor.jobs)
            editor.rest()
            found = list(stalls_of(editor, sample, options.profile))
            editor.leave()
        print(f"{name}: {len(found)} actions, longest pauses (aim {AIM_MS:.0f} ms):")
        for stall in sorted(found, key=lambda one: -one.worked_ms)[:25]:
            mark = "missed" if stall.worked_ms > AIM_MS else ""
            print(
                f"  {stall.action:28} worked {stall.worked_ms:6.1f} ms, clock {stall.clock_ms:6.1f} ms {mark}"
            )
        measured[name] = [asdict(stall) for stall in found]
        missed |= any(stall.worked_ms > AIM_MS for stall in found)
    if options.json:
        print(json.dumps(measured))
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
