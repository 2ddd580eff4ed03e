"""Cures of the flow never ask for more than the file format lets a record hold."""

from __future__ import annotations

from shaftscore.judge.report import examine
from shaftscore.model import Channel, Flow, Gate, Magazine, Outlet, Supply
from tests.machines import at, gate, machine


def test_a_rate_that_no_supply_can_have_is_no_cure() -> None:
    """10,000 rev/min let out 200 a turn, 2,000,000 a minute: twice what `rate_per_min` can be."""
    flow = Flow(
        supplies=(Supply(id="s", rate_per_min=1000.0),),
        magazines=(Magazine(id="m", source="s", capacity=400, start_count=400),),
        channels=(Channel(id="c", to="cup"),),
        outlets=(Outlet(id="cup"),),
        gates=(
            Gate(
                id="g",
                state=at("a", "open"),
                source="m",
                to="c",
                mode="stream",
                item_s=1e-5,
                items=200,
            ),
        ),
    )
    report = examine(machine(gate("A", 60, 200), rpm=10_000.0, flow=flow))
    starved = [one for one in report.findings if one.rule == "starvation"]
    assert starved
    for one in starved:
        asked = one.cure.arguments.get("flow") if one.cure is not None and one.cure.edit else None
        rate = asked.supplies[0].rate_per_min if isinstance(asked, Flow) else None
        assert rate is None or rate <= 1e6
