"""The editor in a real window: frames while a block is dragged, and how long it leaves the window alone.

Each runs in a process of its own and needs a display; without one they are left out, and the page says so.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from benchmarks.by_hand.keystrokes import SECONDS
from benchmarks.memory import as_installed
from shaftscore_app.cli.editor import has_display

ROOT = Path(__file__).resolve().parents[1]
AIM_MS = 100.0
LANES_12, SAMPLE_64 = "12_lanes_with_flow", "chime_wall"
WORST = 4
"""So many of the longest pauses are named."""

pytestmark = pytest.mark.skipif(not has_display(), reason="there is no display to show a window on")


def measured(module: str, *arguments: str) -> dict[str, Any]:
    """Run a module that prints JSON as its last line, whatever it says of its aims."""
    return dict(printed(module, *arguments))


def printed(module: str, *arguments: str) -> Any:
    """Run a module and return the JSON of its last line."""
    command = [sys.executable, "-m", module, "--json", *arguments]
    done = subprocess.run(command, check=False, env=as_installed(), cwd=ROOT, capture_output=True, text=True)
    assert done.stdout, done.stderr
    return json.loads(done.stdout.splitlines()[-1])


@pytest.mark.benchmark(group="Frames while a block is dragged, 150 real mouse events: the whole run")
@pytest.mark.parametrize(("lanes", "aims"), [(64, "16 and 25 ms"), (256, "33 ms at the median")])
def test_drag(benchmark: Any, lanes: int, aims: str) -> None:
    frames = benchmark.pedantic(lambda: measured("benchmarks.drag_frame", "--only", str(lanes)), rounds=1)
    (one,) = frames.values()
    benchmark.extra_info["a frame"] = f"median {one['median_ms']:.1f} ms, 95 % {one['high_ms']:.1f} ms"
    benchmark.extra_info["target"] = aims
    benchmark.extra_info["memory"] = f"{one['mib']:.0f} MiB"


@pytest.mark.benchmark(group="The longest pauses of the window while everything is done once: the whole run")
@pytest.mark.parametrize("sample", ["tea_blender", "seedling_sower", "chime_wall"])
def test_pauses(benchmark: Any, sample: str) -> None:
    (found,) = benchmark.pedantic(lambda: measured("benchmarks.gui_stalls", sample), rounds=1).values()
    worst = sorted(found, key=lambda one: -one["worked_ms"])
    over = sum(one["worked_ms"] > AIM_MS for one in found)
    benchmark.extra_info["target"] = f"{AIM_MS:.0f} ms; over it: {over} of {len(found)} actions"
    benchmark.extra_info["longest"] = "; ".join(
        f"{one['action']} {one['worked_ms']:.0f} ms" for one in worst[:WORST]
    )


def worked(benchmark: Any, sample: str, only: str) -> dict[str, Any]:
    """Measure one of what `editor_work` measures; the time is that of the whole run."""
    return benchmark.pedantic(
        lambda: printed("benchmarks.editor_work", sample, "--only", only), rounds=1
    )  # fmt: skip


@pytest.mark.benchmark(group="Playing with all views open: the whole run")
@pytest.mark.parametrize("sample", [SAMPLE_64, LANES_12, "tea_blender"])
def test_play(benchmark: Any, sample: str) -> None:
    found = worked(benchmark, sample, "play")
    frame_ms = 1000.0 * found["play"] / found["play_frames"]
    benchmark.extra_info["processor a second"] = f"{found['play']:.2f} s"
    benchmark.extra_info["target"] = "0.2 s"
    benchmark.extra_info["frames"] = f"{found['play_frames']:.0f} a second, {frame_ms:.1f} ms each"


@pytest.mark.benchmark(group="One nudge with all views open, until all is up to date: the whole run")
@pytest.mark.parametrize("sample", [LANES_12, "tea_blender", "seedling_sower", SAMPLE_64])
def test_nudge(benchmark: Any, sample: str) -> None:
    found = worked(benchmark, sample, "nudge")
    benchmark.extra_info["a nudge"] = (
        f"{found['nudge']:.2f} s of processor time, least {found['nudge_least']:.2f} s"
    )
    benchmark.extra_info["of that the window"] = f"{found['nudge_window']:.3f} s"
    if sample == LANES_12:
        benchmark.extra_info["target"] = "0.2 s"


@pytest.mark.benchmark(group="The editor at rest, all views open: the whole run")
@pytest.mark.parametrize("sample", ["tea_blender", SAMPLE_64])
def test_idle(benchmark: Any, sample: str) -> None:
    found = worked(benchmark, sample, "idle")
    benchmark.extra_info["processor a second"] = f"{1000.0 * found['idle']:.1f} ms"
    benchmark.extra_info["timers"] = f"{found['idle_timers']:.1f} a second"
    benchmark.extra_info["grown"] = f"{found['idle_grown_mib']:.1f} MiB"
    benchmark.extra_info["memory"] = (
        f"{found['opened_mib']:.0f} MiB opened, {found['mib']:.0f} MiB with all views"
    )
    if sample == "tea_blender":
        benchmark.extra_info["target"] = "200 MiB opened"


@pytest.mark.skipif(shutil.which("xdotool") is None, reason="there is no xdotool to press keys with")
@pytest.mark.benchmark(group="A machine of 12 selectors by hand, from nothing to proved files: the whole run")
def test_by_hand(benchmark: Any) -> None:
    stages = benchmark.pedantic(lambda: printed("benchmarks.by_hand"), rounds=1)
    total = {key: sum(one[key] for one in stages) for key in ("keys", "clicks", "person_s", "waited_s")}
    counts = Counter[str]()
    for one in stages:
        counts.update(one["operators"])
    minutes = (total["person_s"] + total["waited_s"]) / 60
    benchmark.extra_info["a person"] = f"{minutes:.1f} min by the keystroke-level model (target 10 min)"
    benchmark.extra_info["of that"] = f"waiting {total['waited_s']:.0f} s"
    benchmark.extra_info["keys and clicks"] = f"{total['keys']} and {total['clicks']}"
    benchmark.extra_info["operators"] = " ".join(f"{name} {counts[name]}" for name in SECONDS)
    benchmark.extra_info["processor"] = f"{sum(one['processor_s'] for one in stages):.0f} s of the editor"
    benchmark.extra_info["stages"] = "; ".join(f"{one['stage']} {one['person_s']:.0f} s" for one in stages)
