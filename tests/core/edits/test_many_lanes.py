"""Edits of many lanes at once: duplicates, rules and gates of blocks, parts of several lanes, series."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import BlockRef, apply_edit, duplicate_lanes, gates_from_blocks, states_of_blocks
from shaftscore.edits.duplicates import numbered_name
from shaftscore.edits.lanes_part import LanesPart
from shaftscore.edits.series import read_series
from shaftscore.model import Flow, Load, Project, Stack, replaced
from shaftscore.model.flow import Gate, Magazine, Outlet, Supply
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from tests.machines import at, exclusive, gate, machine, order, requires, within


def sower() -> Project:
    """Two gates and a flap: rules between them, a gate of each, an order of discs, a load."""
    first = replaced(gate("Gate 1", 40, 60), load=Load(moving_mass_g=30.0), station_deg=120.0, code="A7")
    flow = Flow(
        supplies=(Supply(id="silo"),),
        magazines=(Magazine(id="bin", source="silo", capacity=4),),
        outlets=(Outlet(id="out"),),
        gates=(
            Gate(id="gate-1_open", state=at("gate-1", "open"), source="bin", to="out"),
            Gate(id="other", state=at("flap", "open"), source="bin", to="out"),
        ),
    )
    rules = (
        exclusive(at("gate-1", "open"), at("gate-2", "open"), gap_deg=3.0),
        requires(at("gate-1", "open"), at("flap", "closed")),
        order(at("flap", "open"), at("gate-2", "open"), min_s=1.0),
        exclusive(within("flap", 2.0, 9.0), at("gate-2", "open")),
    )
    lanes = (first, gate("Gate 2", 140, 160), gate("Flap", 240, 260))
    stacks = (Stack(id="main", order=("gate-1", "gate-2", "flap")),)
    return machine(*lanes, flow=flow, rules=rules, stacks=stacks)


def test_a_lane_is_duplicated_with_its_rules_gate_and_load() -> None:
    project = sower()
    edited = duplicate_lanes(project, ["gate-1"])
    made = edited.project
    assert read_project(saved_form(made), "sower") == made
    copy = made.lanes[1]
    assert (edited.name, edited.lane_id, copy.label, copy.id) == (
        "Duplicate Gate 1",
        "gate_1",
        "Gate 3",
        "gate_1",
    )
    assert copy.code not in {None, "A7"}
    old = made.lane("gate-1")
    same = ("levels", "blocks", "load", "follower", "disc", "station_deg", "group")
    assert [getattr(copy, key) for key in same] == [getattr(old, key) for key in same]
    assert made.stacks[0].order == ("gate-1", "gate_1", "gate-2", "flap")
    first, needed, needed_too, *rest = made.rules
    assert first == exclusive(at("gate-1", "open"), at("gate-2", "open"), at("gate_1", "open"), gap_deg=3.0)
    assert needed == project.rules[1]
    assert needed_too == requires(at("gate_1", "open"), at("flap", "closed"))
    assert tuple(rest) == project.rules[2:]
    assert made.flow is not None
    assert [(g.id, g.state.lane, g.source) for g in made.flow.gates] == [
        ("gate-1_open", "gate-1", "bin"),
        ("other", "flap", "bin"),
        ("gate_1_open", "gate_1", "bin"),
    ]


def test_lanes_duplicated_together_speak_of_one_another() -> None:
    edited = apply_edit(sower(), "duplicate_lanes", lane_ids=["gate-2", "flap"])
    assert edited.name == "Duplicate 2 lanes"
    assert [lane.label for lane in edited.project.lanes] == ["Gate 1", "Gate 2", "Flap", "Gate 3", "Flap 2"]
    assert order(at("flap_2", "open"), at("gate_2", "open"), min_s=1.0) in edited.project.rules
    with pytest.raises(EditError, match="there is no lane"):
        duplicate_lanes(sower(), ["none"])


def test_names_go_on_with_the_next_free_number() -> None:
    assert numbered_name("Gate 3", {"Gate 3", "Gate 4"}) == "Gate 5"
    assert numbered_name("S09", {"S09"}) == "S10"
    assert numbered_name("Flap", {"Flap", "Flap 2"}) == "Flap 3"


def test_gates_are_made_of_the_states_of_blocks() -> None:
    project = sower()
    opened = [BlockRef(own, _place(project, own, "open")) for own in ("gate-2", "gate-1", "gate-2")]
    assert states_of_blocks(project, opened) == (at("gate-2", "open"), at("gate-1", "open"))
    edited = gates_from_blocks(project, opened, "bin", None)
    assert edited.name == "Make 1 gate, update 1"
    assert edited.project.flow is not None
    gates = {g.id: (g.state, g.source, g.to) for g in edited.project.flow.gates}
    assert gates == {
        "gate-1_open": (at("gate-1", "open"), "bin", None),
        "other": (at("flap", "open"), "bin", "out"),
        "gate_2_open": (at("gate-2", "open"), "bin", None),
    }
    with pytest.raises(EditError, match="bun"):
        gates_from_blocks(project, opened, "bun", None)


def _place(project: Project, lane_id: str, level: str) -> int:
    return [block.level for block in project.lane(lane_id).blocks].index(level)


def test_what_is_changed_in_one_form_goes_to_all_lanes_and_the_rest_stays() -> None:
    """Gate 1 has a load of 30 g; Gate 2 one with its own friction; Flap has none and gets all of it."""
    project = replaced(sower())
    second = replaced(project.lanes[1], load=Load(moving_mass_g=50.0, external_n=2.0))
    project = replaced(project, lanes=(project.lanes[0], second, project.lanes[2]))
    part = LanesPart(("gate-1", "gate-2", "flap"), "load")
    draft = {**part.draft(project), "moving_mass_g": 35.0}
    assert part.faults(project, draft) == []
    edited = part.edited(project, draft)
    assert edited.name == "Change the load of 3 lanes"
    assert [lane.load for lane in edited.project.lanes] == [
        Load(moving_mass_g=35.0),
        Load(moving_mass_g=35.0, external_n=2.0),
        Load(moving_mass_g=35.0),
    ]
    removed = part.edited(project, None).project
    assert [lane.load for lane in removed.lanes] == [None] * 3
    assert part.edited(project, part.draft(project)).project.lanes[1].load == second.load


def test_another_kind_of_follower_goes_to_all_and_a_fault_names_its_field() -> None:
    project = sower()
    part = LanesPart(("gate-1", "gate-2"), "follower")
    flat = {"kind": "translating-flat", "face_width_mm": 20.0}
    assert part.faults(project, flat) == []
    lanes = part.edited(project, flat).project.lanes
    assert [lane.follower.kind for lane in lanes] == ["translating-flat"] * 2 + ["translating-roller"]
    (fault,) = part.faults(project, {**part.draft(project), "roller_radius_mm": -1.0})
    assert fault.path == "roller_radius_mm"


@pytest.mark.parametrize(
    ("text", "values"),
    [
        ("0, 120, 240", [0, 120, 240, 0, 120]),
        ("0, 30, …", [0, 30, 60, 90, 120]),
        ("5; 4,5 ...", [5, 4.5, 4, 3.5, 3]),
        ("0, 120, 240...", [0, 120, 240, 360, 480]),
    ],
)
def test_a_series_goes_round_or_on(text: str, values: list[float]) -> None:
    series = read_series(text, lambda part: float(part.replace(",", ".")))
    assert series is not None
    assert [series.at(index) for index in range(5)] == values


def test_a_single_value_is_no_series() -> None:
    assert read_series("12,5", float) is None
    with pytest.raises(ValueError, match="goes on by no difference"):
        read_series("12 …", float)
