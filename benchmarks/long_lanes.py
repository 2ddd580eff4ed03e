"""How long edits of a machine with one very long lane keep the window from answering: the longest stretches.

A lane of 718 blocks and four short ones in the whole editor: a block is dragged, added and deleted, a lane
deleted, brought back and added. Times are of the processor, on the window's own thread. Aim: nothing over
100 ms, painting included.

    xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" python -m benchmarks.long_lanes [--profile ACTION]
"""

from __future__ import annotations

import argparse
import pstats
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

from PySide6.QtWidgets import QApplication

from benchmarks.gui_stalls import AIM_MS, DrivenEditor, WindowAction
from shaftscore.edits import (
    BlockRef,
    Edited,
    add_block,
    add_lane,
    delete_blocks,
    delete_lane,
    place_block,
)
from shaftscore.model import Block, Lane, Project, Shaft
from shaftscore.model.project import FORMAT, VERSION
from shaftscore.model.saved import saved_form
from shaftscore_app.runtime import memory

BLOCKS = 718
"""Blocks of the long lane: 720 fill a turn, and one more is added."""


def machine() -> Project:
    """Return the machine: its first lane has room for one block more."""
    long = _lane("long", BLOCKS, 360.0 / (BLOCKS + 2))
    short = tuple(_lane(f"short_{number}", 6, 60.0) for number in range(4))
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    return Project(format=FORMAT, version=VERSION, name="Long lanes", shaft=shaft, lanes=(long, *short))


def _lane(name: str, count: int, step: float) -> Lane:
    blocks = tuple(
        Block(level="high" if n % 2 else "low", start_deg=n * step, end_deg=(n + 0.3) * step)
        for n in range(count)
    )
    return Lane(id=name, name=name, levels={"low": 0.0, "high": 3.0}, blocks=blocks)


def actions(editor: DrivenEditor) -> Iterator[WindowAction]:
    """Yield the edits, in order."""
    document = editor.document
    lane = document.project.lanes[0].id
    editor.window.docks.show("findings")

    def perform(make: Callable[[Project], Edited]) -> Callable[[], object]:
        return lambda: document.perform(make(document.committed))

    ref = BlockRef(lane, 4)
    start = document.committed.lane(lane).blocks[4].start_deg
    for step in range(4):
        yield (
            f"drag a block, move {step}",
            lambda step=step: document.preview(
                place_block(document.committed, ref, start + 0.02 * (step + 1))
            ),
        )
    yield "drop it", perform(lambda project: place_block(project, ref, start + 0.08))
    yield "add a block", perform(lambda project: add_block(project, lane, 359.2, "low", 0.1))
    yield "delete a block", perform(lambda project: delete_blocks(project, (BlockRef(lane, 9),)))
    yield "undo", document.undo
    yield "redo", document.redo
    yield "delete a lane", perform(lambda project: delete_lane(project, "short_1"))
    yield "undo the lane", document.undo
    yield "add a lane", perform(lambda project: add_lane(project, "Spare", "", {"low": 0.0, "high": 5.0}))


def main() -> int:
    """Measure; the exit code is 1 where the aim is missed in processor time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--profile", metavar="ACTION", help="print where the longest pause of one action goes"
    )
    options = parser.parse_args()
    app = QApplication(sys.argv[:1])
    missed = False
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "long.shaft"
        file.write_bytes(saved_form(machine()))
        memory.start()
        editor = DrivenEditor(app, Path(folder))
        editor.window.groups.files.open(file)
        editor.rest()
        for action, does in actions(editor):
            editor.rest()
            editor.pulse.clear(profiles=action == options.profile)
            does()
            editor.rest()
            worked = editor.pulse.worked_ms
            missed |= worked > AIM_MS
            print(f"{action:24} worked {worked:6.1f} ms {'missed' if worked > AIM_MS else ''}", flush=True)
            if editor.pulse.longest is not None:
                pstats.Stats(editor.pulse.longest).sort_stats("cumulative").print_stats(60)
        editor.leave()
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
