"""Events per second of the flow's simulation beside SimPy, on one network, timed side by side.

Run with `python -m benchmarks.flow_events [gates] [turns]`. The network: that many gates, each with a
magazine on a supply of its own, all into one channel and one outlet, opening once a turn. The SimPy
model is as lean as its own style allows: a process for each supply, gate and item, no logs. An event is
a send, an arrival in a magazine, a release, an arrival at the channel's end, or an arrival at the outlet.
Both count their releases, which must agree. Ours also looks for collisions and compares the outlet's order.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Generator
from dataclasses import dataclass

import simpy

from core.angles import Arcs
from core.flow.clock import Clock
from core.flow.engine import Run
from core.flow.meetings import Meetings
from core.flow.network import network
from core.flow.order import Order
from core.model import Channel, Flow, Gate, LevelState, Magazine, Outlet, Supply

CYCLE_US = 10_000_000
TRAVEL_US = 400_000
EVENTS_PER_ITEM = 5

Process = Generator[simpy.Event, None, None]


@dataclass(frozen=True)
class Interval:
    """A state interval."""

    span: Arcs
    passing: bool = False
    blocks: tuple[int, ...] = (0,)


def begin_deg(index: int, gates: int) -> float:
    return 350.0 * index / gates


def ours(gates: int, turns: int) -> tuple[float, int]:
    """Give the seconds and the releases of our run."""
    names = [f"g{index}" for index in range(gates)]
    states = {
        LevelState(lane=name, level="open"): (Interval(Arcs.span(begin_deg(i, gates), 0.2)),)
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
    net = network(flow, Clock.of(6.0), states.get)
    meetings, order = Meetings(net, flow.channels), Order(net, flow)
    run = Run(net, (meetings, order))
    begin = time.perf_counter()
    for _ in range(turns):
        run.turn()
        run.state()
    seconds = time.perf_counter() - begin
    if run.shortfalls or meetings.found or order.found:
        raise SystemExit("the network of the benchmark is not clean")
    return seconds, gates * turns


def theirs(gates: int, turns: int) -> tuple[float, int]:
    """Give the seconds and the releases of SimPy's run."""
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


def main() -> None:
    """Print both speeds and their ratio, the best of three runs each."""
    gates, turns = (
        int(word) for word in [*sys.argv[1:3], "12", "2000"][: 2 if len(sys.argv) > 2 else None][:2]
    )
    speeds = {}
    for name, runs in (("shaftscore", ours), ("SimPy", theirs)):
        results = [runs(gates, turns) for _ in range(3)]
        seconds, released = min(results)
        speeds[name] = released * EVENTS_PER_ITEM / seconds
        print(f"{name:10} {released:8} releases  {seconds:7.3f} s  {speeds[name]:12,.0f} events/s")
    print(f"ratio {speeds['shaftscore'] / speeds['SimPy']:.1f}")


if __name__ == "__main__":
    main()
