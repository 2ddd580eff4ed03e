"""The chance with fits: closed forms against drawn machines, seats by another route, hooks, and cures."""

from __future__ import annotations

from math import acos, asin, cos, degrees, pi, radians, sqrt
from typing import Any

import numpy as np
import pytest
from scipy.stats import norm

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import examine, report_json
from shaftscore.judge.spread import BuiltEffects, Spread, draw_machines, find_spread
from shaftscore.judge.spread.judging import judge
from shaftscore.judge.spread.states import LaneErrors
from shaftscore.judge.spread.worst import worst_cases
from shaftscore.model import Bore, Dogs, Lane, Load, Project, Stack, Tolerances, TranslatingRoller, replaced
from shaftscore.solution import solve
from tests.core.judge.spread.machines import drawn, machine, only
from tests.machines import exclusive, gate, within

HEX = Stack(id="main", bore=Bore(shape="hex", across_mm=10.0), fit_clearance_mm=0.1)
MANY = 10_000


def hexagon(clearance: float) -> float:
    """Play of the hexagonal bore by its formula, degrees."""
    return 30 - degrees(acos(cos(pi / 6) * (1 + 2 * clearance / 10.0)))


def pair(margin: float, stack: Stack = HEX, **sizes: float) -> Project:
    """Two gates whose halves lie `margin` degrees over their gap, with no errors but those of their fits.

    Ranges end in the middle of their moves: a seat shifts them little, and not at all in `muted("seat")`.
    """
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_deg=2.0)
    start = 120 + 24 + 2 + margin
    lanes = (gate("A", 100, 120), gate("B", start, start + 20))
    return machine(*lanes, rules=(rule,), stacks=(stack,), tolerances=only(**sizes))


def of_play(project: Project) -> float:
    """Return the chance with play alone: seats are switched off."""
    machines = draw_machines(solve(project), MANY, 7).muted("seat")
    (rule,) = judge(machines, None)
    return float(np.mean(rule.slack_deg[1:] >= 0))


def within_sigmas(expected: float) -> Any:
    return pytest.approx(expected, abs=4 * sqrt(max(expected * (1 - expected), 1e-4) / MANY))


@pytest.mark.parametrize("share", [0.3, 0.8, 1.5])
def test_discs_tightened_as_they_lie_are_two_uniform_laws(share: float) -> None:
    # x - y of two uniform laws within ± d is triangular: P(x - y > -m) = 1 - (2 - m/d)^2 / 8.
    assert of_play(pair(share * hexagon(0.1))) == within_sigmas(1 - (2 - share) ** 2 / 8)


def test_discs_turned_one_way_differ_by_the_spread_of_their_fits() -> None:
    stack = replaced(HEX, joints="one-way")
    limit = hexagon(0.13) - hexagon(0.1)
    assert of_play(pair(0.2, stack, fit_spread_mm=0.03)) == within_sigmas(
        norm.cdf(0.2 / (sqrt(2) * limit / 3))
    )
    assert of_play(pair(0.0, stack)) == 1.0  # the common shift is a phase of the whole stack


def test_a_common_shift_counts_between_stacks() -> None:
    stacks = (replaced(HEX, joints="one-way"), replaced(HEX, id="two", fit_clearance_mm=0.0))
    project = pair(1.0)
    lanes = (project.lanes[0], replaced(project.lanes[1], stack="two"))
    apart = replaced(project, stacks=stacks, lanes=lanes)
    spread = find_spread(solve(apart), machines=200)
    assert spread is not None
    assert spread.rules[0].smallest_deg == pytest.approx(1.0, abs=1e-3)  # as drawn
    assert of_play(apart) == 0.0  # all A are 2.1 degrees late and B is not


def test_marks_against_a_straight_edge_do_not_add_up_and_against_the_neighbour_they_do() -> None:
    straight = replaced(HEX, joints="lined-up", lined_up_mm=0.3, fit_clearance_mm=0.2)
    base = solve(pair(0.4, straight)).lanes["a"].profile
    assert base is not None
    limit = degrees(asin(0.3 / base.base_radius_mm))
    assert of_play(pair(0.4, straight)) == within_sigmas(norm.cdf(0.4 / (sqrt(2) * limit / 3)))
    neighbour = replaced(straight, against="neighbour")
    # B is A's error and its own beyond A, so their difference is B's own alone.
    assert of_play(pair(0.4, neighbour)) == within_sigmas(norm.cdf(0.4 / (limit / 3)))


def test_a_chain_of_two_differs_by_the_joints_between() -> None:
    dogs = Dogs(radius_mm=20.0, width_mm=4.0, height_mm=2.0)
    round_bore = Bore(shape="round", across_mm=10.0)
    chain = replaced(HEX, keying="chain", dogs=dogs, bore=round_bore, spacer_mm=0.0, fit_clearance_mm=0.2)
    delta = degrees(0.2 / 20)
    # One joint between A and B: uniform within ± delta.
    assert of_play(pair(0.4 * delta, chain)) == within_sigmas(0.5 + 0.2)
    spaced = replaced(chain, spacer_mm=5.0)
    assert of_play(pair(0.8 * delta, spaced)) == within_sigmas(1 - (2 - 0.8) ** 2 / 8)


