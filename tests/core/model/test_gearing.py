"""Slow and stepped stacks: how often they turn, after how many cycles all repeat, and what is refused."""

from __future__ import annotations

import json
from fractions import Fraction
from typing import Any

import pytest

from shaftscore.base.errors import ProjectError
from shaftscore.model import Project, read_project

GENEVA = {
    "kind": "geneva",
    "start_deg": 30,
    "centre_distance_mm": 40,
    "pin_diameter_mm": 5,
    "thickness_mm": 6,
}
GEAR = {"kind": "counted-gear", "start_deg": 30, "module_mm": 1, "thickness_mm": 6}


def project_of(*stacks: dict[str, Any]) -> Project:
    raw = {"format": "shaftscore-project", "version": 2, "shaft": {"turn": "clockwise", "speed_rpm": 6}}
    return read_project(json.dumps(raw | {"stacks": stacks}).encode(), "stacks.shaft")


def geneva(stack: str, slots: int, **more: Any) -> dict[str, Any]:
    return GENEVA | {"stack": stack, "slots": slots} | more


def test_digits_turn_tenfold_slower_and_against_one_another() -> None:
    gear = GEAR | {"stack": "tens", "teeth": 20, "counted": 2, "driven_teeth": 20}
    project = project_of(
        {"id": "hundreds", "steps_from": gear},
        {"id": "tens", "steps_from": geneva("ones", 10)},
        {"id": "ones"},
        {"id": "fast", "turns": 3600},
        {"id": "slow", "cycles": 15},
        {"id": "within", "steps_from": geneva("slow", 3, inner=True)},
    )
    assert [project.rates[stack.id] for stack in project.stacks] == [
        Fraction(1, 100),
        Fraction(1, 10),
        1,
        3600,
        Fraction(1, 15),
        Fraction(1, 45),
    ]
    assert project.period == 900
    senses = [project.turn_of(stack) for stack in project.stacks]
    assert senses == ["clockwise", "counterclockwise", *["clockwise"] * 4]


def test_a_stage_of_a_fast_stack_may_turn_several_times_in_several_cycles() -> None:
    project = project_of({"id": "fast", "turns": 3}, {"id": "wheel", "steps_from": geneva("fast", 10)})
    assert project.rates["wheel"] == Fraction(3, 10)
    assert project.period == 10


REFUSED = [
    ([{"id": "a", "turns": 2, "cycles": 2}], "stacks[0].cycles", "leave one of the two out"),
    ([{"id": "a", "turns": 3601}], "stacks[0].turns", "3601"),
    ([{"id": "a", "cycles": 0}], "stacks[0].cycles", "0"),
    ([{"id": "a", "steps_from": geneva("a", 4)}], "stacks[0].steps_from.stack", "this stack itself"),
    (
        [{"id": "ab", "steps_from": geneva("cb", 4)}, {"id": "cd"}],
        "stacks[0].steps_from.stack",
        'no stack "cb"',
    ),
    (
        [{"id": "a", "steps_from": geneva("b", 4)}, {"id": "b", "steps_from": geneva("a", 4)}],
        "stacks[0].steps_from.stack",
        '"a" → "b" → "a"',
    ),
    ([{"id": "a"}, {"id": "b", "cycles": 5, "steps_from": geneva("a", 4)}], "stacks[1].cycles", "makes it 4"),
    ([{"id": "a"}, {"id": "b", "turns": 5, "steps_from": geneva("a", 4)}], "stacks[1].turns", "makes it 1"),
    (
        [{"id": "a"}, {"id": "b", "turn": "clockwise", "steps_from": geneva("a", 4)}],
        "stacks[1].turn",
        "turns this stack counterclockwise",
    ),
    ([{"id": "a"}, {"id": "b", "steps_from": geneva("a", 2)}], "stacks[1].steps_from.slots", "2"),
    (
        [
            {"id": "a"},
            {"id": "b", "steps_from": GEAR | {"stack": "a", "teeth": 9, "counted": 9, "driven_teeth": 9}},
        ],
        "stacks[1].steps_from.counted",
        "at most 8",
    ),
    (
        [
            {"id": "a"},
            {"id": "b", "steps_from": GEAR | {"stack": "a", "teeth": 9, "counted": 4, "driven_teeth": 9}},
        ],
        "stacks[1].steps_from.driven_teeth",
        "such as 8 or 12",
    ),
    (
        [{"id": "a", "name": "Moon", "cycles": 3600}, {"id": "b", "cycles": 7}, {"id": "c"}],
        "stacks",
        "after 25,200 cycles (Moon after 3,600 and b after 7); at most 3,600",
    ),
    (
        [{"id": "s0"}, *({"id": f"s{n}", "steps_from": geneva(f"s{n - 1}", 24)} for n in range(1, 100))],
        "stacks",
        "over 10^15",
    ),
]


@pytest.mark.parametrize(("stacks", "path", "told"), REFUSED, ids=[told for *_, told in REFUSED])
def test_what_cannot_turn_is_refused_with_the_cure(
    stacks: list[dict[str, Any]], path: str, told: str
) -> None:
    with pytest.raises(ProjectError) as refused:
        project_of(*stacks)
    assert refused.value.faults[0].path == path
    assert told in refused.value.faults[0].message
