"""The chance against closed forms, and against the same machines judged one by one."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from shaftscore.base.samples import sample_folder
from shaftscore.base.tolerance import LIMIT
from shaftscore.judge.checks.margin import rule_margins, smallest_of
from shaftscore.judge.report import examine_as_drawn
from shaftscore.judge.spread import Spread, draw_machines, find_spread
from shaftscore.judge.spread.draws import Errors
from shaftscore.judge.spread.histogram import reached
from shaftscore.judge.spread.judging import judge, judged_places, smallest
from shaftscore.judge.spread.worst import worst_cases
from shaftscore.model import Project, Tolerances, TranslatingRoller, replaced
from shaftscore.model.loader import load_project
from shaftscore.rules.kinds import meaning_of
from shaftscore.solution import solve
from tests.core.judge.spread.by_hand import OneMachine
from tests.core.judge.spread.machines import EXACT, drawn, machine, only, phi, within_limits
from tests.machines import at, exclusive, gate, lane, order, requires, within

ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, output_ratio=2.0)


def spread_of(project: Project, machines: int = 10_000, seed: int = 7) -> Spread:
    found = find_spread(solve(project), machines=machines, seed=seed)
    assert found is not None
    return found


def pair(margin: float, tolerances: Tolerances, **more: object) -> Project:
    """Two gates whose halves, 12 degrees beside their dwells, lie `margin` degrees over the gap of 2."""
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_deg=2.0)
    start = 120 + 24 + 2 + margin
    lanes = (gate("A", 100, 120), gate("B", start, start + 20))
    return machine(*lanes, rules=(rule,), tolerances=tolerances, **more)


@pytest.mark.parametrize("margin", [-0.2, 0.0, 0.2, 0.5])
def test_one_gap_and_two_angles_are_the_normal_law(margin: float) -> None:
    # Two independent normal errors of sigma d / 3 each: P(margin + x > 0) = Phi(margin / (sqrt 2 d / 3)).
    found = spread_of(pair(margin, only(disc_angle_deg=0.6)))
    expected = phi(margin / (sqrt(2) * 0.6 / 3))
    error = sqrt(max(expected * (1 - expected), 1e-4) / 10_000)
    assert found.chance == pytest.approx(expected, abs=4 * error)
    assert found.rules[0].smallest_deg == pytest.approx(margin, abs=1e-4)


def test_a_gap_in_seconds_goes_with_the_speed() -> None:
    # 5 degrees of gap at 36 degrees a second; the machine fails where it runs more than 4 % faster.
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_s=5 / 36)
    lanes = (gate("A", 100, 120), gate("B", 149.2, 169.2))
    found = spread_of(machine(*lanes, rules=(rule,), tolerances=only(speed_percent=6.0)))
    assert found.chance == pytest.approx(phi(4 / 2), abs=4 * sqrt(0.0228 / 10_000))


def test_a_profile_error_goes_through_the_slope_of_the_motion() -> None:
    # Constant velocity, 10 mm in 24 degrees, output twice the roller's way: an error of e at the roller
    # moves both ends of a range by 2 e x 2.4 degrees, so each gap side by 4.8 e.
    rule = exclusive(within("a", 5, 10), within("b", 5, 10))
    more = {"law": "constant-velocity", "follower": ROLLER}
    lanes = (gate("A", 100, 120, **more), gate("B", 144.5, 164.5, **more))
    found = spread_of(machine(*lanes, rules=(rule,), tolerances=only(profile_mm=0.15)))
    sigma = sqrt(2) * 4.8 * 0.05
    assert found.chance == pytest.approx(phi(0.5 / sigma), abs=4 * sqrt(0.07 * 0.93 / 10_000))


def test_a_level_that_is_not_reached_any_more_is_lost() -> None:
    # Need open while A is open: a band of 0.1 mm at the output is 0.05 mm at the roller: one sigma.
    rule = requires(within("a", 9, 10), at("b", "open"))
    lanes = (gate("A", 100, 120), gate("B", 60, 200, band_mm=0.1, follower=ROLLER))
    found = spread_of(machine(*lanes, rules=(rule,), tolerances=only(profile_mm=0.15)))
    assert found.chance == pytest.approx(phi(1) - phi(-1), abs=4 * sqrt(0.217 / 10_000))


def test_backlash_matters_between_stacks_alone() -> None:
    stacks = (replaced(EXACT, id="one", backlash_deg=2.0), replaced(EXACT, id="two"))
    rule = exclusive(within("a", 5, 10), within("b", 5, 10))
    first = gate("A", 100, 120, stack="one")
    apart = machine(first, gate("B", 145, 165, stack="two"), rules=(rule,), stacks=stacks, tolerances=only())
    # A lags by 0 to 2 degrees, uniform; 1 degree is there.
    assert spread_of(apart).chance == pytest.approx(0.5, abs=4 * 0.005)
    same = machine(first, gate("B", 145, 165, stack="one"), rules=(rule,), stacks=stacks, tolerances=only())
    assert spread_of(same).chance == 1.0


def test_everything_off_always_works() -> None:
    found = spread_of(pair(0.001, only()))
    assert (found.chance, found.high, found.is_thin) == (1.0, 1.0, False)
    assert found.worst_deg == pytest.approx(0.001, abs=1e-5)
    broken = spread_of(pair(-0.001, only()))
    assert (broken.chance, broken.low, broken.holds) == (0.0, 0.0, False)


def test_seeds_repeat_and_differ() -> None:
    project = pair(0.2, Tolerances())
    assert spread_of(project, seed=3) == spread_of(project, seed=3)
    assert spread_of(project, seed=3).chance != spread_of(project, seed=4).chance


def test_the_lane_that_costs_most_comes_first() -> None:
    # Only A meets both neighbours: without its error the chance is higher than without any other's.
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), within("c", 5, 10))
    lanes = (gate("C", 55.7, 75.7), gate("A", 100, 120), gate("B", 144.3, 164.3))
    found = spread_of(machine(*lanes, rules=(rule,), tolerances=only(disc_angle_deg=0.6)))
    assert found.is_thin
    costs = {cost.lane: cost.chance_without for cost in found.costs}
    assert found.costs[0].lane == "a"
    assert costs["a"] == pytest.approx(phi(0.3 / 0.2) ** 2, abs=0.02)


def test_the_needed_tolerance_is_that_of_the_normal_law() -> None:
    found = spread_of(pair(0.4, only(disc_angle_deg=1.0)))
    assert found.needed_disc_angle_deg is not None
    # 99 % of a normal law lie under 2.3263 sigma (from memory; any table of the normal law). To be sure of
    # it by 10,000 machines takes 99.25 % of them, which lie under 2.432 sigma.
    exact = 3 * 0.4 / sqrt(2) / 2.3263
    assert 0.92 * exact < found.needed_disc_angle_deg < 1.01 * exact
    again = find_spread(solve(pair(0.4, only(disc_angle_deg=found.needed_disc_angle_deg))), seed=7)
    assert again is not None
    assert again.chance >= 0.99


def rich() -> Project:
    """Make a machine with every kind of rule, a stack that turns twice, and a lane with flat rises."""
    rules = (
        exclusive(within("a", 5, 10), within("b", 5, 10), at("d", "open"), gap_s=0.05),
        requires(at("a", "open"), at("c", "open"), lead_deg=1.0, lag_s=0.1),
        requires(within("b", 7, 10), within("c", 3, 10), lag_s=0.3),
        order(at("a", "open"), at("b", "open"), min_s=0.9, max_s=1.4),
        order(within("d", 2, 10), at("c", "closed"), min_s=0.0),
    )
    return machine(
        gate("A", 100, 120, 26.0, law="cycloidal", follower=ROLLER),
        gate("B", 148, 160, 24.0, law="modified-trapezoid"),
        gate("C", 85, 173, 24.0, law="cycloidal"),
        lane("D", ("open", 40, 60), ("closed", 110, 340), stack="two", band_mm=0.2),
        rules=rules,
        stacks=(replaced(EXACT, id="one"), replaced(EXACT, id="two", turns=2, backlash_deg=1.0)),
        tolerances=Tolerances(disc_angle_deg=1.5, fit_spread_mm=0.0, station_mm=0.0, zero_mm=0.0),
    )


def test_one_pass_agrees_with_machine_by_machine() -> None:
    machines = drawn(rich(), 200)
    one_by_one = [OneMachine(machines.solution, machines.errors, row) for row in range(201)]
    broken = 0
    for number, rule in enumerate(machines.project.rules):
        slack = np.minimum.reduce([part.slack_deg for part in meaning_of(rule).places(machines, rule)])
        by_hand = np.array([one.slack(rule) for one in one_by_one])
        assert np.array_equal(slack >= -1e-6, by_hand >= -1e-6), number
        np.testing.assert_allclose(slack, by_hand, atol=2e-3, err_msg=str(number))
        broken += int((by_hand < 0).sum())
    assert 0 < broken < 1000


def test_the_nominal_machine_is_row_0() -> None:
    machines = drawn(rich(), 5)
    margin = smallest_of(rule_margins(machines.solution))
    assert margin is not None
    slack = smallest(judge(machines, None), machines.count)
    assert slack[0] == pytest.approx(margin.smallest_deg, abs=1e-6)


def test_the_worst_case_contains_every_machine_within_the_limits() -> None:
    machines = drawn(rich(), 3000)
    inside = within_limits(machines)
    judged = judge(machines, None)
    worst = worst_cases(machines, judged, None)
    for one in judged:
        least = float(one.slack_deg[inside].min())
        # Cut off at what a rule may be missed by: whole intervals.
        assert worst[one.kind, one.what] <= least + 1e-3, one.what
        assert worst[one.kind, one.what] > least - 6.0


def test_the_worst_case_of_a_whole_machine_with_items_contains_every_machine_within_the_limits() -> None:
    report = examine_as_drawn(load_project(sample_folder() / "seedling_sower.shaft"))
    machines = draw_machines(report.solution, 400, 1)
    draws = machines.errors.draws
    normal = (draws.fit, draws.lined, draws.station, draws.zero, draws.fill)
    within = [np.all(np.abs(np.atleast_2d(one)) <= 1.0, axis=0) for each in normal for one in each.values()]
    inside = np.all([within_limits(machines), *within], axis=0)
    assert np.count_nonzero(inside) > 100
    judged = judge(machines, report.flow)
    worst = worst_cases(machines, judged, report.flow)
    assert len({one.kind for one in judged}) >= 8
    for one in judged:
        assert worst[one.key] <= float(one.slack_deg[inside].min()) + 1e-3, one.key


def test_of_a_judged_rule_no_more_is_kept_than_one_slack_a_machine() -> None:
    machines = drawn(rich(), 200)
    for one, (kind, what, parts) in zip(judge(machines, None), judged_places(machines, None), strict=True):
        assert one.key == (kind, what)
        assert [place.lanes for place in one.places] == [part.lanes for part in parts]
        for place, part in zip(one.places, parts, strict=True):
            assert place.nominal_deg == part.slack_deg[0]
            assert place.broken == np.count_nonzero(part.slack_deg[1:] < -LIMIT)
        assert np.array_equal(one.slack_deg, np.min([part.slack_deg for part in parts], axis=0))


def test_the_worst_case_of_one_gap_is_both_limits() -> None:
    found = spread_of(pair(3.0, only(disc_angle_deg=0.6)))
    assert found.worst_deg == pytest.approx(3.0 - 1.2, abs=1e-4)
    stacks = (replaced(EXACT, backlash_deg=5.0),)
    assert spread_of(pair(3.0, only(), stacks=stacks)).worst_deg == pytest.approx(3.0, abs=1e-4)


def test_sizes_scale_the_same_machines() -> None:
    machines = drawn(pair(1.0, only(disc_angle_deg=0.5)), 50)
    half = machines.scaled(0.5)
    assert np.allclose(half.errors.shift_deg("a") * 2, machines.errors.shift_deg("a"))
    quiet = machines.without("a")
    assert not quiet.errors.shift_deg("a").any()
    assert isinstance(quiet.errors, Errors)
    assert np.array_equal(quiet.errors.shift_deg("b"), machines.errors.shift_deg("b"))


def test_outputs_beyond_a_linkage_are_never_reached_in_any_machine() -> None:
    link = ({"roller_mm": 0.0, "output_mm": 0.0}, {"roller_mm": 5.0, "output_mm": 10.0})
    follower = {"kind": "translating-roller", "roller_radius_mm": 5.0, "link": link, "link_play_mm": 0.5}
    lanes = (gate("A", 100, 120, follower=follower), gate("B", 240, 260))
    rule = exclusive(within("a", 9.8, 10.4), at("b", "open"))
    found = find_spread(solve(machine(*lanes, rules=(rule,))))
    assert found is not None
    assert found.holds
    assert found.chance == 1.0


@pytest.mark.parametrize("count", [1, 2, 7, 999, 1001, 10_000])
@pytest.mark.parametrize("share", [0.0, 0.001, 0.25, 0.7, 1.0])
def test_a_share_is_reached_where_the_percentile_of_numpy_lies(count: int, share: float) -> None:
    values = np.random.default_rng(count).standard_normal(count) * 17.3
    assert reached(values, share) == float(np.quantile(values, share))
