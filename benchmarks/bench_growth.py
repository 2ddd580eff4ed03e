"""How work grows: lanes, blocks a lane, gates and drawn machines, up to large ones.

The growth exponent is the slope of processor time over size on logarithmic scales, from the first size to the
last: 1 is in proportion. What grows faster than 1.1 is named on the page.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from typing import Any

import pytest

from benchmarks.bench_bounded import examined
from benchmarks.machines import fed_gates, gates
from shaftscore.judge.report import QUICK, examine
from shaftscore.judge.report.examine import examine_as_drawn
from shaftscore.judge.spread import find_spread
from shaftscore.solution import solve

Work = Callable[[], object]


def _lanes(count: int) -> Work:
    project = gates(count)
    return lambda: examine(project, stage=QUICK)


def _all_of_lanes(count: int) -> Work:
    project = gates(count)
    return lambda: examine(project)


def _blocks(count: int) -> Work:
    return examined(f"lane({count}, 0.005)", stage=QUICK)


def _all_of_blocks(count: int) -> Work:
    return examined(f"lane({count}, 0.005)")


def _gates(count: int) -> Work:
    project = fed_gates(count)
    return lambda: examine_as_drawn(project)


def _all_of_gates(count: int) -> Work:
    project = fed_gates(count)
    return lambda: examine(project)


def _machines(count: int) -> Work:
    solution = solve(gates(16))
    return lambda: find_spread(solution, machines=count)


SERIES: dict[str, tuple[Callable[[int], Work], tuple[int, ...]]] = {
    "lanes, quick stage": (_lanes, (64, 256, 1024)),
    "lanes, all that check reports": (_all_of_lanes, (64, 256, 1024)),
    "blocks of one lane, quick stage": (_blocks, (90, 180, 360, 720)),
    "blocks of one lane, all that check reports": (_all_of_blocks, (90, 180, 360, 720)),
    "gates on 64 lanes, as drawn with their flow": (_gates, (125, 250, 500, 1000)),
    "gates on 64 lanes, all that check reports": (_all_of_gates, (125, 250, 500, 1000)),
    "machines drawn of 16 lanes": (_machines, (2_500, 10_000, 40_000)),
}
"""What grows: how the work of a size is made, and the sizes."""

ROUNDS = 3


@pytest.mark.benchmark(group="How work grows", timer=time.process_time)
@pytest.mark.parametrize("what", SERIES)
def test_growth(benchmark: Any, what: str) -> None:
    make, sizes = SERIES[what]
    smaller = [_seconds(make(size)) for size in sizes[:-1]]
    work = make(sizes[-1])
    benchmark.pedantic(work, rounds=ROUNDS, warmup_rounds=1)
    times = [*smaller, float(benchmark.stats["min"])]
    benchmark.extra_info["sizes"] = ", ".join(
        f"{size:,}: {seconds * 1e3:.3g} ms" for size, seconds in zip(sizes, times, strict=True)
    )
    exponent = math.log(times[-1] / times[0]) / math.log(sizes[-1] / sizes[0])
    benchmark.extra_info["growth exponent"] = f"{exponent:.2f}"
    benchmark.extra_info["target"] = "1.1"


def _seconds(work: Work) -> float:
    """Return the least processor time of some rounds, after one that warms up."""
    work()
    spent = []
    for _ in range(ROUNDS):
        begin = time.process_time()
        work()
        spent.append(time.process_time() - begin)
    return min(spent)