def test_loose_joints_stand_on_the_flank_of_their_torque() -> None:
    load = Load(spring_preload_n=10.0)
    stack = replaced(HEX, joints="loose", fit_clearance_mm=0.2)
    project = pair(0.0, stack)
    lanes = tuple(replaced(lane, load=load) for lane in project.lanes)
    machines = drawn(replaced(project, lanes=lanes), 20).muted("seat")
    # A spring is lifted on rises: the motor drives, the disc lags; on falls the spring drives it ahead.
    (held,) = machines.held(within("a", 5, 10))
    length = float(held.length[0])
    assert held.length[1:] == pytest.approx(length - 2 * hexagon(0.2), abs=1e-3)
    assert held.start[1:] - held.start[0] == pytest.approx(hexagon(0.2), abs=1e-3)
    unknown = drawn(pair(0.0, stack), 4000).muted("seat")
    (held,) = unknown.held(within("a", 5, 10))
    assert held.length[1:].std() == pytest.approx(hexagon(0.2) * sqrt(2 / 3), rel=0.05)


ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0)


def test_a_seat_lifts_the_roller_as_a_shifted_pitch_curve_does() -> None:
    """Second route: shift the disc, and look for the lift at which the roller touches it again."""
    rider = Lane(id="r", name="R", kind="rider", disc_of="a", station_deg=90.0)
    project = machine(
        gate("A", 100, 120, follower=ROLLER), rider, stacks=(replaced(HEX, fit_clearance_mm=0.2),)
    )
    machines = drawn(replaced(project, tolerances=only()), 12)
    errors = machines.errors
    x, y = errors.draws.seat["a"] * 0.2
    for lane_id in ("a", "r"):
        lane = machines.solution.lanes[lane_id]
        profile = lane.profile
        assert profile is not None
        own = machines._errors_of(lane)
        assert isinstance(own, LaneErrors)
        assert own.seat is not None
        fine = profile.at(np.arange(0.0, 360.0, 0.01)).pitch
        for theta in (60.0, 90.0, 130.0, 250.0):
            direction = radians(profile.station_deg - profile.direction * theta)
            along = np.exp(1j * direction)
            for row in (1, 5, 9):
                moved = fine + complex(x[row], y[row])
                # The roller's line in the disc's frame: where the shifted pitch curve crosses it.
                side = (moved * np.conj(along)).imag
                front = (moved * np.conj(along)).real
                places = np.flatnonzero((np.sign(side[:-1]) != np.sign(side[1:])) & (front[:-1] > 0))
                part = side[places] / (side[places] - side[places + 1])
                crossed = front[places] + part * (front[places + 1] - front[places])
                nominal = abs(profile.at(np.array([theta])).pitch[0])
                lift = crossed[np.argmin(np.abs(crossed - nominal))] - nominal
                assert own.seat.lift_mm(theta)[row] == pytest.approx(lift, abs=4e-3)


def test_extremes_over_a_dwell_are_those_of_all_its_contacts() -> None:
    machines = drawn(pair(1.0), 300)
    lane = machines.solution.lanes["a"]
    seat = machines._errors_of(lane).seat
    assert seat is not None
    for start, end in ((144.0, 436.0), (100.0, 120.0), (150.0, 260.0), (144.0, 340.0)):
        each = np.array([seat.lift_mm(theta) for theta in np.linspace(start, end, 400)])
        low, high = seat.extremes_mm(start, end)
        lowest = each.min(axis=0)
        dwell = start > 140
        if dwell:
            assert low == pytest.approx(lowest, abs=1e-4)
            assert high == pytest.approx(each.max(axis=0), abs=1e-4)


def test_seats_fill_their_circle_evenly() -> None:
    draws = drawn(pair(1.0), 20_000).errors.draws.seat["a"][:, 1:]
    radius = np.hypot(*draws)
    assert radius.max() <= 1.0
    assert np.mean(radius < 0.5) == pytest.approx(0.25, abs=0.015)


def test_stations_and_adjustments_have_their_sizes() -> None:
    machines = drawn(pair(1.0, replaced(HEX, fit_clearance_mm=0.0), station_mm=0.3, zero_mm=0.2), MANY)
    lane = machines.solution.lanes["a"]
    assert lane.profile is not None
    radius = lane.profile.base_radius_mm + 5.0
    moved = machines._shift("a")[1:]
    assert moved.std() == pytest.approx(degrees(0.3 / radius) / 3, rel=0.03)
    assert machines.errors.zero_mm("a")[1:].std() == pytest.approx(0.2 / 3, rel=0.03)


# What other modules add


