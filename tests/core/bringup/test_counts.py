"""Causes of what was counted where items end; all counts are worked out by hand."""

from __future__ import annotations

import json

import numpy as np
import pytest

from shaftscore.base.errors import EditError
from shaftscore.bringup import (
    BenchCheck,
    BuiltOutputs,
    SightingSheet,
    likely_causes,
    ranking_json,
    read_sightings,
)
from shaftscore.bringup.arrivals import expected_counts
from shaftscore.bringup.comparing import nearest_level
from shaftscore.edits import count_items, start_sheet
from shaftscore.model import Flow
from shaftscore.solution import solve
from tests.machines import gate, machine

FLOW = {
    "magazines": [
        {"id": "left_jar", "capacity": 9, "start_count": 9},
        {"id": "right_jar", "capacity": 9, "start_count": 9},
    ],
    "outlets": [{"id": "cup"}, {"id": "tray"}],
    "gates": [
        {"id": "g1", "state": {"lane": "one", "level": "open"}, "from": "left_jar", "to": "cup"},
        {"id": "g2", "state": {"lane": "two", "level": "open"}, "from": "right_jar", "to": "tray"},
    ],
}
"""Each lane opens once a turn and lets one item through; both magazines last nine turns."""


def two_jars() -> BuiltOutputs:
    lanes = (gate("One", 60.0, 90.0, code="A1"), gate("Two", 200.0, 230.0, code="A2"))
    return BuiltOutputs(solve(machine(*lanes, flow=Flow.model_validate_json(json.dumps(FLOW)))))


def as_drawn(outputs: BuiltOutputs) -> tuple[BenchCheck, ...]:
    """Return checks at which both lanes are where they should be."""
    found = []
    for angle in (10.0, 75.0, 150.0, 215.0, 300.0):
        at = {
            one: nearest_level(outputs, one, float(outputs.at(own, np.array([angle]))[0]))
            for one, own in outputs.drawn().items()
        }
        found.append(BenchCheck(angle, at))
    return tuple(found)


def test_what_is_due_is_one_item_a_turn_at_each_outlet() -> None:
    assert expected_counts(two_jars()) == {"cup": (1, 1, 1), "tray": (1, 1, 1)}


def test_an_empty_magazine_is_found_where_all_lanes_do_as_drawn() -> None:
    own = two_jars()
    sheet = SightingSheet(as_drawn(own), {"cup": (0, 0, 0), "tray": (1, 1, 1)})
    found = likely_causes(own.solution, sheet)
    assert (found.sightings, found.differences, found.clear) == (16, 3, True)
    assert found.message == "3 of 16 observations differ."
    first = found.groups[0]
    assert [one.statement for one in first.causes] == ["Magazine Left jar is empty at the start"]
    assert (first.first.explained, first.first.against, first.first.brought) == (3, 0, (0, 0, 0, 1, 1, 1))
    assert ranking_json(found)["groups"][0]["causes"][0]["brought"] == [0, 0, 0, 1, 1, 1]


def test_counts_alone_cannot_tell_an_empty_magazine_from_a_lane_that_stays_closed() -> None:
    own = two_jars()
    found = likely_causes(own.solution, SightingSheet((), {"cup": (0, 0, 0), "tray": (1, 1, 1)}))
    told = {one.statement for one in found.groups[0].causes}
    assert {"Magazine Left jar is empty at the start", "A1 is stuck at “closed”"} <= told
    assert not any("Right jar" in one or "A2 is stuck" in one for one in told)
    assert found.groups[0].told.count("look the same") == 1
    more = likely_causes(own.solution, SightingSheet((), {"cup": (0, 0, 0), "tray": (1, 1, 0)}))
    assert more.groups[0].first.told == "1 item would come to Tray in turn 3; you counted 0."


def test_counts_as_due_are_no_difference_and_few_are_not_clear() -> None:
    own = two_jars()
    fine = likely_causes(own.solution, SightingSheet((), {"cup": (1, None, 1)}))
    assert (fine.message, fine.groups) == ("All 2 counts are as drawn.", ())
    few = likely_causes(own.solution, SightingSheet((), {"cup": (0,), "nowhere": (5,)}))
    assert (few.differences, few.clear) == (1, False)


@pytest.mark.parametrize(
    "text",
    ["angle,turn,A1,arrived cup\n10,1,closed,1\n,2,,0\n", "turn,arrived cup,angle,A1\n1,1,10,closed\n2,0\n"],
)
def test_counts_are_read_from_lines_with_and_without_a_check(text: str) -> None:
    sheet = read_sightings(two_jars().project, text)
    assert sheet.checks == (BenchCheck(10.0, {"one": "closed"}, 1),)
    assert sheet.arrived == {"cup": (1, 0)}
    assert sheet.count == 3


BAD = {
    "turn,arrived cop\n1,3": 'line 1: there is no outlet or magazine "cop"; did you mean "arrived cup"?',
    "turn,arrived cup\n1,few": 'line 2: "few" items in Cup: not a whole number up to 1,000,000',
    "turn,arrived cup\n4,1": "line 2: items are counted in turns 1 to 3; this line is of turn 4",
    "turn,arrived cup\n2,1\n2,3": "line 3: Cup has 3 items in turn 2, and 1 in a line before",
}


@pytest.mark.parametrize("text", BAD)
def test_a_count_that_cannot_be_read_is_named_with_its_line(text: str) -> None:
    with pytest.raises(EditError) as error:
        read_sightings(two_jars().project, text)
    assert str(error.value) == BAD[text]


def test_counts_are_kept_with_the_sheet_and_removed_when_none_is_left() -> None:
    begun = start_sheet(two_jars().project, "2026-03-14").project
    counted = count_items(begun, "cup", (4, None, 3))
    assert counted.name == "Count items in Cup"
    assert counted.project.bring_up[-1].arrived == {"cup": (4, None, 3)}
    assert count_items(counted.project, "cup", (None, None, None)).project.bring_up[-1].arrived is None
    with pytest.raises(EditError, match="arrived"):
        count_items(begun, "cup", (-1,))
