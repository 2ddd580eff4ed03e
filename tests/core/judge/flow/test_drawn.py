"""The flow as it is drawn. Outside: networkx for what lies downstream and for the order of magazines."""

from __future__ import annotations

import networkx as nx
import pytest

from shaftscore.judge.flow import simulate
from shaftscore.judge.flow.drawn import (
    ChannelElement,
    ElementKind,
    FlowNetwork,
    GateElement,
    JudgedFlow,
    LineState,
    MagazineElement,
    OutletElement,
    SupplyElement,
    drawn_run,
    flow_network,
    key_of,
)
from shaftscore.model import Branch, Channel, Diverter, Flow, Outlet, Project, State
from tests.core.judge.flow.building import (
    Intervals,
    States,
    at,
    gate,
    magazine,
    opened,
    project,
    replaced,
    supply,
)

GATES = {"A": ("a1", "a2"), "B": ("b1", "b2", "b3")}
STARVING = {("gate", "b2"), ("gate", "b3")}


def _bar(rate: float = 9.0) -> tuple[Project, States]:
    """Two banks at 6 rev/min: m1 is drawn twice a turn, m2 three times; a flap leads all to the jar."""
    gates = [gate(name, f"m{bank}", "chute") for bank, names in GATES.items() for name in names]
    flap = Diverter(lane="flap", by_state=(_way("open", "jar"), _way("far", "bin")))
    flow = Flow(
        supplies=(supply("big_hopper", 30.0), supply("hopper", rate)),
        magazines=(magazine("mA", "big_hopper", start_count=2), magazine("mB", "hopper", start_count=3)),
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.2, headway_s=0.5, to=flap),),
        outlets=(Outlet(id="jar", expects=("measure",) * 5), Outlet(id="bin")),
        gates=tuple(replaced(one, item="measure") for one in gates),
    )
    made = project(flow, lanes=("flap",))
    groups = {name: f"Bank {bank}" for bank, names in GATES.items() for name in names}
    codes = {lane: f"{lane[0].upper()}{lane[1:]}" for lane in groups} | {"flap": "F1"}
    lanes = (replaced(one, group=groups.get(one.id, ""), code=codes[one.id]) for one in made.lanes)
    states: dict[State, Intervals] = {opened(own): (at(30.0 + 60.0 * n),) for n, own in enumerate(groups)}
    states |= {opened("flap"): (at(0.0, 360.0),), opened("flap", "far"): ()}
    return replaced(made, lanes=tuple(lanes)), states


def _way(level: str, to: str) -> Branch:
    return Branch(state=opened("flap", level), to=to)


def _drawn(made: Project, states: States, turns: int = 16) -> FlowNetwork:
    found = simulate(made, states)
    run = drawn_run(made, states.get, turns)
    return flow_network(JudgedFlow(made, run, found.findings, {}, found.magazines))


@pytest.fixture(scope="module")
def starved() -> FlowNetwork:
    """Fed 9 a minute, drawn 18: by hand 1.5 come and 3 go each turn; b1, the first, gets what came."""
    return _drawn(*_bar())


def test_the_cause_has_the_words_and_what_it_touches_the_sign(starved: FlowNetwork) -> None:
    store, feed = starved.by_key["magazine", "mB"], starved.by_key["supply", "hopper"]
    assert isinstance(store, MagazineElement)
    assert isinstance(feed, SupplyElement)
    assert store.mark is not None
    assert store.mark.words == f"empty in turn {store.empty_turn}"
    assert feed.is_short
    assert (store.demand_text, store.lowest_text) == ("18 per min", "lowest 0 of 4")
    graph = nx.DiGraph((line.start, line.end) for line in starved.lines)
    downstream = nx.descendants(graph, store.key)
    signs = {element.key for element in starved.elements if element.mark and not element.mark.words}
    assert signs == STARVING | {("outlet", "jar")}
    assert signs <= downstream
    assert starved.by_key["outlet", "jar"].spoken.endswith("Error: gets too little.")


def test_lines_fail_from_the_supply_up_to_the_gates_and_no_further(starved: FlowNetwork) -> None:
    failing = nx.DiGraph((one.start, one.end) for one in starved.lines if one.state is LineState.FAILS)
    assert nx.descendants(failing, ("supply", "hopper")) | {("supply", "hopper")} == set(failing)
    assert {key for key in failing if failing.out_degree(key) == 0} == STARVING
    to_bin = next(one for one in starved.lines if one.end == ("outlet", "bin"))
    assert to_bin.state is LineState.NOTHING
    # By hand: 5 measures a turn at 6 turns a minute; 1 + 30 / 7 is over 5.
    into = next(one for one in starved.lines if one.end == ("diverter", "chute"))
    assert (into.per_min, into.width) == (30.0, 5.0)


