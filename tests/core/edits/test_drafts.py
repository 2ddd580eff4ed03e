"""Drafts of parts of a project, and the edit of all stacks."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError, Fault
from shaftscore.edits import EDITS, apply_edit
from shaftscore.edits.drafts import LanePart, ProjectPart, draft_of, inside
from shaftscore.edits.stacks import StacksPart
from shaftscore.model import Drive, Project, Stack
from shaftscore.model.loader import read_project
from tests.app.machines import as_bytes, fed_gates_file, gates_file

FLOW = ProjectPart("flow", EDITS["set_flow"])
DRIVE = ProjectPart("drive", EDITS["set_drive"])


def _fed() -> Project:
    return read_project(as_bytes(fed_gates_file()), "fed.shaft")


def _texts(faults: list[Fault]) -> list[str]:
    return [str(fault) for fault in faults]


def test_a_draft_put_back_changes_nothing() -> None:
    project = _fed()
    for part in (FLOW, LanePart("left", "follower"), LanePart("left", "disc"), StacksPart()):
        draft = part.draft(project)
        assert part.faults(project, draft) == []
        assert part.edited(project, draft).project == project


def test_a_draft_leaves_defaults_out_and_names_keys_as_files_do() -> None:
    flow = draft_of(_fed().flow)
    assert flow["magazines"][0] == {
        "id": "left_tube",
        "from": "slow",
        "travel_s": 6.0,
        "capacity": 4,
        "start_count": 2,
    }
    assert flow["outlets"] == ({"id": "cup"},)


def test_faults_have_paths_from_the_part_on() -> None:
    project = _fed()
    flow = FLOW.draft(project)
    gates = ({**flow["gates"][0], "from": "lost"}, flow["gates"][1])
    assert _texts(FLOW.faults(project, {**flow, "gates": gates})) == [
        'gates[0].from: there is no magazine "lost"'
    ]
    magazines = ({**flow["magazines"][0], "capacity": 1}, flow["magazines"][1])
    assert _texts(FLOW.faults(project, {**flow, "magazines": magazines})) == [
        "magazines[0].start_count: 2 is over the capacity of 1"
    ]
    with pytest.raises(EditError, match="no magazine"):
        FLOW.edited(project, {**flow, "gates": gates})


def test_a_drive_in_making_says_what_is_missing() -> None:
    project = _fed()
    draft = {
        "source": {"kind": "crank"},
        "stages": ({"driver_teeth": 1, "driven_teeth": 40, "kind": "worm"},),
    }
    assert _texts(DRIVE.faults(project, draft)) == [
        "source.radius_mm: is missing",
        "source.turn: is missing",
        "stages[0].reverses: is missing; a worm stage must say whether it reverses",
    ]
    whole = {"source": {"kind": "crank", "radius_mm": 80.0, "turn": "clockwise"}, "stages": ()}
    assert DRIVE.edited(project, whole).project.drive == Drive(
        source={"kind": "crank", "radius_mm": 80.0, "turn": "clockwise"}
    )


def test_a_follower_that_contradicts_its_lane_says_where() -> None:
    project = _fed()
    part = LanePart("left", "follower")
    short = {"kind": "swinging-roller", "roller_radius_mm": 5.0, "arm_mm": 1.0, "pivot_distance_mm": 2.0}
    faults = part.faults(project, {**short, "pivot_side": "clockwise"})
    assert [fault.path for fault in faults] == ["arm_mm"]
    assert "an arm of 1 mm" in faults[0].message
    groove = {"kind": "translating-flat", "face_width_mm": 30.0, "closure": "groove"}
    assert _texts(part.faults(project, groove)) == [
        'closure: "groove" needs a roller; a flat face is closed by a spring'
    ]


def test_a_material_that_is_used_cannot_go() -> None:
    own = {"name": "bog oak", "modulus_gpa": 10.0, "poisson": 0.3, "contact_mpa": 20.0}
    file = gates_file(materials=[own])
    file["lanes"][0]["disc"] = {"material": "bog oak"}
    project = read_project(as_bytes(file), "oak.shaft")
    part = ProjectPart("materials", EDITS["set_materials"])
    (fault,) = part.faults(project, ())
    assert fault.path == ""
    assert fault.message.startswith('lanes[0].disc.material: "bog oak" is not one of the materials')


def test_faults_under_a_step_keep_the_rest_of_their_paths() -> None:
    faults = [Fault("a", "1"), Fault("a.b", "2"), Fault("a[0].c", "3"), Fault("ab", "4")]
    assert inside(faults, "a") == [Fault("", "1"), Fault("b", "2"), Fault("[0].c", "3")]


# All stacks at once


def _two_stacks() -> Project:
    file = gates_file(stacks=[{"id": "main", "order": ["right", "left"]}, {"id": "side", "turns": 3}])
    file["lanes"].append({"id": "rider", "name": "Rider", "kind": "rider", "disc_of": "left"})
    return read_project(as_bytes(file), "two.shaft")


def test_stacks_are_added_and_lanes_move_with_their_riders() -> None:
    project = _two_stacks()
    stacks = (*project.stacks, Stack(id="third", name="Third"))
    made = apply_edit(project, "set_stacks", stacks=stacks, homes={"left": "third"}).project
    assert made.stack_of(made.lane("left")).id == "third"
    assert made.stack_of(made.lane("rider")).id == "third"
    assert made.stacks[0].order == ("right",)
    assert [lane.id for lane in made.discs_of(made.stacks[0])] == ["right", "flap"]


def test_a_stack_that_carries_lanes_does_not_go() -> None:
    project = _two_stacks()
    with pytest.raises(EditError, match="main carries Left, Right and Flap; put them on another stack first"):
        apply_edit(project, "set_stacks", stacks=project.stacks[1:])
    made = apply_edit(project, "set_stacks", stacks=project.stacks[:1]).project
    assert [stack.id for stack in made.stacks] == ["main"]


def test_lanes_that_named_no_stack_stay_where_they_were_when_the_order_changes() -> None:
    project = _two_stacks()
    made = apply_edit(project, "set_stacks", stacks=project.stacks[::-1]).project
    assert {made.stack_of(lane).id for lane in made.lanes} == {"main"}


def test_the_draft_of_stacks_says_what_is_wrong() -> None:
    project, part = _two_stacks(), StacksPart()
    draft = part.draft(project)
    dogs = {"radius_mm": 2.0, "width_mm": 1.0, "height_mm": 1.0}
    (fault,) = part.faults(
        project, {**draft, "stacks": ({**draft["stacks"][0], "dogs": dogs}, draft["stacks"][1])}
    )
    assert fault.path == "[0].dogs.radius_mm"
    (fault,) = part.faults(project, {**draft, "stacks": draft["stacks"][1:]})
    assert "main carries" in fault.message


def test_base_circles_are_sized_by_their_limits_as_one_step() -> None:
    file = gates_file()
    file["lanes"][0]["disc"] = {"base_radius_mm": 40.0}
    edited = apply_edit(read_project(as_bytes(file), "sized.shaft"), "size_base_circles")
    assert {lane.disc.base_radius_mm for lane in edited.project.lanes} == {"auto"}
    assert edited.name == "Size all base circles"
