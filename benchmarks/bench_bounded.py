"""Small files that could cost a great deal: processor time and memory, which the tests bound by counts."""

from __future__ import annotations

import time
from typing import Any

import pytest

from benchmarks.memory import used_by

MANY_BLOCKS = """
from shaftscore.model import Block, Lane, LinkPoint, MotionPoint, Project, Shaft, Stack, TranslatingRoller
from shaftscore.model.project import FORMAT, VERSION
from shaftscore.judge.report import examine

def machine(lane):
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    return Project(format=FORMAT, version=VERSION, name="One lane", shaft=shaft, lanes=(lane,))

def lane(count, lift_mm, **more):
    step = 360.0 / count
    blocks = tuple(
        Block(level="high" if n % 2 else "low", start_deg=n * step, end_deg=(n + 0.3) * step)
        for n in range(count)
    )
    disc = {"base_radius_mm": 75.0}
    return Lane(id="a", levels={"low": 0.0, "high": lift_mm}, blocks=blocks, disc=disc, **more)

def linked(count, rows, lift_mm):
    table = tuple(
        LinkPoint(output_mm=lift_mm * n / (rows - 1), roller_mm=lift_mm * (n / (rows - 1)) ** 1.2)
        for n in range(rows)
    )
    return lane(count, lift_mm, follower=TranslatingRoller(
        kind="translating-roller", roller_radius_mm=8.0, link=table
    ))

def spiky(count, lift_mm):
    points = tuple(
        MotionPoint(theta_deg=n * 360.0 / count, output_mm=n % 2 * lift_mm) for n in range(count)
    )
    levels, disc = {"low": 0.0, "high": lift_mm}, {"base_radius_mm": 75.0}
    return Lane(id="a", kind="points", levels=levels, points=points, disc=disc)

examine(machine(lane(2, 3.0)))
"""
"""Makes lanes of many blocks or points; what `check` loads is loaded."""


def examined(lane: str, **options: Any) -> Any:
    """What examines the machine of one lane, with options of `examine`."""
    names: dict[str, Any] = {}
    exec(MANY_BLOCKS, names)
    project = names["machine"](eval(lane, names))
    return lambda: names["examine"](project, **options)


def growth_mib(lane: str) -> float:
    """How much more memory a process has at its peak for examining a lane."""
    return used_by(f"{MANY_BLOCKS}\nexamine(machine({lane}))").mib - used_by(MANY_BLOCKS).mib


@pytest.mark.benchmark(group="One lane of many blocks or points, all findings", timer=time.process_time)
@pytest.mark.parametrize(
    ("lane", "target"),
    [
        ("lane(96, 3.0)", ""),
        ("lane(720, 0.05)", "1 s, 200 MiB"),
        ("lane(720, 3.0)", "1 s, 200 MiB"),
        ("lane(720, 300.0)", "1 s, 200 MiB"),
        ("linked(36, 1000, 20.0)", "2 s, 300 MiB"),
        ("linked(720, 1000, 3.0)", "2 s, 300 MiB"),
        ("spiky(200, 30.0)", "2 s"),
        ("spiky(10_000, 30.0)", ""),
    ],
)
def test_many(benchmark: Any, lane: str, target: str) -> None:
    if target:
        benchmark.extra_info["target"] = target
    benchmark.extra_info["memory"] = f"{growth_mib(lane):.0f} MiB more"
    benchmark.pedantic(examined(lane), rounds=3, warmup_rounds=1)
