"""Levers with one pivot: one rod through both plates, a post below and a sleeve above; heights by hand."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from shaftscore.judge.bodies import pairs_of, parts_of, too_near
from shaftscore.layout.followers import FollowerLayout, machine_follower
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.frame_plan import FrameError
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.purchases import follower_purchases
from shaftscore.make.solids.followers import follower_makers
from shaftscore.model import FollowerParts, MachineFrame, Project, Rod, SwingingRoller, replaced
from shaftscore.solution import Solution, solve
from tests.follower_machine import SWINGING, lever_lane
from tests.machines import machine


def bank(**second: Any) -> Project:
    """Return two levers at one station, the second as given otherwise, in a frame."""
    lanes = (lever_lane(), replaced(lever_lane(), id="second", name="Second", code="A4", **second))
    project = machine(*lanes)
    stack = replaced(project.stacks[0], rod=Rod(across_mm=8.0, below_mm=20.0, above_mm=20.0), spacer_mm=14.0)
    return replaced(project, stacks=(stack,), frame=MachineFrame())


@cache
def shared() -> Solution:
    return solve(bank())


def layouts(solution: Solution) -> list[FollowerLayout]:
    seats = lever_seats(solution)
    made = [machine_follower(solution, lane, seats) for lane in solution.lanes.values()]
    return [layout for layout in made if layout is not None]


def met_by_pivots(solution: Solution) -> set[tuple[str, str]]:
    """Return the names of parts that come too near where one of them is a rod or a post of a pivot."""
    stack = solution.project.stacks[0]
    pairs = pairs_of(parts_of(solution, stack), stack)
    near = (pair for pair in pairs if too_near(pair, stack.body_clearance_mm) is not None)
    return {names for pair in near if "pivot" in str(names := (pair.first.name, pair.second.name))}


def test_the_upper_lever_stands_on_a_sleeve() -> None:
    """19 mm from disc to disc, levers of 5 mm, a washer of 1 mm on both sides: 12 mm are left."""
    low, high = layouts(shared())
    assert (low.is_sleeve, high.is_sleeve) == (False, True)
    assert high.floor_mm == pytest.approx(low.bands.levers[0].top_mm + 1.0)
    made = {part.code: part for part in (make() for make in follower_makers(shared()))}
    assert made["A4-K"].thickness_mm == pytest.approx(19 - 5 - 2)
    assert made["A4-K"].raised == ()
    assert made["A2-K"].raised != ()


def test_no_part_meets_the_rod_that_it_turns_on() -> None:
    assert met_by_pivots(shared()) == set()
    thicker = SwingingRoller(**SWINGING, output_arm_mm=120.0, pivot_rod_mm=5.0)
    parts = FollowerParts(kind="lever", arm_mm=60.0, output_arm_mm=120.0, pivot_rod_mm=5.0)
    assert met_by_pivots(solve(bank(follower=thicker, parts=parts)))


def test_the_rod_goes_through_both_plates_and_is_bought_once() -> None:
    plan = machine_frame(shared())
    assert plan is not None
    (hole,) = [hole for hole in plan.holes if "pivot" in hole.purpose]
    assert (hole.purpose, hole.plates) == ("pivot of Lever, pivot of Second", ("bottom", "top"))
    bought = [one for layout in layouts(shared()) for one in follower_purchases(layout)]
    assert not [one for one in bought if one.what == "rod"]  # the frame's list has it
    assert sum(one.count for one in bought if one.what == "screw" and "bracket" in one.purpose) == 2


def test_what_a_printer_does_to_feet_is_in_the_revision() -> None:
    """A changed foot chamfer makes every part of a follower another part."""
    changed = replaced(bank(), print=replaced(bank().print, foot_chamfer_mm=0.1))
    before, after = (
        {part.code: part.hash for part in (make() for make in follower_makers(solution))}
        for solution in (shared(), solve(changed))
    )
    assert before.keys() == after.keys()
    assert all(before[code] != after[code] for code in before)


def test_brackets_of_lanes_with_one_name_are_told_apart() -> None:
    """12° apart at 76 mm are 16 mm, less than the 53 mm of a bracket; their screws miss one another."""
    project = bank(station_deg=132.0)
    for second in (project.lanes[1], replaced(project.lanes[1], name=project.lanes[0].name)):
        with pytest.raises(FrameError, match=r"^the bracket of Lever is where the bracket of"):
            machine_frame(solve(replaced(project, lanes=(project.lanes[0], second))))
