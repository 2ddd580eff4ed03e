"""Solving: whole machines and one edit, beside a plain program, scipy's pieces, shapely and sampling."""

from __future__ import annotations

import cProfile
import math
import pstats
import time
from functools import cache
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.interpolate import PPoly

from benchmarks.machines import gates, stated_gates
from benchmarks.plain import look_at_all
from shaftscore.base.samples import sample_folder
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.model import Project, replaced
from shaftscore.model.loader import load_project
from shaftscore.solution import solve

GRID = np.arange(3600) / 10.0


@cache
def machine(lanes: int) -> Project:
    return gates(lanes)


@cache
def looked_at(lanes: int) -> Report:
    return examine(machine(lanes), stage=QUICK)


def moved(lanes: int) -> Project:
    """The machine with one block moved by a degree."""
    return with_block_moved(machine(lanes))


def with_block_moved(project: Project) -> Project:
    start = project.lanes[0].blocks[0].start_deg + 1.0
    return apply_edit(project, "place_block", ref=BlockRef("g0", 0), start_deg=start).project


def drawn(report: Report) -> float:
    """Read every lane at 0.1 degree, as drawing and sums over lanes do."""
    return sum(float(lane.motion.at(GRID)[0, 0]) for lane in report.solution.lanes.values() if lane.motion)


@pytest.mark.benchmark(
    group="A whole solve with all live findings, then every lane at 0.1 degree", timer=time.process_time
)
@pytest.mark.parametrize("lanes", [8, 64, 256, 1024])
def test_whole_solve(benchmark: Any, lanes: int) -> None:
    targets = {64: "40 ms", 1024: "0.5 s"}
    if lanes in targets:
        benchmark.extra_info["target"] = targets[lanes]
    benchmark.pedantic(
        lambda: drawn(examine(machine(lanes), stage=QUICK)),
        rounds=7 if lanes < 300 else 3,
        warmup_rounds=1,
    )
    if lanes > 8:
        benchmark.extra_info["growth exponent from 8 lanes"] = _exponent(benchmark, lanes)


_FIRST: dict[str, float] = {}


def _exponent(benchmark: Any, lanes: int) -> str:
    return f"{math.log(benchmark.stats['median'] / _FIRST['solve']) / math.log(lanes / 8):.2f}"


@pytest.fixture(autouse=True)
def _kept(benchmark: Any, request: pytest.FixtureRequest) -> Any:
    yield
    if request.node.name == "test_whole_solve[8]":
        _FIRST["solve"] = benchmark.stats["median"]


@pytest.mark.benchmark(
    group="A whole solve with all live findings, 64 lanes, beside a plain program", timer=time.process_time
)
@pytest.mark.parametrize("who", ["ours", "plain Python, angle by angle"])
def test_beside_plain(benchmark: Any, who: str) -> None:
    run = (
        (lambda: drawn(examine(machine(64), stage=QUICK)))
        if who == "ours"
        else (lambda: look_at_all(machine(64)))
    )
    benchmark.pedantic(run, rounds=3, warmup_rounds=1 if who == "ours" else 0)


@pytest.mark.benchmark(
    group="Where the whole solve of 64 lanes goes, under the profiler", timer=time.process_time
)
def test_profiled(benchmark: Any) -> None:
    """How many calls there are, and the share of each part: the profile behind the figures."""
    profile = cProfile.Profile(time.process_time)
    examine(machine(64), stage=QUICK)

    def run() -> None:
        profile.runcall(lambda: examine(machine(64), stage=QUICK))

    benchmark.pedantic(run, rounds=1)
    stats = pstats.Stats(profile)
    whole = stats.total_tt
    benchmark.extra_info["calls"] = f"{stats.total_calls:,}, {stats.total_calls / 64:,.0f} a lane"
    for what, (file, name) in PARTS.items():
        rows = [row for key, row in stats.stats.items() if key[0].endswith(file) and key[2] == name]
        benchmark.extra_info[what] = f"{sum(row[3] for row in rows) / whole:.0%}"


PARTS = {
    "motions from blocks": ("motion/lane.py", "program"),
    "state intervals": ("motion/states.py", "level_intervals_together"),
    "places on smooth pieces": ("profiles/nodes_together.py", "nodes_together"),
    "pressure angle and curvature, where they plainly keep their limits": (
        "profiles/plainly.py",
        "plainly_together",
    ),
    "margins of rules": ("checks/margin.py", "rule_margins"),
}
"""Parts of a solve, and the function that does each; one may call another, so shares do not add up."""


@pytest.mark.benchmark(
    group="One edit of 64 lanes, beside the plain program, which knows no edit", timer=time.process_time
)
@pytest.mark.parametrize("who", ["ours", "plain Python, all over again"])
def test_edit_beside_plain(benchmark: Any, who: str) -> None:
    before, after = looked_at(64), moved(64)
    run = (lambda: examine(after, before, stage=QUICK)) if who == "ours" else (lambda: look_at_all(after))
    benchmark.pedantic(run, rounds=5, warmup_rounds=1)


@pytest.mark.benchmark(
    group="64 discs solved, their base radius given or found to 1e-10 mm", timer=time.process_time
)
@pytest.mark.parametrize("base", ["given", "auto"])
def test_base_radius(benchmark: Any, base: str) -> None:
    project = machine(64)
    if base == "auto":
        lanes = tuple(
            replaced(lane, disc=replaced(lane.disc, base_radius_mm="auto")) for lane in project.lanes
        )
        project = replaced(project, lanes=lanes)
        benchmark.extra_info["target"] = "100 ms"
    benchmark.pedantic(lambda: solve(project), rounds=7, warmup_rounds=1)


