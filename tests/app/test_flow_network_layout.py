"""The network's layout: columns, banks, lines and keys. Outside: scipy's isotonic regression."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import isotonic_regression

from shaftscore.edits.flow_network import connect_parts
from shaftscore.judge.flow import FlowHistory, Passage
from shaftscore.judge.flow.drawn import ElementKind, FlowNetwork, JudgedFlow, flow_network
from shaftscore_app.views.flow_network.moment import RunMoments, TurnCounter
from shaftscore_app.views.flow_network.paths import along_column, bank_stop, beside
from shaftscore_app.views.flow_network.places import Box, NetworkPlaces, lay_out, spread_down
from shaftscore_app.views.flow_network.routes import routes_of
from tests.app.starved_bar import BANKS, starved_bar

TWO = ("Earth bank", "Red bank")


def network() -> FlowNetwork:
    """Return the bar's network without a run: places do not depend on it."""
    return flow_network(JudgedFlow(starved_bar()))


def laid(*open_banks: str, u: float = 1.0) -> NetworkPlaces:
    return lay_out(network(), open_banks, u)


def boxes_of(places: NetworkPlaces, kind: ElementKind) -> list[Box]:
    return [places.boxes[one.key] for one in places.shown.elements if one.kind is kind]


def test_24_gates_fit_620_px_with_two_banks_open_and_rows_are_24_px_apart() -> None:
    places = laid(*TWO)
    assert places.height <= 620.0
    assert set(places.banks) == set(BANKS.values())
    rows = sorted({box.middle for box in boxes_of(places, ElementKind.GATE)})
    assert len(rows) == 16
    steps = [after - before for before, after in itertools.pairwise(rows)]
    assert min(steps) == 24.0
    assert steps.count(24.0) == 12
    assert len(boxes_of(places, ElementKind.PILE)) == 2


@pytest.mark.parametrize("u", [0.8, 1.0, 2.0])
@pytest.mark.parametrize("open_banks", [(), TWO, tuple(BANKS.values())])
def test_nothing_overlaps_and_every_place_of_an_element_is_its_own(
    u: float, open_banks: tuple[str, ...]
) -> None:
    places = laid(*open_banks, u=u)
    for one, other in itertools.combinations(places.boxes.values(), 2):
        assert not one.meets(other)
    for key, box in places.boxes.items():
        assert places.element_at(box.left + box.width / 2, box.middle) == key
        assert places.hit(key).height >= 24.0 * u
        assert box.bottom <= places.height
        assert box.right <= places.width


def test_columns_stay_where_they_are_whatever_is_open() -> None:
    lefts = [tuple(head.left for head in laid(*banks).heads) for banks in ((), TWO, tuple(BANKS.values()))]
    assert len(set(lefts)) == 1


def test_gates_of_one_channel_share_a_bus_as_thick_as_their_flow_together() -> None:
    own = network()
    lines = tuple(
        replace(line, per_min=3.5) if line.end == ("channel", "chute") else line for line in own.lines
    )
    places = lay_out(replace(own, lines=lines), TWO)
    trunks = [route for route in routes_of(places).all if len(route.lines) > 1]
    assert {route.per_min for route in trunks} == {24 * 3.5}
    assert {route.width for route in trunks} == {5.0}  # 1 + 84/7 is more than the most
    assert len({route.start[0] for route in trunks}) == 1
    stubs = [r for r in routes_of(places).all if r.lines[0].start[0] == "gate" and len(r.lines) == 1]
    assert {route.width for route in stubs} == {1.5}
    assert {route.end[0] for route in stubs} == {trunks[0].start[0]}


def test_a_magazine_that_a_gate_fills_stands_further_right_and_lines_to_it_lead_right() -> None:
    made = connect_parts(starved_bar(), ("gate", "a1_left"), ("magazine", "paprika")).project
    own = flow_network(JudgedFlow(made))
    places = lay_out(own, tuple(BANKS.values()))
    gate, magazine = places.boxes["gate", "a1_left"], places.boxes["magazine", "paprika"]
    assert gate.right < magazine.left < places.boxes["gate", "b1_left"].left
    assert beside(places, ("gate", "a1_left"), right=True) == ("magazine", "paprika")
    for one, other in itertools.combinations(places.boxes.values(), 2):
        assert not one.meets(other)


def test_a_line_that_leads_back_ends_at_its_element() -> None:
    made = connect_parts(starved_bar(), ("diverter", "chute"), ("magazine", "pepper"), 1).project
    places = lay_out(flow_network(JudgedFlow(made)), ())
    back = [r for r in routes_of(places).all if r.lines[0].end == ("magazine", "pepper")][-1]
    box = places.boxes["magazine", "pepper"]
    assert back.end == (box.left, box.middle)


def test_boxes_keep_their_order_and_are_as_near_as_they_can_be() -> None:
    rng = np.random.default_rng(3)
    wanted, heights = rng.uniform(0, 400, 12), rng.uniform(20, 60, 12)
    tops = spread_down([*wanted], [*heights], gap=8.0, top=-1e9, bottom=1e9)
    offsets = np.concatenate([[0.0], np.cumsum(heights + 8.0)[:-1]])
    expected = isotonic_regression(wanted - heights / 2 - offsets).x + offsets
    assert tops == pytest.approx(expected)
    kept = spread_down([*wanted], [*heights], gap=8.0, top=30.0, bottom=1000.0)
    assert min(kept) >= 30.0
    assert kept[-1] + heights[-1] <= 1000.0


def test_keys_go_along_lines_and_down_the_column_over_the_headings_of_banks() -> None:
    places = laid(*TWO)
    assert beside(places, ("gate", "a4_right"), right=False) == ("magazine", "coriander")
    assert beside(places, ("magazine", "coriander"), right=False) == ("supply", "coriander_hopper")
    assert beside(places, ("channel", "chute"), right=True) == ("diverter", "chute")
    assert along_column(places, ("magazine", "coriander"), 1) == bank_stop("Red bank")
    assert along_column(places, bank_stop("Red bank"), 1, 1) == ("magazine", "paprika")
    assert along_column(places, ("outlet", "bin"), 1) == ("outlet", "bin")


def test_the_moment_of_a_run_counts_turns_through_zero() -> None:
    passage = Passage(gate="g", enters_us=1_250_000, leaves_us=1_400_000, latest_us=1_500_000)
    history = FlowHistory(1_000_000, 1, 3, {"m": ((0, 4), (500_000, 3), (1_250_000, 2))}, {"c": (passage,)})
    turns = TurnCounter()
    for deg in (0.0, 170.0, 350.0, 10.0, 135.0):
        turns.follow(deg)
    now = RunMoments(history).at(turns.turn, 135.0)  # 1.375 s
    assert (now.turn, now.counts["m"], now.under_way["c"]) == (2, 2, (0.5,))
    turns.follow(350.0)
    assert turns.turn == 1
    assert RunMoments(history).at(1, 179.0).counts["m"] == 4
