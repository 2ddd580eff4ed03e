"""Heights of the parts of a stack."""

from __future__ import annotations

import pytest

from shaftscore.model import Disc, Lane, Project, Shaft, Stack
from shaftscore.stack import stack_plan, turn_sign


def project(*stacks: Stack) -> Project:
    lanes = (
        Lane(id="a", disc=Disc(thickness_mm=5.0)),
        Lane(id="b", disc=Disc(thickness_mm=4.0)),
        Lane(id="c", disc=Disc(thickness_mm=3.0)),
        Lane(id="r", kind="rider", disc_of="a"),
    )
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=5.0),
        stacks=stacks,
        lanes=lanes,
    )


def test_discs_follow_the_order_with_spacers_between() -> None:
    machine = project(Stack(id="main", order=("c", "a"), spacer_mm=6.0))
    plan = stack_plan(machine, machine.stacks[0])
    assert [layer.lane_id for layer in plan.layers] == ["c", None, "a", None, "b"]
    assert [layer.bottom_mm for layer in plan.layers] == [0.0, 3.0, 9.0, 14.0, 20.0]
    assert plan.height_mm == 24.0
    assert plan.disc("a").middle_mm == 11.5


def test_discs_touch_where_there_is_no_spacer() -> None:
    machine = project(Stack(id="main", spacer_mm=0.0))
    plan = stack_plan(machine, machine.stacks[0])
    assert [layer.lane_id for layer in plan.layers] == ["a", "b", "c"]
    assert plan.height_mm == 12.0
    with pytest.raises(KeyError):
        plan.disc("r")


def test_a_stack_without_discs_is_flat_and_turns_its_own_way() -> None:
    machine = project(Stack(id="main"), Stack(id="upper", turn="counterclockwise"))
    assert stack_plan(machine, machine.stacks[1]).height_mm == 0.0
    assert machine.discs_of(machine.stacks[1]) == ()
    assert [turn_sign(machine, stack) for stack in machine.stacks] == [-1, 1]
