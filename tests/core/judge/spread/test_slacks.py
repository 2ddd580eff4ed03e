"""The error that each rule must survive, against closed forms and against drawn machines."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest

from shaftscore.judge.spread import find_spread
from shaftscore.judge.spread.judging import judged_places
from shaftscore.judge.spread.slacks import RuleSlack, least_normalised, rule_slacks
from shaftscore.model import Channel, Exclusive, Flow, Gate, Magazine, Outlet, Project, Supply
from shaftscore.rules.survival import LEAST_ERROR_DEG, NORMAL, UNIFORM, harms, normalised, survived_deg
from shaftscore.solution import solve
from tests.core.judge.spread.machines import drawn, machine, only, phi
from tests.machines import at, gate, within


def two_gates(
    second_deg: float, travel_max_s: float = 0.5, headway_s: float = 1.375, **sizes: float
) -> Project:
    """Two gates, both open from 5 mm on, whose items follow one another through a chute."""
    gates = tuple(
        Gate(id=f"gate-{name}", state=within(name, 5, 10), source="tube", to="chute", item="bead")
        for name in ("a", "b")
    )
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=(Magazine(id="tube", source="hopper", capacity=9, start_count=9),),
        channels=(
            Channel(id="chute", travel_min_s=0.5, travel_max_s=travel_max_s, headway_s=headway_s, to="tray"),
        ),
        outlets=(Outlet(id="tray"),),
        gates=gates,
    )
    rules = (Exclusive(kind="exclusive", states=(at("a", "open"), at("b", "open"))),)
    lanes = (gate("A", 100, 110), gate("B", second_deg, second_deg + 10))
    return machine(*lanes, flow=flow, rules=rules, tolerances=only(**sizes))


def tight(project: Project, kind: str) -> RuleSlack:
    solution = solve(project)
    found = least_normalised([one for one in rule_slacks(solution) if one.kind == kind])
    assert found is not None
    return found


def test_two_discs_add_up_as_the_root_of_squares() -> None:
    found = tight(two_gates(150, disc_angle_deg=0.3), "exclusive")
    assert found.error_deg == pytest.approx(0.3 * sqrt(2), abs=1e-3)
    assert found.normalised == pytest.approx(found.slack_deg / (0.3 * sqrt(2)), rel=1e-3)


def test_a_half_degree_in_a_chute_counts_less_than_one_between_discs() -> None:
    # The window of an item is 0.5 s (18 degrees at 36 degrees a second); 10 % more is 1.8 degrees.
    project = two_gates(150, 1.0, (50 - 18 - 0.5) / 36, disc_angle_deg=0.3, travel_percent=10.0)
    found = tight(project, "headway")
    assert found.slack_deg == pytest.approx(0.5, abs=1e-3)
    assert found.error_deg == pytest.approx(sqrt(1.8**2 + 2 * 0.3**2), abs=2e-3)
    assert found.normalised < 0.5 / (0.3 * sqrt(2))


def test_a_slack_of_one_error_is_three_standard_deviations() -> None:
    error = 0.3 * sqrt(2)
    project = two_gates(150, headway_s=(50 - error) / 36, disc_angle_deg=0.3)
    assert tight(project, "headway").normalised == pytest.approx(1.0, abs=5e-3)
    spread = find_spread(solve(project), machines=40_000)
    assert spread is not None
    assert spread.chance == pytest.approx(phi(3.0), abs=8e-4)


def test_errors_are_those_of_the_drawn_machines() -> None:
    project = two_gates(
        150,
        1.0,
        0.5,
        disc_angle_deg=0.4,
        profile_mm=0.1,
        station_mm=0.2,
        zero_mm=0.1,
        travel_percent=10.0,
        speed_percent=3.0,
    )
    machines = drawn(project, machines=20_000)
    for kind, _, parts in judged_places(machines, None):
        if kind == "release":
            continue  # either side of an opening: two different errors
        tightest = min(parts, key=lambda part: float(part.slack_deg[0]))
        sigma = float(np.std(tightest.slack_deg[1:]))
        assert tight(project, kind).error_deg == pytest.approx(3 * sigma, rel=0.03), kind


def test_no_error_beyond_all_limits_at_once() -> None:
    one = np.array([1.0])
    assert survived_deg(5.0, 5.0, one, np.array([UNIFORM])) == 1.0  # 3 sigma would be 1.73
    many = np.ones(100)
    assert survived_deg(5.0, 5.0, many, np.full(100, NORMAL)) == pytest.approx(10.0)
    assert survived_deg(5.0, 4.5, one, np.array([NORMAL])) == pytest.approx(1.5)  # a known shift counts whole
    assert survived_deg(5.0, 5.0, np.zeros(3), np.full(3, NORMAL)) == LEAST_ERROR_DEG
    assert list(harms(2.0, np.array([[1.5, 2.5], [2.0, 3.0], [-np.inf, 2.0]]))) == [0.5, 0.0, np.inf]
    assert normalised(1.0, np.inf) == 0.0
    assert normalised(-np.inf, np.inf) == -np.inf