def test_what_is_written_on_gates_channels_and_outlets(starved: FlowNetwork) -> None:
    own = starved.by_key["gate", "b2"]
    assert isinstance(own, GateElement)
    assert (own.name, own.per_turn_text, own.height, own.rank) == ("B2 open", "1 a turn", 0.5, 1)
    assert own.spoken.startswith(
        "Gate B2 open, from MB to Chute, one item a turn. Error: opens empty from turn"
    )
    chute = starved.by_key["channel", "chute"]
    assert isinstance(chute, ChannelElement)
    # By hand: 60 degrees at 10 s a turn are 1.67 s, less the spread of 0.1 s.
    assert chute.travel_text == "0.10 to 0.20 s"
    assert chute.closest_s == pytest.approx(60 / 36 - 0.1, abs=1e-5)
    jar, bin_ = starved.by_key["outlet", "jar"], starved.by_key["outlet", "bin"]
    assert isinstance(jar, OutletElement)
    assert isinstance(bin_, OutletElement)
    assert jar.expects_text == "expects 5 measures"
    assert jar.is_short
    assert bin_.got_text == "nothing arrives"


def test_banks_fold_their_gates_into_piles_with_the_lines_of_all(starved: FlowNetwork) -> None:
    assert [bank.title for bank in starved.banks] == ["Bank A", "Bank B"]
    assert starved.starts_open == {"Bank A", "Bank B"}
    folded = starved.shown({"Bank A"})
    (pile,) = [element for element in folded.elements if element.kind is ElementKind.PILE]
    assert (pile.name, pile.mark is not None) == ("B1 to B3 open", True)
    inside = [line for line in folded.lines if line.end == pile.key]
    assert [(line.per_min, line.state) for line in inside] == [(18.0, LineState.FAILS)]
    assert folded.before[pile.key] == (("magazine", "mB"),)
    assert folded.after[pile.key] == (("channel", "chute"),)


def test_a_magazine_fed_through_gates_stands_behind_its_fillers_also_in_a_ring() -> None:
    """The longest way of networkx in what is no ring; a ring ends and keeps every magazine."""
    ways = [("a", "b"), ("b", "c"), ("a", "c"), ("c", "d"), ("x", "d")]
    made = _chained("abcdx", ways)
    longest = dict.fromkeys("abcdx", 0)
    for name in nx.topological_sort(graph := nx.DiGraph(ways)):
        longest[name] = max((longest[own] + 1 for own in graph.predecessors(name)), default=0)
    drawn = flow_network(JudgedFlow(made))
    depth = {own.id: drawn.columns[own.column].depth for own in drawn.elements if own.kind == "magazine"}
    assert depth == longest
    ring = flow_network(JudgedFlow(_chained("abc", [("a", "b"), ("b", "c"), ("c", "a")])))
    assert sum(own.kind is ElementKind.MAGAZINE for own in ring.elements) == 3


def _chained(names: str, ways: list[tuple[str, str]]) -> Project:
    gates = tuple(gate(f"g{n}", start, end) for n, (start, end) in enumerate(ways))
    return project(Flow(magazines=tuple(magazine(name) for name in names), gates=gates))


def test_a_thousand_gates_start_folded_and_are_bounded() -> None:
    names = [f"g{n}" for n in range(1_000)]
    flow = Flow(
        supplies=(supply("s"),),
        magazines=tuple(magazine(f"m{n}", "s") for n in range(100)),
        gates=tuple(gate(name, f"m{n % 100}") for n, name in enumerate(names)),
    )
    made = project(flow)
    states: States = {
        opened(name): tuple(at(float(begin), 0.1) for begin in range(0, 300, 20)) for name in names
    }
    run = drawn_run(made, states.get, 1_000)
    drawn = flow_network(JudgedFlow(made, run))
    assert not drawn.starts_open
    assert 0 < run.turns < 20  # 15 openings each are 15,000 a turn
    assert len(drawn.shown(()).elements) == 1 + 100 + 100


def test_nothing_is_said_that_is_not_known() -> None:
    made, _ = _bar()
    drawn = flow_network(JudgedFlow(made))
    own = drawn.by_key[key_of(ElementKind.GATE, "a1")]
    assert isinstance(own, GateElement)
    assert (own.per_turn, own.per_turn_text, drawn.turns) == (None, "", 0)
    blind = flow_network(JudgedFlow(made, drawn_run(made, lambda _: None)))
    still = blind.by_key[key_of(ElementKind.GATE, "a1")]
    assert isinstance(still, GateElement)
    assert still.per_turn_text == "no motion yet"
