"""Edits of the flow as a network. Outside: networkx says what can be reached, and so what would go round."""

from __future__ import annotations

import networkx as nx
import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import Edited
from shaftscore.edits.flow_network import (
    COLUMNS,
    LevelGates,
    NewEnd,
    add_diverter,
    add_gate,
    add_part,
    can_stand,
    cell_text,
    connect_parts,
    duplicate_parts,
    fitting_ends,
    gates_for_lanes,
    lanes_of_parts,
    level_rows,
    new_keys,
    part_label,
    plan_gates,
    removal_of,
    remove_parts_of_flow,
    rename_part,
    table_rows,
    unmatched_text,
    write_flow_cells,
)
from shaftscore.model import Channel, Diverter, Flow, LevelState, Project, replaced
from tests.spice_bar import spice_bar

FOUR = ("a1", "a2", "a3", "a4")


@pytest.fixture(scope="module")
def bar() -> Project:
    return spice_bar()


@pytest.fixture(scope="module")
def bare(bar: Project) -> Project:
    return replaced(bar, flow=None)


def _flow(edited: Edited) -> Flow:
    assert edited.project.flow is not None
    return edited.project.flow


# Gates for selected lanes


def test_from_nothing_one_step_makes_gates_with_their_magazines_and_a_channel(bare: Project) -> None:
    rows = level_rows(bare, FOUR)
    assert [(row.level, row.rank, row.source) for row in rows] == [
        ("left", 0, None),
        ("rest", 1, None),
        ("right", 2, None),
    ]
    chute = NewEnd("channel", "Main chute")
    asked = (
        LevelGates("left", 0, NewEnd("magazine", "Cumin seed"), chute, "cumin measure"),
        LevelGates("rest", 1),
        LevelGates("right", 2, NewEnd("magazine", "Coriander"), chute, "coriander measure"),
    )
    assert plan_gates(bare, FOUR, asked).text == "8 gates: 8 new, 0 updated"
    made = gates_for_lanes(bare, FOUR, asked)
    flow = _flow(made)
    assert [one.id for one in flow.magazines] == ["Cumin_seed", "Coriander"]
    assert [(one.id, one.to) for one in flow.channels] == [("Main_chute", "Outlet")]
    assert {(gate.state.lane, gate.state.level, gate.source) for gate in flow.gates} == {
        (lane, level, source)
        for lane in FOUR
        for level, source in (("left", "Cumin_seed"), ("right", "Coriander"))
    }
    # Asked again, the card shows what is there; a changed level updates four, no gate removes four.
    again = level_rows(made.project, FOUR)
    assert [row.item for row in again if row.source] == ["cumin measure", "coriander measure"]
    changed = (replaced_row(again[0], item="pinch"), again[1], replaced_row(again[2], source=None))
    assert plan_gates(made.project, FOUR, changed).text == "4 gates: 0 new, 4 updated, 4 removed"
    with pytest.raises(EditError, match="nothing to change"):
        gates_for_lanes(made.project, FOUR, again)


def replaced_row(row: LevelGates, **fields: object) -> LevelGates:
    return LevelGates(**(vars(row) | fields))  # type: ignore[arg-type]


def test_levels_are_matched_by_name_then_by_rank_and_what_has_neither_is_named(bare: Project) -> None:
    levels = {
        "a2": {"in": 0.0, "rest": 4.0, "out": 9.0},  # left is in, right is out: by rank
        "a3": {"rest": 0.0, "right": 5.0},  # right by name; left is at rank 0, which is "rest": taken
    }
    lanes = tuple(replaced(lane, levels=levels.get(lane.id, lane.levels), guarded=()) for lane in bare.lanes)
    made = replaced(bare, lanes=lanes)
    out = NewEnd("outlet", "Jar")
    rows = tuple(
        LevelGates(level, rank, NewEnd("magazine", level), out)
        for rank, level in enumerate(("left", "rest", "right"))
        if level != "rest"
    )
    rows = (rows[0], LevelGates("rest", 1), rows[1])
    edited = gates_for_lanes(made, FOUR[:3], rows)
    got = {(gate.state.lane, gate.state.level) for gate in _flow(edited).gates}
    assert got == {("a1", "left"), ("a1", "right"), ("a2", "in"), ("a2", "out"), ("a3", "right")}
    assert unmatched_text(made, plan_gates(made, FOUR[:3], rows)) == "A3 has no level for left."


