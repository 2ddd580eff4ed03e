"""Events per second of the flow's simulation beside SimPy, on one network, timed side by side.

The network: that many gates, each with a
magazine on a supply of its own, all into one channel and one outlet, opening once a turn. The SimPy
model is as lean as its own style allows: a process for each supply, gate and item, no logs. An event is
a send, an arrival in a magazine, a release, an arrival at the channel's end, or an arrival at the outlet.
Both count their releases, which must agree. Ours also looks for collisions and compares the outlet's order.
"""

from __future__ import annotations

import time
from collections.abc import Generator
from dataclasses import dataclass
from typing import Any

import pytest
import simpy

from shaftscore.base.angles import Arcs
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import FlowRun
from shaftscore.judge.flow.meetings import Meetings
from shaftscore.judge.flow.network import network
from shaftscore.judge.flow.order import OutletOrder
from shaftscore.model import Channel, Flow, Gate, LevelState, Magazine, Outlet, Supply

CYCLE_US = 10_000_000
TRAVEL_US = 400_000
EVENTS_PER_ITEM = 5
GATES, TURNS = 12, 2000

Process = Generator[simpy.Event, None, None]


@dataclass(frozen=True)
class BenchInterval:
    """A state interval."""

    span: Arcs
    passing: bool = False
    blocks: tuple[int, ...] = (0,)


def begin_deg(index: int, gates: int) -> float:
    return 350.0 * index / gates


def ours(gates: int, turns: int) -> tuple[float, int]:
    """Return the seconds and the releases of our run."""
    names = [f"g{index}" for index in range(gates)]
    states = {
        LevelState(lane=name, level="open"): (BenchInterval(Arcs.span(begin_deg(i, gates), 0.2)),)
        for i, name in enumerate(names)
    }
    flow = Flow(
        supplies=tuple(Supply(id=f"s{name}", rate_per_min=7.0) for name in names),
        magazines=tuple(
            Magazine(id=name, source=f"s{name}", capacity=4, start_count=4, travel_s=0.4) for name in names
        ),
        channels=(Channel(id="chute", travel_min_s=0.4, travel_max_s=0.4, headway_s=0.001, to="cup"),),
        outlets=(Outlet(id="cup", expects=tuple(names)),),
        gates=tuple(
            Gate(id=name, state=LevelState(lane=name, level="open"), source=name, to="chute", item=name)
            for name in names
        ),
    )
    net = network(flow, CycleClock.of(6.0), states.get)
    meetings, order = Meetings(net, flow.channels), OutletOrder(net, flow)
    run = FlowRun(net, (meetings, order))
    begin = time.perf_counter()
    for _ in range(turns):
        run.turn()
        run.state()
    seconds = time.perf_counter() - begin
    if run.shortfalls or meetings.found or order.found:
        raise SystemExit("the network of the benchmark is not clean")
    return seconds, gates * turns


def theirs(gates: int, turns: int) -> tuple[float, int]:
    """Return the seconds and the releases of SimPy's run."""
    env = simpy.Environment()
    released = [0]
    interval = 60_000_000 // 7

    def travel(store: simpy.Container) -> Process:
        yield env.timeout(TRAVEL_US)
        yield store.put(1)

    def feed(store: simpy.Container, places: simpy.Container) -> Process:
        while True:
            yield env.timeout(interval)
            yield places.get(1)
            env.process(travel(store))

    def item(cup: list[int]) -> Process:
        yield env.timeout(TRAVEL_US)
        cup.append(env.now)

    def gate(offset: int, store: simpy.Container, places: simpy.Container, cup: list[int]) -> Process:
        yield env.timeout(offset)
        while True:
            if store.level:
                yield store.get(1)
                yield places.put(1)
                released[0] += 1
                env.process(item(cup))
            yield env.timeout(CYCLE_US)

    cup: list[int] = []
    for index in range(gates):
        store, places = simpy.Container(env, 4, 4), simpy.Container(env, 4, 0)
        env.process(feed(store, places))
        env.process(gate(round(begin_deg(index, gates) / 360 * CYCLE_US), store, places, cup))
    begin = time.perf_counter()
    env.run(until=turns * CYCLE_US)
    return time.perf_counter() - begin, released[0]


@pytest.mark.benchmark(group="Flow: 2000 turns of 12 gates")
@pytest.mark.parametrize("who", ["ours", "SimPy"])
def test_flow(benchmark: Any, who: str) -> None:
    runs = ours if who == "ours" else theirs
    seconds, released = benchmark.pedantic(runs, args=(GATES, TURNS), rounds=3, warmup_rounds=1)
    assert released == GATES * TURNS
    benchmark.extra_info["events a second"] = f"{released * EVENTS_PER_ITEM / seconds:,.0f}"
    if who == "ours":
        benchmark.extra_info["target"] = "20 times SimPy's"
    benchmark.extra_info["releases"] = f"{released:,}, the same in both"