def test_fixed_lifts_and_angles_are_in_every_machine_but_the_drawn_one() -> None:
    exact = replaced(HEX, fit_clearance_mm=0.0)
    effects = BuiltEffects(lift_mm={"a": 0.4}, angle_deg={"b": 1.5})
    machines = draw_machines(solve(pair(1.0, exact)), 10, 1, effects=effects)
    assert machines.errors.height_mm("a").tolist() == [0.0] + [0.4] * 10
    assert machines.errors.shift_deg("b") == pytest.approx([0.0] + [1.5] * 10, abs=1e-12)
    muted = machines.muted("shaft")
    assert not muted.errors.height_mm("a").any()
    assert muted.errors.shift_deg("b") == pytest.approx(0.0, abs=1e-12)
    spread = find_spread(solve(pair(1.0, exact)), machines=50, effects=effects)
    assert spread is not None
    assert "shaft" in spread.counted


def test_a_lane_that_sticks_makes_its_machine_fail() -> None:
    exact = replaced(HEX, fit_clearance_mm=0.0)
    effects = BuiltEffects(fails={"a": lambda friction, spring: friction - spring > 0.9})
    spread = find_spread(solve(pair(5.0, exact)), machines=MANY, effects=effects)
    assert spread is not None
    # P(u - z/3 > 0.9), u uniform in 0 to 1, z normal: the mean of Phi(3 (0.9 - u)) fails to hold.
    u = (np.arange(4000) + 0.5) / 4000
    assert spread.chance == within_sigmas(float(np.mean(norm.cdf(3 * (0.9 - u)))))
    (rule,) = [one for one in spread.rules if one.kind == "spring"]
    assert rule.worst_deg == -np.inf
    assert "forces" in spread.counted
    assert {cost.cause for cost in spread.causes[:2]} == {"friction", "spring"}
    alone = find_spread(solve(machine(gate("A", 100, 120), stacks=(exact,))), machines=50, effects=effects)
    assert alone is not None  # nothing else is judged, and that is enough


# Worst case


@pytest.mark.parametrize("joints", ["as-they-lie", "one-way", "lined-up", "loose"])
def test_the_worst_case_holds_every_machine_within_its_limits(joints: str) -> None:
    stack = replaced(HEX, joints=joints)
    sizes = {
        "fit_spread_mm": 0.03,
        "station_mm": 0.2,
        "zero_mm": 0.1,
        "profile_mm": 0.1,
        "disc_angle_deg": 0.3,
    }
    machines = drawn(pair(3.0, stack, **sizes), 3000)
    draws = machines.errors.draws
    normal = [draws.angle, draws.height, draws.station, draws.zero, draws.lined, draws.seat_fit]
    inside = np.all([np.abs(kind[lane]) <= 1 for kind in normal for lane in "ab"], axis=0)
    judged = judge(machines, None)
    worst = worst_cases(machines, judged, None)
    for one in judged:
        assert worst[one.key] <= float(one.slack_deg[inside].min()) + 1e-3


# Findings and their cures


def lying(clearance: float = 0.2, **more: Any) -> Project:
    project = pair(3.0, replaced(HEX, fit_clearance_mm=clearance, **more), fit_spread_mm=0.03)
    return replaced(project, tolerances=Tolerances(travel_percent=0.0, speed_percent=0.0))


def unlikely(project: Project) -> Finding:
    (finding,) = [one for one in examine(project).findings if one.rule in ("unlikely", "thin-margin")]
    return finding


def test_play_is_named_and_turning_all_discs_one_way_cures() -> None:
    project = lying()
    finding = unlikely(project)
    said = words(finding, project)
    assert finding.rule == "unlikely"
    assert str(finding.severity) == "error"
    assert said.what.startswith("Each disc can turn ±4.2° on its shaft; about ")
    assert "built machines would fail when tightened as they lie" in said.what
    # The shaft turns clockwise and pushes each disc on its flank: turned against it, the discs lie there.
    assert said.cure.startswith("Turn all discs counterclockwise while tightening, or use two pins at ")
    assert finding.cure is not None
    after = examine(apply_edit(project, finding.cure.edit or "", **finding.cure.arguments).project)
    assert not [one for one in after.findings if one.rule in ("unlikely", "thin-margin")]
    assert after.spread is not None
    assert after.spread.chance >= 0.99


def test_the_limits_decide_between_warning_error_and_nothing() -> None:
    project = lying()
    spread = examine(project, cures=False).spread
    assert isinstance(spread, Spread)

    def with_limits(most: float, least: float) -> list[str]:
        edited = apply_edit(project, "set_limits", chance_percent=most, least_chance_percent=least).project
        return [one.rule for one in examine(edited, cures=False).findings if one.rule != "not-checked"]

    # Far enough from the share that as few machines decide it: their interval is some 2.5 % either way.
    share = 100 * spread.chance
    assert with_limits(99.0, share - 5) == ["thin-margin"]
    assert with_limits(99.0, share + 5) == ["unlikely"]
    assert with_limits(share - 5, share - 10) == []


def test_json_says_what_the_chance_counts_and_what_costs() -> None:
    margin = report_json(examine(lying(), cures=False))["margin"]
    assert isinstance(margin, dict)
    assert margin["counted"] == ["timing", "fits"]
    assert margin["left_out_areas"] == ["items", "forces", "torque", "heights", "shaft", "parts"]
    assert margin["causes"][0]["cause"] == "play"
