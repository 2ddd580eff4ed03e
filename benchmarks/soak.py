"""An hour's worth of random editing in a real window: memory must not grow, nor Qt objects pile up.

Run with `python -m benchmarks.soak [events] [seed]` (QT_QPA_PLATFORM=offscreen where there is no display).
An event is what a person does about once a second: an edit, an undo, a drag with its previews, another
selection, the cursor, a view that is closed or opened, a dialog, a save, another theme, another file. After
every view was seen once, and a warm-up of 400 events, or a quarter, memory may grow by 5 % at most, looked at
with the same views and file both times. (History is without end by design: as a person does, the run opens a
file again now and then, which forgets steps.)
"""

from __future__ import annotations

import gc
import json
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path

from benchmarks import as_command  # noqa: F401 - before the modules of the window
from shaftscore.base.samples import sample_folder
from shaftscore_app.runtime.memory import give_back, settle, share_heaps

EVENTS = 3600
WARM_UP, LEAST_WARM_UP = 0.25, 400
MOST_GROWTH = 0.05
SAMPLES = ("tea_blender.shaft", "seedling_sower.shaft")


@dataclass(frozen=True)
class Soaked:
    """What a run came to: MiB after the warm-up and at the end, growth as a fraction."""

    events: int
    seed: int
    seconds: float
    warm_mib: float
    end_mib: float
    growth: float
    warm_objects: int
    end_objects: int
    errors: int

    @property
    def holds(self) -> bool:
        return self.growth <= MOST_GROWTH and not self.errors


