"""How long a frame takes while a block is dragged: solve, findings, all views, paint.

Opens the whole editor on the sample of 64 lanes and on a machine of 256, presses on a block and sends real
mouse events, one a frame; a frame ends when everything that it made Qt paint is painted. Aims: median under
16 ms and 95th percentile under 25 ms with 64 lanes, median under 33 ms with 256.

    xvfb-run -a -s "-screen 0 1920x1200x24 +extension GLX" python -m benchmarks.drag_frame [--profile]
"""

from __future__ import annotations

import argparse
import cProfile
import json
import pstats
import statistics
import sys
import tempfile
import time
from pathlib import Path

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtWidgets import QApplication

from benchmarks.memory import peak_mib
from shaftscore.base.samples import sample_folder
from shaftscore.model import Block, Exclusive, Lane, LevelState, Project, Shaft
from shaftscore.model.loader import load_project
from shaftscore_app.document import Document
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.keeping import PersonStore
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.runtime.memory import settle
from shaftscore_app.runtime.settings import Settings
from shaftscore_app.theme import Theme

FRAMES = 150
"""Frames that are measured; the first ones are not counted."""

WARM_UP = 10
SAMPLE = sample_folder() / "chime_wall.shaft"
AIMS = {64: (16.0, 25.0), 256: (33.0, float("inf"))}
"""Lanes to median and 95th percentile, ms."""


def many_gates(count: int) -> Project:
    """Return a machine of `count` gates in groups of 16; those of a group exclude one another."""
    lanes = [_gate(number, count) for number in range(count)]
    rules = [
        Exclusive(
            kind="exclusive",
            states=tuple(LevelState(lane=lane.id, level="open") for lane in lanes[first : first + 16]),
            gap_deg=2.0,
        )
        for first in range(0, count, 16)
    ]
    return Project(
        format="shaftscore-project",
        version=2,
        name=f"{count} gates",
        shaft=Shaft(turn="clockwise", speed_rpm=6.0),
        lanes=tuple(lanes),
        rules=tuple(rules),
    )


def _gate(number: int, count: int) -> Lane:
    opens = 22.0 * (number % 16) + number / count
    closes = (opens + 20.0) % 360.0
    blocks = (
        Block(level="open", start_deg=opens, end_deg=opens + 4.0),
        Block(level="closed", start_deg=closes, end_deg=closes + 324.0),
    )
    levels = {"closed": 0.0, "open": 6.0}
    return Lane(
        id=f"gate_{number}",
        name=f"Gate {number}",
        group=f"Bank {number // 16 + 1}",
        levels=levels,
        blocks=blocks,
    )


Frame = tuple[float, float]
"""Time of a frame, and what of it the processor worked on it, ms: they differ on a busy machine."""


def frames_of(app: QApplication, project: Project, profile: cProfile.Profile | None) -> list[Frame]:
    """Drag a block to and fro in the whole editor; returns the frames."""
    with tempfile.TemporaryDirectory() as folder:
        theme = Theme(app, "light")
        jobs = Jobs()
        document, settings = Document(project, jobs=jobs), Settings(Path(folder) / "s.json")
        window = MainWindow(document, theme, settings, jobs, store=PersonStore(Path(folder)))
        window.resize(1600, 1000)
        window.show()
        _settle(app, window)
        try:
            return _dragged(app, window, profile)
        finally:
            window.close_at_once()
            theme.leave()


def _settle(app: QApplication, window: MainWindow) -> None:
    until = time.perf_counter() + 30.0
    while time.perf_counter() < until and not window.document.is_late_current:
        app.processEvents()
    for _ in range(20):
        app.processEvents()
    settle()


def _dragged(app: QApplication, window: MainWindow, profile: cProfile.Profile | None) -> list[Frame]:
    diagram = window.diagram
    scene = diagram.scene
    lane_id = window.document.project.lanes[2].id
    shape = scene.shapes(lane_id)[0]
    strip = scene.strip(lane_id)
    assert strip is not None
    y = strip.y(shape.level.output_mm) + 5.0
    x = scene.frame.axis.x(shape.start_deg + shape.length_deg / 2)
    _send(diagram.viewport(), QEvent.Type.MouseButtonPress, QPoint(round(x), round(y)))
    times = []
    for frame in range(WARM_UP + FRAMES):
        # To and fro over 60 px, by 4 px a frame, as a hand does.
        way = abs((frame * 4) % 120 - 60)
        place = QPoint(round(x + way), round(y))
        if profile is not None and frame >= WARM_UP:
            profile.enable()
        begin, worked = time.perf_counter(), time.thread_time()
        _send(diagram.viewport(), QEvent.Type.MouseMove, place)
        app.processEvents()
        times.append((1000.0 * (time.perf_counter() - begin), 1000.0 * (time.thread_time() - worked)))
        if profile is not None:
            profile.disable()
    _send(diagram.viewport(), QEvent.Type.MouseButtonRelease, QPoint(round(x), round(y)))
    app.processEvents()
    return times[WARM_UP:]


def _send(widget: object, kind: QEvent.Type, place: QPoint) -> None:
    left, none = Qt.MouseButton.LeftButton, Qt.MouseButton.NoButton
    button = none if kind == QEvent.Type.MouseMove else left
    buttons = none if kind == QEvent.Type.MouseButtonRelease else left
    where = QPointF(widget.mapToGlobal(place))
    event = QMouseEvent(kind, QPointF(place), where, button, buttons, Qt.KeyboardModifier.NoModifier)
    QApplication.sendEvent(widget, event)


def _high(times: list[float]) -> float:
    """Return the 95th percentile of sorted times."""
    return times[round(0.95 * len(times)) - 1]


def main() -> int:
    """Measure both machines; the exit code is 1 where an aim is missed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--profile", action="store_true", help="print where the time of 64 lanes goes")
    parser.add_argument(
        "--json", action="store_true", help="print what was measured as JSON, as the last line"
    )
    parser.add_argument("--only", type=int, choices=tuple(AIMS), help="measure one machine only")
    options = parser.parse_args()
    app = QApplication(sys.argv[:1])
    missed = False
    measured = {}
    for lanes, (median_aim, high_aim) in AIMS.items():
        if options.only not in (None, lanes):
            continue
        project = load_project(SAMPLE) if lanes == 64 else many_gates(lanes)
        profile = cProfile.Profile(time.thread_time) if options.profile else None
        frames = frames_of(app, project, profile)
        times, work = sorted(time for time, _ in frames), sorted(worked for _, worked in frames)
        median, high = statistics.median(times), _high(times)
        good = median < median_aim and high < high_aim
        missed |= not good
        measured[lanes] = {"median_ms": median, "high_ms": high, "longest_ms": times[-1], "mib": peak_mib()}
        print(
            f"{len(project.lanes)} lanes: median {median:.1f} ms (aim {median_aim:.0f}), 95 % {high:.1f} ms "
            f"(aim {high_aim:.0f}), longest {times[-1]:.1f} ms: {'good' if good else 'missed'}; "
            f"processor: median {statistics.median(work):.1f} ms, 95 % {_high(work):.1f} ms"
        )
        if profile is not None:
            pstats.Stats(profile).sort_stats("cumulative").print_stats(60)
    if options.json:
        print(json.dumps(measured))
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
