"""Operation over all cycles of a round: feed, jams, home and wear of slow and stepped stacks.

Expected values are counted by hand or by whole numbers.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest

from shaftscore.bringup.feed import FeedPlanner
from shaftscore.bringup.feed_sheet import feed_sheet
from shaftscore.bringup.home import restart_card
from shaftscore.bringup.rehome import cycle_telling
from shaftscore.bringup.restart_sheet import restart_sheet
from shaftscore.bringup.stuck import stuck_lanes
from shaftscore.bringup.stuck_items import stuck_items, stuck_sentences
from shaftscore.bringup.wear import machine_wear
from shaftscore.judge.loads import machine_loads
from shaftscore.model import Project, read_project
from shaftscore.solution import Solution, solve
from tests.core.judge.loads.test_long_round import counter
from tests.core.test_counting import GENEVA, segment_counter

MOTOR = {"kind": "motor", "rated_speed_rpm": 6, "rated_torque_nm": 1.0, "turn": "clockwise"}


def _gate(name: str, stack: str) -> dict[str, Any]:
    blocks = [
        {"level": "open", "start_deg": 100, "end_deg": 160},
        {"level": "shut", "start_deg": 220, "end_deg": 400},
    ]
    return {"id": name, "stack": stack, "levels": {"shut": 0, "open": 6}, "blocks": blocks}


def _fed() -> Solution:
    """A gate on the master and one on a stack of 4 cycles draw from one jar of 10: 5 items in 4 cycles."""
    gates = [
        {"id": f"g_{n}", "state": {"lane": n, "level": "open"}, "from": "jar", "to": "cup", "item": "bead"}
        for n in ("fast", "slow")
    ]
    flow = {
        "magazines": [{"id": "jar", "capacity": 10, "start_count": 10}],
        "outlets": [{"id": "cup"}],
        "gates": gates,
    }
    raw = {
        "format": "shaftscore-project",
        "version": 2,
        "shaft": {"turn": "clockwise", "speed_rpm": 6},
        "stacks": [{"id": "main"}, {"id": "slow", "cycles": 4}],
        "lanes": [_gate("fast", "main"), _gate("slow", "slow")],
        "flow": flow,
    }
    return solve(read_project(json.dumps(raw).encode(), "x"))


def test_a_jar_lasts_for_the_items_of_all_cycles() -> None:
    """Of 10 items 5 go in a round of 4 cycles: it lasts two rounds, plus what comes before the next draw."""
    plan = FeedPlanner(_fed()).plan()
    assert plan.cycles == 4
    assert plan.refill is not None
    assert plan.refill.turns == 2
    assert {one.magazine: one.count for one in plan.refill.refills} == {"jar": 10}
    said = feed_sheet(plan).sentences
    assert any("last 2 rounds" in one for one in said)
    assert any(one.startswith("A round is 4 cycles of the master") for one in said)


def test_a_stuck_gate_of_a_slow_stack_costs_one_item_a_round() -> None:
    solution = _fed()
    shut = {lane: stuck_items(solution, lane)[0] for lane in ("fast", "slow")}
    assert dict(shut["slow"].missing) == {"g_slow": 1}
    assert dict(shut["fast"].missing) == {"g_fast": 4}
    assert next(stuck_sentences(shut["slow"])).startswith("1 item a round does not come")


def test_home_is_quiet_in_every_cycle() -> None:
    """The ones move from 180° to 324° of each cycle (180° less a slot of 36°); home is outside of that."""
    card = restart_card(solve(segment_counter()))
    assert card.home.is_quiet
    assert not 180.0 < card.home.angle_deg < 324.0
    assert card.telling is not None
    assert card.telling.cycles == 100


def test_seven_segments_of_two_digits_tell_every_one_of_100_cycles() -> None:
    """The codes of the ten digits differ from one another, so that each number shows in its own way."""
    telling = cycle_telling(solve(segment_counter()), 90.0)
    assert telling is not None
    assert telling.is_told
    assert telling.like_first == (1,)
    assert telling.own_deg == pytest.approx({"ones": 0.0, "tens": 0.0})


def test_cycles_that_look_alike_are_named() -> None:
    """One lane a digit, up for some digits alone: by whole numbers, which cycles show as the first one."""
    solution = solve(counter("ones"))
    telling = cycle_telling(solution, 20.0)
    assert telling is not None
    # digit k rests at 36 k degrees of its disc; it is up from 100° to 190° and down from 250° to 410°.
    shown = ["up" if 100 <= a <= 190 else "down" if a <= 50 or a >= 250 else "" for a in range(0, 360, 36)]
    alike = tuple(k + 1 for k, level in enumerate(shown) if level == shown[0])
    assert telling.like_first == alike
    assert not telling.is_told
    card = restart_card(solution)
    said = " ".join(restart_sheet(card).sentences)
    assert "The dial shows no cycle: a round is 10 cycles." in said
    assert "To start again from cycle 1, turn to home" in said


def _slow(cycles: int, **stack: Any) -> Project:
    lane = {
        "id": "arm",
        "stack": "slow",
        "levels": {"low": 0, "high": 8},
        "blocks": [
            {"level": "high", "start_deg": 50, "end_deg": 170},
            {"level": "low", "start_deg": 230, "end_deg": 350},
        ],
        "load": {"moving_mass_g": 20, "friction_n": 1, "spring_preload_n": 5, "spring_rate_n_per_mm": 0.5},
        "follower": {"kind": "translating-roller", "roller_radius_mm": 4},
        "disc": {"base_radius_mm": 40},
    }
    own = (
        {"id": "slow", "cycles": cycles, **stack} if not stack.get("steps_from") else {"id": "slow", **stack}
    )
    raw = {
        "format": "shaftscore-project",
        "version": 2,
        "shaft": {"turn": "clockwise", "speed_rpm": 6},
        "stacks": [{"id": "main"}, own],
        "lanes": [lane],
        "drive": {"source": MOTOR},
    }
    return read_project(json.dumps(raw).encode(), "x")


def test_a_slow_stack_jams_with_as_much_more_force() -> None:
    """The same power at a tenth of the speed: ten times the force (conservation of energy)."""
    forces = []
    for cycles in (1, 10):
        solution = solve(_slow(cycles))
        (one,) = stuck_lanes(solution, machine_loads(solution)).lanes
        assert one.least_force is not None
        forces.append(one.least_force[0])
    assert forces[1] == pytest.approx(10 * forces[0])


def test_a_stepped_stack_jams_by_the_speed_of_its_output_in_the_step() -> None:
    """Power in = power out: force = stall torque / (ds / dmaster), from the positions alone."""
    stage = GENEVA | {"stack": "main", "start_deg": 90, "slots": 6}
    solution = solve(_slow(1, steps_from=stage))
    found = stuck_lanes(solution, machine_loads(solution))
    (one,) = found.lanes
    assert one.least_force is not None
    assert one.torque_nm is not None
    solved = one.solved
    assert solved.motion is not None
    circle = np.linspace(0.0, 360.0, 200_001)
    lift = solved.motion.at(solved.course.own(circle)[0])[0]
    steepest = float(np.max(np.gradient(lift, np.radians(circle * 6))))  # mm by radian of the master
    stall_nm = one.torque_nm * one.weight
    assert one.least_force[0] == pytest.approx(1000 * stall_nm / steepest, rel=2e-3)


def test_a_stack_of_ten_cycles_wears_a_tenth_as_fast() -> None:
    """6 rev/min are 360 turns an hour; a stack of 10 cycles makes 36 of them."""
    for cycles, hourly in ((1, 360.0), (10, 36.0)):
        solution = solve(_slow(cycles))
        wear = machine_wear(solution, machine_loads(solution))
        assert wear.parts[0].turns_per_hour == pytest.approx(hourly)
