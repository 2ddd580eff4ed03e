"""The simulation against the same network built in SimPy (simpy_model.py): event for event."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs
from shaftscore.base.progress import Silent
from shaftscore.judge.flow.clock import CycleClock
from shaftscore.judge.flow.engine import EventKind, FlowRun
from shaftscore.judge.flow.meetings import Meetings, NearMeeting
from shaftscore.judge.flow.network import Network, network
from shaftscore.judge.flow.observed import Lost, Observer
from shaftscore.judge.flow.order import OutletOrder
from shaftscore.model import (
    Branch,
    Channel,
    Diverter,
    Flow,
    Gate,
    LevelState,
    Magazine,
    Outlet,
    Reload,
    State,
    Supply,
)
from tests.core.judge.flow.building import Intervals, PlainInterval, opened, project
from tests.core.judge.flow.simpy_model import Angles, Model

TURNS = 7
KINDS = {
    EventKind.SENT: "sent",
    EventKind.ARRIVED: "arrived",
    EventKind.LEFT: "left",
    EventKind.EMPTY: "empty",
    EventKind.NO_ROOM: "no room",
}
SPEEDS = st.sampled_from([6.0, 6.0, 7.0, 11.3])
RATES = st.sampled_from([None, 3.0, 6.0, 7.0, 7.3, 12.0, 18.0, 25.0])
GRID_S = st.integers(0, 12).map(lambda n: n * 0.5)
NAMES = st.sampled_from(["nut", "pin"])


@st.composite
def intervals(draw: st.DrawFn, *, most: int = 3) -> Intervals:
    """Return some disjoint stretches of the circle on a grid of 18 degrees (0.5 s), or off it."""
    count = draw(st.integers(1, most))
    cuts = sorted(draw(st.lists(st.integers(0, 19), min_size=2 * count, max_size=2 * count, unique=True)))
    shift = draw(st.sampled_from([0.0, 0.0, 5.0, 7.3123]))
    turned = draw(st.booleans())
    pairs = list(zip(cuts[::2], cuts[1::2], strict=True))
    if turned:
        pairs = list(zip(cuts[1::2], [*cuts[2::2], cuts[0] + 20], strict=True))
    return tuple(
        PlainInterval(
            Arcs.span(18.0 * a + shift, 18.0 * (b - a)), draw(st.sampled_from([False, False, False, True]))
        )
        for a, b in pairs
    )


Case = tuple[Flow, dict[State, Intervals], float]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """Return networks with supplies, cascades, gates, channels, diverters and outlets."""
    states: dict[State, Intervals] = {}
    supplies = tuple(Supply(id=f"s{i}", rate_per_min=draw(RATES)) for i in range(draw(st.integers(1, 2))))
    first = [draw(magazines(f"m{i}", supplies)) for i in range(draw(st.integers(1, 3)))]
    later = [draw(magazines(f"n{i}", None)) for i in range(draw(st.integers(0, 2)))]
    outlets = [
        Outlet(id=f"o{i}", expects=draw(st.none() | st.lists(NAMES, max_size=4).map(tuple))) for i in range(2)
    ]
    channels: list[Channel] = []
    ends = [m.id for m in later] + [o.id for o in outlets]
    for index in range(draw(st.integers(1, 3))):
        channels.append(draw(ways(f"c{index}", ends + [c.id for c in channels], states)))
    gates: list[Gate] = []
    for place, store in enumerate([*first, *later]):
        ahead = [m.id for m in later[max(0, place + 1 - len(first)) :]]
        led = _leading(channels, ahead + [o.id for o in outlets])
        goals = ahead + [o.id for o in outlets] + 3 * led
        for _ in range(draw(st.integers(1, 2))):
            gates.append(draw(gates_of(f"g{len(gates)}", store.id, goals, states)))
    order = draw(st.permutations(gates))
    flow = Flow(
        supplies=supplies,
        magazines=(*first, *later),
        channels=tuple(channels),
        outlets=tuple(outlets),
        gates=tuple(order),
    )
    return flow, states, draw(SPEEDS)


def _leading(channels: Sequence[Channel], ends: Sequence[str]) -> list[str]:
    """Channels that lead to some of the ends alone, so that no item comes back to its magazine."""
    good: list[str] = []
    for channel in channels:
        goals = [b.to for b in channel.to.by_state] if isinstance(channel.to, Diverter) else [channel.to]
        if all(goal in ends or goal in good for goal in goals):
            good.append(channel.id)
    return good


@st.composite
def magazines(draw: st.DrawFn, name: str, supplies: Sequence[Supply] | None) -> Magazine:
    capacity = draw(st.integers(1, 4))
    source = draw(st.sampled_from(supplies)).id if supplies else None
    start = draw(st.integers(0, capacity))
    return Magazine(id=name, source=source, travel_s=draw(GRID_S), capacity=capacity, start_count=start)


@st.composite
def ways(draw: st.DrawFn, name: str, ends: Sequence[str], states: dict[State, Intervals]) -> Channel:
    least = draw(GRID_S)
    most = least + draw(st.sampled_from([0.0, 0.0, 0.25, 1.0]))
    to: str | Diverter = draw(st.sampled_from(ends))
    if draw(st.booleans()):
        cut = [LevelState(lane=name, level=level) for level in ("open", "far")]
        for state in cut:
            states[state] = draw(intervals())
        to = Diverter(lane=name, by_state=tuple(Branch(state=s, to=draw(st.sampled_from(ends))) for s in cut))
    headway = draw(st.sampled_from([0.0, 0.1, 0.5, 2.0, 11.0]))
    return Channel(id=name, travel_min_s=least, travel_max_s=most, headway_s=headway, to=to)


@st.composite
def gates_of(
    draw: st.DrawFn, name: str, store: str, goals: Sequence[str], states: dict[State, Intervals]
) -> Gate:
    states[opened(name)] = draw(intervals())
    reload = None
    if draw(st.integers(0, 3)) == 0:
        reload = Reload(state=opened(name, "closed"), item_s=draw(GRID_S))
        states[reload.state] = draw(intervals())
    stream = draw(st.booleans())
    return Gate(
        id=name,
        state=opened(name),
        source=store,
        to=draw(st.sampled_from([None, *goals])),
        mode="stream" if stream else "single",
        item_s=draw(st.sampled_from([0.25, 0.5, 1.0])) if stream else draw(st.sampled_from([0.0, 0.0, 1.0])),
        items=draw(st.integers(0, 4)) if stream else 1,
        item=draw(NAMES),
        reload=reload,
    )


def plain(states: dict[State, Intervals], state: State) -> list[Angles]:
    return [(i.span.start, i.span.length, i.passing) for i in states[state]]


@settings(max_examples=250)
@given(cases())
def test_same_events_as_simpy(case: Case) -> None:
    flow, states, speed = case
    model = Model(flow, speed, lambda state: plain(states, state), TURNS).run()
    net = network(flow, CycleClock.of(speed), states.get)
    lost, meetings, order = Lost(net), Meetings(net, flow.channels), OutletOrder(net, flow)
    run = FlowRun(net, (lost, meetings, order), record=True)
    for turn in range(TURNS):
        if turn & 1:
            run.state()  # must not change what happens
        run.turn()
    last = run.state()
    names = [[m.id for m in flow.magazines], [flow.gates[slot.gate].id for slot in net.slots]]
    ours = [
        (time, KINDS[kind], names[kind > EventKind.ARRIVED][index]) for time, kind, index in run.events or ()
    ]

    assert sorted(ours) == sorted(model.log)
    assert _unrecorded(net, flow) == (last, run.shortfalls, run.lowest, run.lowest_at)
    assert [len(store.items) for store in model.stores.values()] == run.count
    assert {(m.near.channel, _gates(net, m.near)) for m in meetings.found} == model.meetings()
    assert {(flow.gates[g].id, item.turn) for g, item in lost.found.items()} == _first(model)
    assert _shortfalls(run) == _earliest(((rule, gate), turn) for rule, gate, turn in model.short)
    wrong = {found.outlet: found.turn for found in order.found}
    for outlet in flow.outlets:
        turns = model.wrong_turns(outlet.id, outlet.expects) if outlet.expects else set()
        assert (wrong[outlet.id] in turns) if outlet.id in wrong else not turns


@settings(max_examples=150)
@given(cases())
def test_each_starving_gate_is_found_where_simpy_sees_it_first(case: Case) -> None:
    flow, states, speed = case
    model = Model(flow, speed, lambda state: plain(states, state), TURNS).run()
    made = project(flow, speed, lanes={state.lane for state in states})
    judged = Observer(TURNS).observe(made, CycleClock.of(speed), states.get, Silent()).judged
    seen = {one.finding.lanes[0]: one.finding for one in judged if one.finding.rule == "starvation"}
    first: dict[str, int] = {}
    for gate, time in model.starved:
        first[gate] = min(time, first.get(gate, time))
    turns = {gate: time // model.cycle + 1 for gate, time in first.items()}
    assert {gate: found.turn for gate, found in seen.items()} == turns
    for gate, found in seen.items():
        assert found.start_deg == pytest.approx(first[gate] % model.cycle * 360 / model.cycle, abs=1e-3)


def _gates(net: Network, near: NearMeeting) -> frozenset[str]:
    return frozenset(net.gates[net.slots[slot].gate].id for slot in (near.first, near.second))


def _unrecorded(net: Network, flow: Flow) -> tuple[object, ...]:
    """The same run without a record, which takes shorter ways."""
    run = FlowRun(net, (Lost(net), Meetings(net, flow.channels), OutletOrder(net, flow)))
    for _ in range(TURNS):
        run.turn()
    return run.state(), run.shortfalls, run.lowest, run.lowest_at


def _shortfalls(run: FlowRun) -> dict[tuple[str, str], int]:
    """The first turn in which each gate broke each of the rules about releases."""
    names = {"more": "double-release", "empty": "starvation", "no room": "missed-release"}
    gates = [run.network.gates[opening.gate].id for opening in run.network.openings]
    never = [("missed-release", index, 0) for index, o in enumerate(run.network.openings) if o.why]
    fell = [(names[kind], index, fall.turn) for (index, kind), fall in run.shortfalls.items()]
    return _earliest(((rule, gates[index]), turn) for rule, index, turn in never + fell)


def _earliest(entries: Iterable[tuple[tuple[str, str], int]]) -> dict[tuple[str, str], int]:
    found: dict[tuple[str, str], int] = {}
    for key, turn in entries:
        found[key] = min(turn, found.get(key, turn))
    return found


def _first(model: Model) -> set[tuple[str, int]]:
    firsts: dict[str, int] = {}
    for gate, time in model.lost:
        firsts.setdefault(gate, time // model.cycle)
    return set(firsts.items())
