"""A table with lanes that the machine does not have: which they are, and one edit that makes them."""

from __future__ import annotations

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits.state_table import cells_of, split_text
from shaftscore.edits.table_lanes import is_headed, lanes_of_table, levels_for, write_table
from shaftscore.model import Project, Shaft
from tests.machines import gate, machine

LEVELS = {"left": 0.0, "rest": 8.0, "right": 16.0}


def empty(steps: int = 4) -> Project:
    return Project(
        format="shaftscore-project", version=2, shaft=Shaft(turn="clockwise", speed_rpm=6.0, steps=steps)
    )


def states(project: Project, lane: str) -> list[str]:
    (found,) = [one for one in project.lanes if one.label == lane]
    return cells_of(project, found)[2:]


def test_a_table_with_heads_makes_the_lanes_that_are_missing_in_one_edit() -> None:
    made = write_table(empty(), _table(empty(), TEXT), [LEVELS])
    assert [lane.label for lane in made.project.lanes] == ["One", "Two"]
    assert made.project.lanes[1].levels == LEVELS
    assert states(made.project, "One") == ["rest", "left", "right", "rest"]
    more = TEXT.replace("\tTwo", "\tThree")
    table = _table(made.project, more)
    assert [one.lanes for one in table.sets] == [("Three",)]
    assert levels_for(made.project, table.sets[0].words) == LEVELS  # as those that are there
    again = write_table(made.project, table, [LEVELS]).project
    assert [lane.label for lane in again.lanes] == ["One", "Two", "Three"]
    assert states(again, "Three") == states(again, "Two")


TEXT = "\tOne\tTwo\n1\trest\trest\n2\tleft\trest\n3\tright\tright\n4\trest\trest\n"


def _table(project: Project, text: str):
    table = lanes_of_table(project, split_text(text))
    assert table is not None
    return table


def test_cells_beyond_the_last_lane_make_lanes_with_names_of_their_own() -> None:
    there = write_table(empty(), _table(empty(), TEXT), [LEVELS]).project
    grid = [["left", "rest"], ["rest", "right"], ["rest", "rest"], ["rest", "rest"]]
    table = lanes_of_table(there, grid, [there.lanes[1].id])
    assert table is not None
    assert [one.lanes for one in table.sets] == [("Lane 3",)]
    made = write_table(there, table, [LEVELS]).project
    assert states(made, "Two") == ["left", "rest", "rest", "rest"]
    assert states(made, "Lane 3") == ["rest", "right", "rest", "rest"]
    assert lanes_of_table(there, grid, [lane.id for lane in there.lanes]) is None


def test_levels_that_are_numbers_are_no_heads() -> None:
    lane = gate("A", 40, 100, 60.0)
    there = machine(lane.model_copy(update={"levels": {"0": 0.0, "1": 8.0}, "blocks": ()}))
    assert not is_headed(there, [["", "1"], ["1", "0"], ["0", "1"]])
    assert is_headed(there, [["", "B"], ["1", "0"], ["2", "1"]])


def test_a_cell_that_cannot_be_read_is_named_and_nothing_is_made() -> None:
    with pytest.raises(EditError, match='Row 3, column 2: "left" is not one of One'):
        write_table(empty(), _table(empty(), TEXT), [{"rest": 0.0, "right": 8.0}])