def test_levels_at_which_lanes_differ_stay_as_they_are(bar: Project) -> None:
    rows = level_rows(bar, FOUR)  # a1 and a2 are fed by m0, a3 and a4 by m1
    assert [row.keeps for row in rows] == [True, False, True]
    assert plan_gates(bar, FOUR, rows).text == "0 gates: 0 new, 0 updated"


# Connect


def test_what_fits_is_what_leads_nowhere_round(bar: Project) -> None:
    """A channel may lead to every channel from which it cannot be reached (networkx)."""
    ways = [("p", "q"), ("q", "r"), ("s", "jar"), ("r", "jar"), ("chute", "jar")]
    assert bar.flow is not None
    channels = tuple(Channel(id=start, to=end) for start, end in ways)
    made = replaced(bar, flow=replaced(bar.flow, channels=channels))
    graph = nx.DiGraph(ways)
    for start, _ in ways:
        may = {own for kind, own in fitting_ends(made, ("channel", start)) if kind == "channel"}
        assert may == {own for own, _ in ways if own != start and start not in nx.descendants(graph, own)}
    assert fitting_ends(made, ("supply", "hopper")) == {("magazine", f"m{n}") for n in range(6)}
    assert ("magazine", "m0") not in fitting_ends(made, ("gate", "a1-left"))
    assert ("magazine", "m1") in fitting_ends(made, ("gate", "a1-left"))
    assert not fitting_ends(made, ("outlet", "jar"))
    with pytest.raises(EditError, match="Channel R cannot lead to Channel P"):
        connect_parts(made, ("channel", "r"), ("channel", "p"))


def test_lines_lead_elsewhere_and_diverters_get_ways(bar: Project) -> None:
    fed = _flow(connect_parts(bar, ("magazine", "m3"), ("gate", "a1-left")))
    assert next(gate for gate in fed.gates if gate.id == "a1-left").source == "m3"
    split = add_diverter(bar, "chute", "flap").project
    binned = add_part(split, "outlet", "Waste bin", after=("diverter", "chute"))
    assert new_keys(split, binned.project) == (("outlet", "Waste_bin"),)
    way = _flow(binned).channels[0].to
    assert isinstance(way, Diverter)
    assert [(one.state.level, one.to) for one in way.by_state] == [("bin", "jar"), ("jar", "Waste_bin")]
    with pytest.raises(EditError, match="every level of Flap has a way"):
        connect_parts(binned.project, ("diverter", "chute"), ("outlet", "jar"))
    turned = (
        _flow(connect_parts(binned.project, ("diverter", "chute"), ("outlet", "jar"), way=1)).channels[0].to
    )
    assert isinstance(turned, Diverter)
    assert [one.to for one in turned.by_state] == ["jar", "jar"]
    assert can_stand(binned.project, ("channel", "chute")) == ()


# Add and rename


def test_names_have_spaces_and_ids_are_made(bare: Project) -> None:
    made = add_part(bare, "supply", "Coriander hopper").project
    made = add_part(made, "magazine", "Coriander", after=("supply", "Coriander_hopper")).project
    made = add_gate(made, "Coriander", "a4", "right").project
    made = add_part(made, "channel", "Long chute", after=("gate", "A4_right")).project
    flow = made.flow
    assert flow is not None
    assert flow.magazines[0].source == "Coriander_hopper"
    assert (flow.gates[0].state, flow.gates[0].to) == (LevelState(lane="a4", level="right"), "Long_chute")
    named = rename_part(made, ("magazine", "Coriander"), "Café (2)")
    assert named.name == "Rename Coriander to Cafe 2"
    assert _flow(named).gates[0].source == "Cafe_2"
    assert part_label(named.project, ("gate", "A4_right")) == "Gate A4 right"
    with pytest.raises(EditError, match="named by its lane"):
        rename_part(made, ("gate", "A4_right"), "Mine")
    with pytest.raises(EditError, match="needs a name"):
        rename_part(made, ("channel", "Long_chute"), "  ")


# Remove


