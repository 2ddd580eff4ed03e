"""Home and the way back to it."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.base.angles import ahead
from shaftscore.bringup.hand_torque import hand_torques
from shaftscore.bringup.home import home_angle, restart_card
from shaftscore.bringup.restart_sheet import hand_table
from shaftscore.judge.loads import camshaft, machine_loads
from shaftscore.model import Channel, Flow, Gate, Load, Magazine, Outlet, Project, TranslatingRoller
from shaftscore.solution import solve
from tests.machines import at, block, gate, lane, machine
from tests.samples import sample


def _machine() -> Project:
    """One gate that lets a jade into a chute for 2 s, that is 72° at 6 rev/min."""
    flow = Flow(
        magazines=(Magazine(id="jar", capacity=9, start_count=9),),
        channels=(Channel(id="chute", travel_min_s=1.0, travel_max_s=2.0, to="cup"),),
        outlets=(Outlet(id="cup"),),
        gates=(Gate(id="gate", state=at("a", "open"), source="jar", to="chute", item="jade"),),
    )
    return machine(gate("A", 100, 120), flow=flow)


def test_home_is_where_nothing_moves_and_nothing_is_on_its_way() -> None:
    """From the sample: outputs read a little apart are the same, and no chute is in use."""
    for name in ("tea_blender", "seedling_sower"):
        solution = solve(sample(name))
        home = home_angle(solution)
        assert home.is_quiet
        near = home.angle_deg + np.array([-0.05, 0.05])
        for one in solution.lanes.values():
            assert one.motion is not None
            first, last = one.motion.at(near * one.turns)[0]
            assert first == pytest.approx(last, abs=1e-9)
        flow = solution.project.flow
        assert flow is not None
        second = 6 * solution.project.shaft.speed_rpm  # degrees
        for let_out in flow.gates:
            travel = max(channel.travel_max_s for channel in flow.channels) * second
            for state in solution.intervals(let_out.state):
                gone = ahead(state.span.start, home.angle_deg)
                assert gone > travel


def test_restart_by_hand_from_every_stretch() -> None:
    """By hand: the gate opens near 100° and the jade travels up to 72° more (10 % slower machines 86°)."""
    card = restart_card(solve(_machine()), 300.0)
    assert card.home.given
    assert card.home.angle_deg == 300.0
    assert not card.one_way
    assert all(not card.home.stretch.contains(angle) for angle in (90.0, 150.0, 180.0))
    assert all(card.home.stretch.contains(angle) for angle in (230.0, 0.0, 70.0))
    rows = {row.end_deg: row for row in card.rows}
    assert not rows[90.0].take_out
    assert dict(rows[90.0].forward) == {"jade": 1}
    assert rows[90.0].goes_back  # from 90° back to 300° nothing opens
    assert rows[90.0].turn_deg == pytest.approx(150.0)
    assert list(rows[150.0].take_out) == ["chute"]
    assert not rows[180.0].goes_back
    assert rows[180.0].turn_deg == pytest.approx(150.0)
    assert not rows[180.0].comes_out


def test_a_drop_may_not_be_turned_back() -> None:
    """Back to 300° from 210° one passes the edge at 200°; from 60° one does not."""
    drop = lane(
        "A", block("open", 20, 200), block("closed", 240, 350, law="drop"), load=Load(spring_preload_n=5.0)
    )
    card = restart_card(solve(machine(drop)), 300.0)
    assert card.one_way == ("A",)
    free = {row.end_deg: row.back_is_free for row in card.rows}
    assert not free[240.0]
    assert free[30.0]


def test_a_machine_that_never_rests_says_what_moves() -> None:
    lanes = [
        lane("A", ("open", 0, 10), ("closed", 175, 185)),
        lane("B", ("open", 90, 100), ("closed", 265, 275)),
    ]
    home = home_angle(solve(machine(*lanes)))
    assert len(home.moving) == 1
    assert not home.is_quiet


def test_hand_torque_of_the_whole_shaft_is_that_of_all_lanes_at_rest() -> None:
    """The last step carries every lane: the greatest torque without inertia, as the drive is judged by."""
    solution = solve(sample("tea_blender"))
    loads = machine_loads(solution)
    steps = hand_torques(solution.project, loads, solution.project.stacks[0])
    assert [step.discs for step in steps] == list(range(1, 11))
    assert steps[-1].torque_nm == pytest.approx(camshaft(solution.project, loads.lanes).start_nm, rel=0.01)
    assert steps[0].torque_nm == pytest.approx(loads.lanes["assam"].peak_torque.value, rel=0.02)


def test_a_guide_that_locks_is_said_in_words() -> None:
    """tan α μ (1 + 2A/B) >= 1 locks a guide: friction 1 and a long overhang do it at any slope."""
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=5.0,
        guide_length_mm=10.0,
        overhang_mm=100.0,
        guide_friction=1.0,
    )
    stuck = gate("A", 100, 130, 20.0, follower=follower, load=Load(spring_preload_n=5.0))
    solution = solve(machine(stuck))
    stack = solution.project.stacks[0]
    steps = hand_torques(solution.project, machine_loads(solution), stack)
    assert hand_table(solution.project, stack, steps).rows == (("1", "A", "a guide locks", "", "push on"),)
