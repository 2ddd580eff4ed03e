"""Counters with carry: integers alone say what they must show."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.base.errors import EditError
from shaftscore.judge.report import examine_as_drawn
from shaftscore.model import Project, Shaft, replaced
from shaftscore.program.counter import CounterWish, add_counter, digit_states, lane_id, own_turn_deg
from shaftscore.solution import solve
from tests.samples import SEGMENTS


def empty() -> Project:
    shaft = Shaft(turn="clockwise", speed_rpm=2.0)
    return Project(format="shaftscore-project", version=2, shaft=shaft)


@pytest.mark.parametrize("digits", [2, 3])
def test_a_counter_shows_one_number_after_the_other_with_its_carries(digits: int) -> None:
    """At each rest of the master, a tenth of a turn apart, by integer arithmetic from its first number on."""
    wish = CounterWish(digits, "geneva" if digits == 2 else "counted-gear")
    solution = solve(add_counter(empty(), wish).project)
    first = int("0" + "4" * (digits - 1))
    for count in (*range(0, 100, 3), 95, 96, 195, 955, 956):
        number = (first + count) % 10**digits
        for place in range(digits):
            digit = number // 10**place % 10
            for letter in "abcdefg":
                lane = solution.lanes[lane_id(place, letter)]
                own = lane.course.own(np.array([36.0 * count]) / float(lane.course.cycles))[0] % 360.0
                assert lane.motion is not None
                assert lane.motion.at(own)[0, 0] == pytest.approx(5.0 * (letter in SEGMENTS[digit]), abs=1e-9)


def test_a_counter_has_nothing_against_it_but_what_is_not_described() -> None:
    found = examine_as_drawn(add_counter(empty(), CounterWish(2)).project).findings
    assert [(one.rule, one.facts) for one in found] == []


def test_its_rules_see_a_carry_at_the_wrong_time() -> None:
    project = add_counter(empty(), CounterWish(2)).project
    ones, tens = project.stacks
    assert tens.steps_from is not None
    late = replaced(tens, steps_from=replaced(tens.steps_from, start_deg=200.0))
    found = examine_as_drawn(replaced(project, stacks=(ones, late))).findings
    assert {one.rule for one in found} >= {"interlock"}


def test_states_names_and_bounds() -> None:
    assert digit_states(4)[5] == (9, "abcdfg")
    assert own_turn_deg(18.0) == pytest.approx(15.41, abs=0.01)  # 2 x 7.70 by the textbook formula, by hand
    project = add_counter(empty(), CounterWish(2)).project
    with pytest.raises(EditError, match="Ones shaft is there already"):
        add_counter(project, CounterWish(2))
    with pytest.raises(EditError, match="2 to 6 digits, not 7"):
        add_counter(empty(), CounterWish(7))
    with pytest.raises(EditError, match="Geneva wheels carry between two digits only"):
        add_counter(empty(), CounterWish(3))