def test_what_cannot_do_without_goes_too_and_the_rest_loses_a_line(bar: Project) -> None:
    plan = removal_of(bar, [("magazine", "m0")])
    assert plan.button == "Remove with 4 gates"
    edited = remove_parts_of_flow(bar, [("magazine", "m0")])
    assert edited.name == "Remove Magazine M0 with 4 gates"
    assert len(_flow(edited).gates) == 20
    hopper = removal_of(bar, [("supply", "hopper")])
    assert (hopper.button, len(hopper.cut)) == ("Remove", 6)
    assert all(one.source is None for one in _flow(remove_parts_of_flow(bar, hopper.keys)).magazines)
    jar = removal_of(bar, [("outlet", "jar")])
    assert jar.dependents == (("channel", "chute"),)
    without = _flow(remove_parts_of_flow(bar, jar.keys))
    assert all(gate.to is None for gate in without.gates)
    assert bar.flow is not None
    everything = [
        ("supply", "hopper"),
        ("outlet", "jar"),
        *(("magazine", one.id) for one in bar.flow.magazines),
    ]
    assert remove_parts_of_flow(bar, everything).project.flow is None
    split = add_diverter(bar, "chute", "flap").project
    assert _flow(remove_parts_of_flow(split, [("diverter", "chute")])).channels == bar.flow.channels


# Duplicate


def test_copies_stand_on_new_lanes_with_their_lines_and_names(bar: Project) -> None:
    keys = [("magazine", "m0"), ("gate", "a1-left"), ("gate", "a1-right"), ("channel", "chute")]
    assert lanes_of_parts(bar, keys) == ("a1",)
    edited = duplicate_parts(bar, keys, {"a1": "b2"})
    assert set(new_keys(bar, edited.project)) == {
        ("magazine", "M0_B2"),
        ("gate", "B2_left"),
        ("gate", "B2_right"),
        ("channel", "Chute_B2"),
    }
    flow = _flow(edited)
    copies = {gate.id: gate for gate in flow.gates if gate.id.startswith("B2")}
    assert {(one.source, one.to, one.state.lane) for one in copies.values()} == {("M0_B2", "Chute_B2", "b2")}
    assert next(one for one in flow.magazines if one.id == "M0_B2").source is None
    assert next(one for one in flow.channels if one.id == "Chute_B2").to == "jar"
    with pytest.raises(EditError, match="Flap has no level for A1 right"):
        duplicate_parts(bar, [("gate", "a1-right")], {"a1": "flap"})


# As a table


def test_a_table_written_back_as_it_is_changes_nothing(bar: Project) -> None:
    made = add_diverter(bar, "chute", "flap").project
    flow = made.flow
    assert flow is not None
    parts = [*flow.supplies, *flow.magazines, *flow.gates, *flow.channels, *flow.outlets]
    texts = {
        (key, number): cell_text(made, part, column)
        for key, part in zip(table_rows(made), parts, strict=True)
        for number, column in enumerate(COLUMNS)
    }
    assert write_flow_cells(made, texts).project is made


def test_names_and_values_of_many_rows_are_written_in_one_step(bar: Project) -> None:
    """Also 1,000 rows at once: names swapped, what refers to them follows."""
    heads = [column.title for column in COLUMNS]
    assert bar.flow is not None
    store = bar.flow.magazines[0]
    many = tuple(replaced(store, id=f"M{n}") for n in range(1_000))
    made = replaced(bar, flow=replaced(bar.flow, magazines=(*bar.flow.magazines, *many)))
    cells = {(("magazine", one.id), heads.index("Capacity")): "30" for one in many}
    cells |= {(("magazine", one.id), heads.index("Name")): f"Box {n}" for n, one in enumerate(many)}
    cells |= {
        (("magazine", "m0"), heads.index("Name")): "Salt",
        (("gate", "a1-left"), heads.index("Lane")): "B2",
    }
    flow = _flow(write_flow_cells(made, cells))
    assert [(one.id, one.capacity) for one in flow.magazines[-2:]] == [("Box_998", 30), ("Box_999", 30)]
    gate = next(gate for gate in flow.gates if gate.id == "a1-left")
    assert (gate.source, gate.state) == ("Salt", LevelState(lane="b2", level="left"))
    with pytest.raises(EditError, match='Gate A1 left, From: nothing is called "Pepper"'):
        write_flow_cells(bar, {(("gate", "a1-left"), heads.index("From")): "Pepper"})
    with pytest.raises(EditError, match=r"Capacity: a whole number is wanted, got 2\.5"):
        write_flow_cells(bar, {(("magazine", "m1"), heads.index("Capacity")): "2.5"})
