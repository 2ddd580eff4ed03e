"""What is different between two projects, in words."""

from __future__ import annotations

from hypothesis import given, settings

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.model import Project
from shaftscore.model.base import replaced
from shaftscore.model.differences import ABSENT, Difference, differences
from tests.app.machines import gates
from tests.strategies import projects


def test_a_block_that_was_moved_names_lane_and_both_places() -> None:
    before = gates()
    after = apply_edit(before, "place_block", ref=BlockRef("flap", 2), start_deg=300.0).project
    (found,) = differences(before, after)
    assert (found.lane, found.what) == ("Flap", "blocks")
    assert "tray 306.0° to 316.0°" in found.before
    assert "tray 300.0° to 310.0°" in found.after


def test_lanes_added_deleted_renamed_and_moved() -> None:
    before = replaced(gates(), rules=())
    left, right, flap = before.lanes
    after = replaced(
        before, lanes=(flap, replaced(left, name="Port"), replaced(right, id="new", name="New", code="B9"))
    )
    assert differences(before, after) == [
        Difference("Port", "name", "Left", "Port"),
        Difference("New", "lane", ABSENT, "2 blocks"),
        Difference("Right", "lane", "2 blocks", ABSENT),
        Difference("", "order of lanes", "Left, Right, Flap", "Flap, Port, New"),
    ]


def test_the_machine_s_own_parts() -> None:
    before = gates()
    after = replaced(before, rules=(), notes="Oil it", shaft=replaced(before.shaft, speed_rpm=9.0))
    assert differences(before, after) == [
        Difference("", "notes", "", "Oil it"),
        Difference("", "shaft and steps", "turn clockwise, speed_rpm 6.0", "turn clockwise, speed_rpm 9.0"),
        Difference("", "rules between lanes", "1 entry", "none"),
    ]


def test_every_part_of_a_project_has_its_words() -> None:
    from shaftscore.model.differences import WORDS

    assert {*WORDS} | {"format", "version", "lanes"} == {*Project.model_fields}


@settings(max_examples=30)
@given(projects(), projects())
def test_nothing_is_different_only_between_equal_projects(one: Project, other: Project) -> None:
    assert differences(one, one) == []
    assert bool(differences(one, other)) == (one != other)
