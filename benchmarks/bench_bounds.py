"""A flow as large as the format allows: processor time until `check` answers, or says what it leaves out.

1,000 magazines with streams of 1,666 items a turn are too many to simulate; with 25 each they are simulated.
"""

from __future__ import annotations

import time
from typing import Any

import pytest

from shaftscore.judge.flow.work import MOST_ITEMS
from shaftscore.judge.report import examine
from shaftscore.model import Block, Flow, Gate, Lane, LevelState, Magazine, Project, Shaft, Stack, Supply
from shaftscore.model.project import FORMAT, VERSION

MAGAZINES = 1000


def streaming(items: int) -> Project:
    """Return a machine whose one lane opens all magazines, each to let so many items out."""
    opened = LevelState(lane="a", level="open")
    blocks = (
        Block(level="open", start_deg=60, end_deg=120),
        Block(level="closed", start_deg=180, end_deg=360),
    )
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=tuple(
            Magazine(id=f"m{n}", source="hopper", capacity=2000, start_count=2000) for n in range(MAGAZINES)
        ),
        gates=tuple(
            Gate(
                id=f"g{n}",
                state=opened,
                source=f"m{n}",
                mode="stream",
                item_s=round(14.67 / (items + 0.5), 9),
                items=items,
            )
            for n in range(MAGAZINES)
        ),
    )
    return Project(
        format=FORMAT,
        version=VERSION,
        shaft=Shaft(turn="clockwise", speed_rpm=1.0),
        stacks=(Stack(id="main"),),
        lanes=(Lane(id="a", levels={"closed": 0.0, "open": 5.0}, blocks=blocks),),
        flow=flow,
    )


@pytest.mark.benchmark(group="Flow: 1000 magazines with streams")
@pytest.mark.parametrize("items", [1666, MOST_ITEMS // MAGAZINES])
def test_streams(benchmark: Any, items: int) -> None:
    project = streaming(items)
    begin = time.process_time()
    report = benchmark.pedantic(examine, args=(project,), rounds=1)
    seconds = time.process_time() - begin
    assert any(finding.rule == "not-checked" for finding in report.findings)
    benchmark.extra_info["processor time"] = f"{seconds:.1f} s"
    benchmark.extra_info["target"] = "10 s"