def resident_mib() -> float:
    """Return the memory that this process has at rest, as the window gives it back then, MiB."""
    gc.collect()
    give_back()
    pages = int(Path("/proc/self/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


class Soak:
    """A window and what a person does to it."""

    def __init__(self, folder: Path, seed: int) -> None:
        from PySide6.QtWidgets import QApplication

        from shaftscore_app.document import Document
        from shaftscore_app.frame.main_window import MainWindow
        from shaftscore_app.keeping import PersonStore
        from shaftscore_app.runtime.jobs import Jobs
        from shaftscore_app.runtime.settings import Settings
        from shaftscore_app.theme import Theme

        share_heaps()
        self.app = QApplication.instance() or QApplication(sys.argv[:1])
        self.theme, self.jobs = Theme(self.app, "light"), Jobs()
        self.document = Document(jobs=self.jobs)
        self.window = MainWindow(
            self.document,
            self.theme,
            Settings(folder / "settings.json"),
            self.jobs,
            store=PersonStore(folder / "data"),
        )
        self.folder, self.chance, self.errors = folder, random.Random(seed), 0
        self.window.resize(1600, 1000)
        self.window.show()
        settle()  # as the editor does once it stands
        self.done: Counter[str] = Counter()
        self.events: tuple[tuple[int, Callable[[], None]], ...] = (
            (30, self.move), (10, self.drag), (12, self.undo), (6, self.redo), (15, self.select),
            (10, self.turn), (6, self.rename), (3, self.add_and_delete), (5, self.view), (3, self.dialog),
            (2, self.save), (1, self.restyle), (1, self.open),
        )  # fmt: skip
        self.open()

    def run(self, count: int) -> None:
        """Do that many events, with the window drawn after each."""
        weights, does = zip(*self.events, strict=True)
        for _ in range(count):
            chosen = self.chance.choices(does, weights)[0]
            self.done[chosen.__name__] += 1
            chosen()
            self.settle()

    def settle(self) -> None:
        from PySide6.QtCore import QCoreApplication, QEvent

        self.app.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete.value)

    def rest(self) -> None:
        """Let what runs in the background come to its end."""
        deadline = time.monotonic() + 60
        while self.jobs.is_busy() and time.monotonic() < deadline:
            self.settle()
        for _ in range(20):
            self.settle()

    def reset(self) -> None:
        """Return to the usual views and the light theme, with a file just opened and nothing under way."""
        self.theme.set_choice("light")
        self.window.actions_table["view.default"].trigger()
        self.open_sample(SAMPLES[0])
        self.rest()

    def objects(self) -> int:
        """Count the window's Qt objects."""
        from PySide6.QtCore import QObject

        return len(self.window.findChildren(QObject))

    def see_every_view(self) -> None:
        """Show each view once in front, so that its library is loaded before memory is looked at."""
        for name in self.window.docks.names():
            dock = self.window.docks[name]
            was_shown = dock.isVisible()
            dock.show()
            dock.raise_()
            self.rest()
            dock.setVisible(was_shown)

    # What a person does

    def _block(self):
        from shaftscore.edits import BlockRef

        lane = self.chance.choice([lane for lane in self.document.committed.lanes if lane.blocks])
        return BlockRef(lane.id, self.chance.randrange(len(lane.blocks)))

    def _edit(self, name: str, /, **arguments: object) -> None:
        from shaftscore.edits import apply_edit
        from shaftscore_app.document.binding import commit

        commit(self.document, lambda: apply_edit(self.document.committed, name, **arguments))

    def move(self) -> None:
        self._edit("place_block", ref=self._block(), start_deg=self.chance.randrange(720) / 2)

    def drag(self) -> None:
        from shaftscore.base.errors import EditError
        from shaftscore.edits import place_block

        ref, start = self._block(), self.chance.randrange(360)
        edited = None
        for step in range(5):
            try:
                edited = place_block(self.document.committed, ref, float((start + step) % 360))
            except EditError:
                continue
            self.document.preview(edited)
            self.settle()
        if edited is None or self.chance.random() < 0.3:
            self.document.preview(None)
        else:
            self.document.perform(edited)

    def undo(self) -> None:
        self.document.undo()

    def redo(self) -> None:
        self.document.redo()

    def select(self) -> None:
        self.document.select_blocks(self._block())

    def turn(self) -> None:
        self.document.set_cursor(self.chance.random() * 360)

    def rename(self) -> None:
        lane = self.chance.choice(self.document.committed.lanes)
        self._edit("rename_lane", lane_id=lane.id, name=f"Lane {self.chance.randrange(1000)}")

    def add_and_delete(self) -> None:
        ref = self._block()
        self._edit("set_locked", refs=[ref], locked=self.chance.random() < 0.5)
        self._edit("set_notes", notes="x" * self.chance.randrange(200))

    def view(self) -> None:
        dock = self.window.docks[self.chance.choice(list(self.window.docks.names()))]
        dock.setVisible(not dock.isVisible())

    def dialog(self) -> None:
        from shaftscore_app.widgets.dialog import Dialog

        self.document.select_lane(self.chance.choice(self.document.committed.lanes).id)
        command = self.chance.choice(("help.shortcuts", "help.about", "lane.levels", "lane.load"))
        self.window.actions_table.refresh()
        action = self.window.actions_table[command]
        if action.isEnabled():
            action.trigger()
        self.settle()
        for shown in self.window.findChildren(Dialog):
            shown.close()

    def save(self) -> None:
        self.document.save(self.folder / "soak.shaft")

    def restyle(self) -> None:
        self.theme.set_choice(self.chance.choice(("light", "dark")))

    def open(self) -> None:
        self.open_sample(self.chance.choice(SAMPLES))

    def open_sample(self, name: str) -> None:
        data = (sample_folder() / name).read_bytes()
        path = self.folder / "opened.shaft"
        path.write_bytes(data)
        self.document.open(path)


def soak(events: int, seed: int) -> Soaked:
    """Run the events; the warm-up is the first part of them."""
    begin, warm_up = time.monotonic(), min(max(round(events * WARM_UP), LEAST_WARM_UP), events // 2)
    with tempfile.TemporaryDirectory() as folder:
        run = Soak(Path(folder), seed)
        hook, seen = sys.excepthook, []
        sys.excepthook = lambda kind, error, trace: (seen.append(error), hook(kind, error, trace))
        run.see_every_view()
        run.run(warm_up)
        run.reset()
        warm, warm_objects = resident_mib(), run.objects()
        run.run(events - warm_up)
        run.reset()
        end, end_objects = resident_mib(), run.objects()
        sys.excepthook = hook
        run.window.close_at_once()
        run.theme.leave()
    return Soaked(
        events,
        seed,
        time.monotonic() - begin,
        warm,
        end,
        end / warm - 1,
        warm_objects,
        end_objects,
        len(seen),
    )


def main() -> int:
    events = int(sys.argv[1]) if len(sys.argv) > 1 else EVENTS
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    done = soak(events, seed)
    print(json.dumps(asdict(done)))
    return 0 if done.holds else 1


if __name__ == "__main__":
    sys.exit(main())
