"""Free zones, rules between lanes and tolerances, beside what a person would write first.

Free zones: one block among 64 lanes that may not be open together. Rules: overlaps of 64 gates, by their
exact intervals, beside sampling every lane at 0.01 degree. Tolerances: 10,000 drawn machines of 64 lanes in
one pass, beside a plain loop over machines and lanes that inverts each motion by halving; the loop runs over
few machines, and what 10,000 would take is stated beside. Both sides must agree, or there is no figure.
Run: `python -m benchmarks benchmarks/bench_proof.py`.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from benchmarks.machines import gates
from benchmarks.plain import output
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.checks import Memo
from shaftscore.judge.checks.exclusive import OVERLAP
from shaftscore.judge.checks.free_zones import free_zones
from shaftscore.judge.spread import draw_machines
from shaftscore.judge.spread.drawing import Drawing
from shaftscore.judge.spread.judging import judge, smallest
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.tally import MOST_MACHINES, MachineTally
from shaftscore.kinematics.motion.lane import LaneMotion
from shaftscore.model import Exclusive, Lane, LevelState, Project, replaced
from shaftscore.solution import Solution, solve

LANES = 64
MACHINES, FEW = 10_000, 10
STEP_DEG = 0.01
OPEN_MM = 9.0
"""Gates of 0 and 10 mm are open from here: the band is a tenth of the way."""


def one_at_a_time() -> Project:
    """Make 64 gates, of which one may be open at a time: each for 1 degree, with moves of 24."""
    project = gates(LANES)
    lanes = tuple(_short(lane, 5.6 * place) for place, lane in enumerate(project.lanes))
    states = tuple(LevelState(lane=lane.id, level="open") for lane in lanes)
    return replaced(project, lanes=lanes, rules=(Exclusive(kind="exclusive", states=states),))


def _short(lane: Lane, start: float) -> Lane:
    opened, closed = lane.blocks
    blocks = (
        replaced(opened, start_deg=start, end_deg=start + 1.0),
        replaced(closed, start_deg=(start + 25.0) - 360.0 * (start >= 335.0), end_deg=_end(start)),
    )
    return replaced(lane, blocks=tuple(sorted(blocks, key=lambda block: block.start_deg)))


def _end(start: float) -> float:
    return start + 336.0 - 360.0 * (start >= 335.0)


@pytest.mark.benchmark(group="Free zones of one block among 64 lanes, one open at a time")
def test_free_zones(benchmark: Any) -> None:
    project = one_at_a_time()
    solution = solve(project)
    index = next(n for n, block in enumerate(project.lanes[20].blocks) if block.level == "open")
    ref = BlockRef(project.lanes[20].id, index)
    found = benchmark(lambda: free_zones(solution, ref))
    assert not found.is_full
    benchmark.extra_info["target"] = "under 5 ms"


def clashing() -> Solution:
    """Make 64 gates in pairs that are open together for some degrees."""
    project = gates(LANES)
    for rule in project.rules:
        assert isinstance(rule, Exclusive)
        first, second = (project.lane(state.lane) for state in rule.states)
        start = first.blocks[0].start_deg + 5.0
        project = apply_edit(project, "place_block", ref=BlockRef(second.id, 0), start_deg=start).project
    return solve(project)


def by_intervals(solution: Solution) -> list[float]:
    """Return the overlaps that the check reports, degrees."""
    return sorted(finding.value or 0.0 for finding in OVERLAP.judge(solution, Memo()))


def by_samples(solution: Solution) -> list[float]:
    """Return the overlaps by looking at every 0.01 degree."""
    theta = np.arange(0.0, 360.0, STEP_DEG)
    opened = {}
    for lane_id, lane in solution.lanes.items():
        assert isinstance(lane.motion, LaneMotion)
        opened[lane_id] = lane.motion.at(theta)[0] >= OPEN_MM
    pairs = (rule.states for rule in solution.project.rules if isinstance(rule, Exclusive))
    both = (opened[one.lane] & opened[other.lane] for one, other in pairs)
    return sorted(float(np.count_nonzero(clash)) * STEP_DEG for clash in both)


@pytest.mark.benchmark(group="Overlaps of 64 gates in pairs")
@pytest.mark.parametrize("who", ["exact intervals", "samples at 0.01 degree"])
def test_rules(benchmark: Any, who: str) -> None:
    solution = clashing()
    looks: Callable[[Solution], list[float]] = by_intervals if who == "exact intervals" else by_samples
    found = benchmark(lambda: looks(solution))
    assert len(found) == LANES // 2
    assert found == pytest.approx(by_samples(solution), abs=3 * STEP_DEG)


def close_pairs() -> Solution:
    """Make 64 gates in pairs whose openings follow closely, on a shaft without any play."""
    project = gates(LANES)
    for rule in project.rules:
        assert isinstance(rule, Exclusive)
        first, second = (project.lane(state.lane) for state in rule.states)
        start = first.blocks[0].end_deg + 15.0
        project = apply_edit(project, "place_block", ref=BlockRef(second.id, 0), start_deg=start).project
    stacks = tuple(replaced(stack, fit_clearance_mm=0.0) for stack in project.stacks)
    sizes = replaced(project.tolerances, fit_spread_mm=0.0, station_mm=0.0, zero_mm=0.0)
    return solve(replaced(project, stacks=stacks, tolerances=sizes))


def drawn(machines: int) -> Machines:
    """Draw machines of the close pairs."""
    return draw_machines(close_pairs(), machines, seed=1)


def in_blocks(solution: Solution) -> int:
    """Draw as many machines as are ever drawn and return how many of them work."""
    tally = MachineTally()
    for block in Drawing.of(solution).blocks(MOST_MACHINES):
        tally.add(judge(block, None), block.count)
    assert tally.drawn == MOST_MACHINES
    return tally.held


def in_one_pass(made: Machines) -> list[bool]:
    """Return for each machine whether all rules hold."""
    return [bool(one) for one in smallest(judge(made, None), made.count)[1:] >= 0]


def one_by_one(made: Machines) -> list[bool]:
    """Return the same by looping over machines and lanes."""
    project, errors = made.project, made.errors
    shift = {lane.id: errors.shift_deg(lane.id) for lane in project.lanes}
    height = {lane.id: errors.height_mm(lane.id) for lane in project.lanes}
    works = []
    for row in range(1, made.count):
        spans = {
            lane.id: _open(lane, float(shift[lane.id][row]), float(height[lane.id][row]))
            for lane in project.lanes
        }
        pairs = (rule.states for rule in project.rules if isinstance(rule, Exclusive))
        works.append(all(_apart(spans[one.lane], spans[other.lane]) for one, other in pairs))
    return works


def _open(lane: Lane, shift: float, height: float) -> tuple[float, float]:
    """Return where a gate is open, by halving its rise and its fall."""
    block = next(block for block in lane.blocks if block.level == "open")
    rises = _halved(lane, block.start_deg - 24.0, block.start_deg, height)
    falls = _halved(lane, block.end_deg + 24.0, block.end_deg, height)
    return rises + shift, falls + shift


def _halved(lane: Lane, closed: float, opened: float, height: float) -> float:
    for _ in range(30):
        middle = (closed + opened) / 2
        if output(lane, middle)[0] + height >= OPEN_MM:
            opened = middle
        else:
            closed = middle
    return opened


def _apart(one: tuple[float, float], other: tuple[float, float]) -> bool:
    between = abs((one[0] + one[1] - other[0] - other[1]) / 2)
    return min(between, 360.0 - between) >= (one[1] - one[0] + other[1] - other[0]) / 2


@pytest.mark.benchmark(group="Tolerances: drawn machines of 64 lanes", timer=time.process_time)
@pytest.mark.parametrize("who", ["10,000 in one pass", "a plain loop over 10"])
def test_tolerances(benchmark: Any, who: str) -> None:
    assert one_by_one(drawn(FEW)) == in_one_pass(drawn(FEW))
    count, judges = (MACHINES, in_one_pass) if who == "10,000 in one pass" else (FEW, one_by_one)
    benchmark.pedantic(judges, setup=lambda: ((drawn(count),), {}), rounds=5, warmup_rounds=1)
    if judges is in_one_pass:
        benchmark.extra_info["target"] = "under 0.2 s"
    else:
        benchmark.extra_info["10,000 would take"] = f"{benchmark.stats['median'] * MACHINES / FEW:,.0f} s"


@pytest.mark.benchmark(group="Tolerances: drawn machines of 64 lanes", timer=time.process_time)
def test_tolerances_drawn_and_judged_in_blocks(benchmark: Any) -> None:
    solution = close_pairs()
    held = benchmark.pedantic(lambda: in_blocks(solution), rounds=3)
    assert 0 < held <= MOST_MACHINES
    benchmark.extra_info["machines"] = f"{MOST_MACHINES:,}, the most that are ever drawn"
    benchmark.extra_info["target"] = "under 0.5 s"
