"""Flows that contradict themselves: one clear fault each, from the loader and from edits alike."""

from __future__ import annotations

import json

import pytest

from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import words
from shaftscore.judge.flow import simulate
from shaftscore.model import Channel, Flow, Outlet
from shaftscore.model.loader import read_project
from tests.core.judge.flow.building import at, gate, magazine, one, opened, project, supply


def as_file(**flow: object) -> bytes:
    lane = {"id": "mint", "levels": {"closed": 0.0, "open": 10.0}, "blocks": []}
    gates = [{"id": "g", "state": {"lane": "mint", "level": "open"}, "from": "m", "to": "chute"}]
    whole = {
        "supplies": [{"id": "s"}],
        "magazines": [{"id": "m", "from": "s", "capacity": 4}],
        "channels": [{"id": "chute", "travel_max_s": 0.5, "headway_s": 0.1, "to": "cup"}],
        "outlets": [{"id": "cup"}],
        "gates": gates,
        **flow,
    }
    made = {
        "format": "shaftscore-project",
        "version": 1,
        "shaft": {"turn": "clockwise", "speed_rpm": 6.0},
        "lanes": [lane],
        "flow": whole,
    }
    return json.dumps(made).encode()


def test_the_good_file_is_read() -> None:
    assert read_project(as_file(), "good.shaft").flow is not None


@pytest.mark.parametrize(
    ("flow", "fault"),
    [
        (
            {"channels": [{"id": "chute", "headway_s": 10.5, "to": "cup"}]},
            "flow.channels[0].headway_s: 10.5 s is longer than a turn, 10 s at 6 rev/min",
        ),
        (
            {"channels": [{"id": "chute", "travel_min_s": 0.5, "travel_max_s": 0.4, "to": "cup"}]},
            "flow.channels[0].travel_max_s: must be at least travel_min_s, 0.5 s, got 0.4 s",
        ),
        (
            {"magazines": [{"id": "m", "from": "s", "capacity": -1}]},
            "flow.magazines[0].capacity: must be at least 1, got -1",
        ),
        (
            {"magazines": [{"id": "m", "from": "s", "capacity": 4, "start_count": 5}]},
            "flow.magazines[0].start_count: 5 is over the capacity of 4",
        ),
    ],
)
def test_one_fault_with_its_path(flow: dict[str, object], fault: str) -> None:
    with pytest.raises(ProjectError) as raised:
        read_project(as_file(**flow), "bad.shaft")
    assert [str(found) for found in raised.value.faults] == [fault]


def test_a_headway_of_just_one_turn_is_accepted() -> None:
    channel = {"id": "chute", "headway_s": 10.0, "to": "cup"}
    assert read_project(as_file(channels=[channel]), "edge.shaft").flow is not None


def test_an_edit_refuses_what_the_loader_would() -> None:
    made = read_project(as_file(), "good.shaft")
    with pytest.raises(EditError, match=r"0\.1 s is longer than a turn, 0\.05 s at 1200 rev/min"):
        apply_edit(made, "set_shaft", speed_rpm=1200.0)


def test_without_a_flow_there_is_nothing_to_simulate() -> None:
    with pytest.raises(ValueError, match="has no flow"):
        simulate(
            project(Flow()).__class__(format="shaftscore-project", version=2, shaft=project(Flow()).shaft), {}
        )


def test_a_stream_of_too_many_items_is_not_simulated_and_says_so() -> None:
    flow = one(6.0, mode="stream", item_s=1e-6, items=1)
    made = simulate(project(flow), {opened("g"): (at(0.0, 90.0),)})
    assert [finding.rule for finding in made.findings] == ["not-checked"]
    assert made.holds_for_ever is None
    assert words(made.findings[0], project(flow)).what == (
        "Gate g: openings that let 2,500,000 items out are not checked by this version."
    )


def test_a_way_that_goes_round_is_told_not_followed_for_ever() -> None:
    flow = Flow(
        supplies=(supply("s"),),
        magazines=(magazine("m", "s"),),
        channels=(Channel(id="a", to="b"), Channel(id="b", to="a")),
        outlets=(Outlet(id="cup"),),
        gates=(gate("g", "m", "a"),),
    )
    found = simulate(project(flow), {opened("g"): (at(0.0),)}).findings
    assert [finding.rule for finding in found] == ["misrouted"]