@pytest.mark.benchmark(group="One block moved: solve and all live findings", timer=time.process_time)
@pytest.mark.parametrize("lanes", [8, 64, 256, 1024])
def test_one_edit(benchmark: Any, lanes: int) -> None:
    before, after = looked_at(lanes), moved(lanes)
    targets = {64: "2.0 ms", 256: "10 ms"}
    if lanes in targets:
        benchmark.extra_info["target"] = targets[lanes]
    benchmark(lambda: examine(after, before, stage=QUICK))
    benchmark.extra_info["least"] = f"{benchmark.stats['min'] * 1e3:.2f} ms"


@pytest.mark.benchmark(
    group="One block of 64 lanes moved, springs, fits, heights and shafts stated", timer=time.process_time
)
def test_one_edit_of_stated(benchmark: Any) -> None:
    project = stated_gates(64)
    before, after = examine(project), with_block_moved(project)
    benchmark.extra_info["target"] = "5 ms"
    benchmark.pedantic(lambda: examine(after, before, stage=QUICK), rounds=20, warmup_rounds=1)
    benchmark.extra_info["least"] = f"{benchmark.stats['min'] * 1e3:.2f} ms"


@pytest.mark.benchmark(
    group="The whole report of a sower whose discs lie loose on their shaft", timer=time.process_time
)
def test_failing_sower(benchmark: Any) -> None:
    """Few machines work: every cause is judged by itself, and cures are tried."""
    sower = load_project(sample_folder() / "seedling_sower.shaft")
    stacks = tuple(replaced(one, fit_clearance_mm=0.2, joints="as-they-lie") for one in sower.stacks)
    project = replaced(sower, stacks=stacks)
    benchmark.extra_info["target"] = "5 s"
    benchmark.pedantic(lambda: examine(project), rounds=1)


@pytest.mark.benchmark(group="One lane read at 3600 angles, with three derivatives")
@pytest.mark.parametrize("who", ["ours, exact", "scipy PPoly of degree 5 through 65 knots a move"])
def test_read(benchmark: Any, who: str) -> None:
    motion = looked_at(8).solution.lanes["g0"].motion
    assert motion is not None
    if who.startswith("ours"):
        benchmark(lambda: motion.at(GRID))
        return
    pieces = fitted(motion)
    derivatives = [pieces.derivative(n) for n in range(4)]
    error = np.abs(np.array([d(np.radians(GRID)) for d in derivatives[:2]]) - motion.at(GRID)[:2]).max(axis=1)
    benchmark.extra_info["error of the output"] = f"{error[0]:.1e} mm"
    benchmark(lambda: [d(np.radians(GRID)) for d in derivatives])


def fitted(motion: Any) -> PPoly:
    """Fit quintic pieces to a motion through its values and two derivatives at knots."""
    knots = np.unique(
        np.concatenate(
            [
                start + length * np.arange(65) / 64
                for start, length in zip(motion.starts_deg, motion.lengths_deg, strict=True)
            ]
        )
        % 360.0
    )
    knots = np.append(np.insert(knots[knots > 0], 0, 0.0), 360.0)
    from scipy.interpolate import BPoly

    right, left = motion.at(knots[:-1])[:3].T, motion.at(knots[1:], side="left")[:3].T
    parts = [
        BPoly.from_derivatives(np.radians(knots[i : i + 2]), [right[i], left[i]])
        for i in range(len(knots) - 1)
    ]
    return PPoly.from_bernstein_basis(BPoly(np.hstack([part.c for part in parts]), np.radians(knots)))


@pytest.mark.benchmark(group="Profile of one disc at 3600 points")
@pytest.mark.parametrize("who", ["ours, exact", "shapely buffer of the pitch curve"])
def test_profile(benchmark: Any, who: str) -> None:
    lane = looked_at(8).solution.lanes["g0"]
    assert lane.profile is not None
    profile = lane.profile
    exact = profile.at(GRID)
    if who.startswith("ours"):
        benchmark(lambda: profile.at(GRID).profile)
        return
    pitch = shapely.Polygon(np.column_stack([exact.pitch.real, exact.pitch.imag]))
    made = pitch.buffer(-5.0, quad_segs=32)
    points = shapely.points(np.column_stack([exact.profile.real, exact.profile.imag]))
    benchmark.extra_info["greatest distance from the exact profile"] = (
        f"{shapely.distance(made.exterior, points).max():.4f} mm"
    )
    benchmark(lambda: pitch.buffer(-5.0, quad_segs=32))


@pytest.mark.benchmark(group="State intervals of 64 lanes")
@pytest.mark.parametrize("who", ["ours, to 1e-9 degree", "sampling at 0.01 degree"])
def test_states(benchmark: Any, who: str) -> None:
    from shaftscore.kinematics.motion.states import all_level_intervals

    lanes = [(lane.lane, lane.motion) for lane in looked_at(64).solution.lanes.values()]
    if who.startswith("ours"):
        benchmark(lambda: [all_level_intervals(lane, motion) for lane, motion in lanes])
        return
    fine = np.arange(36_000) / 100.0
    benchmark.extra_info["error of an end"] = "up to 0.01 degree"
    benchmark.pedantic(lambda: [sampled(lane, motion.at(fine)[0]) for lane, motion in lanes], rounds=3)


def sampled(lane: Any, output: Any) -> list[Any]:
    """Return the angles at which each level begins and ends, by looking at samples."""
    return [np.flatnonzero(np.diff((np.abs(output - mm) <= 1.0).astype(int))) for mm in lane.levels.values()]
