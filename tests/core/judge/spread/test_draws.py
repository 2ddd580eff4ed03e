"""What is drawn: sizes, chains, plays."""

from __future__ import annotations

from math import degrees, sqrt

import numpy as np
import pytest

from shaftscore.judge.spread.draws import Errors, draw, is_taut, joint_play_deg
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.model import Dogs, Lane, Load, Project, Stack, Tolerances, TranslatingRoller
from tests.core.judge.spread.machines import only
from tests.machines import gate, machine

NAMES = "ABCDEFGHI"
DOGS = Dogs(radius_mm=20.0, width_mm=4.0, height_mm=2.0)


def chain(**more: object) -> Project:
    stack = Stack(id="s", keying="chain", dogs=DOGS, **({"spacer_mm": 0.0} | more))  # type: ignore[arg-type]
    lanes = [gate(name, 100, 120) for name in NAMES]
    return machine(*lanes, stacks=(stack,), tolerances=only(disc_angle_deg=0.6))


def shifts(project: Project) -> list[np.ndarray]:
    errors = Errors(project, draw(project, 20_000, 5))
    return [errors.shift_deg(name.lower())[1:] for name in NAMES]


def test_the_limits_are_three_sigmas() -> None:
    project = machine(gate("A", 100, 120), tolerances=Tolerances(disc_angle_deg=0.6, profile_mm=0.15))
    errors = Errors(project, draw(project, 20_000, 5))
    assert errors.shift_deg("a")[1:].std() == pytest.approx(0.2, rel=0.02)
    assert errors.height_mm("a")[1:].std() == pytest.approx(0.05, rel=0.02)
    assert errors.speed[1:].std() == pytest.approx(0.1 / 3, rel=0.02)
    assert (errors.shift_deg("a")[0], errors.height_mm("a")[0], errors.speed[0]) == (0.0, 0.0, 1.0)


def test_a_chain_grows_like_the_root_of_its_length() -> None:
    spread = [shift.std() for shift in shifts(chain())]
    assert spread == pytest.approx([0.2 * sqrt(n) for n in range(1, 10)], rel=0.03)


def test_a_chain_begins_at_the_driven_end() -> None:
    spread = [shift.std() for shift in shifts(chain(driven_end="top"))]
    assert spread == pytest.approx([0.2 * sqrt(n) for n in range(9, 0, -1)], rel=0.03)


def test_neighbours_of_a_chain_differ_by_one_joint() -> None:
    moved = shifts(chain())
    assert (moved[8] - moved[7]).std() == pytest.approx(0.2, rel=0.03)


def test_loose_joints_lag() -> None:
    # Each of n joints lags by 0 to 1 degree: n / 2 in the mean; a spacer has a joint on either side.
    lags = [shift.mean() for shift in shifts(chain(joints="loose", joint_play_deg=1.0))]
    assert lags == pytest.approx([0.5 * n for n in range(1, 10)], abs=0.03)
    lags = [shift.mean() for shift in shifts(chain(joints="loose", joint_play_deg=1.0, spacer_mm=3.0))]
    assert lags == pytest.approx([0.5 * (2 * n - 1) for n in range(1, 10)], abs=0.03)


def test_play_comes_from_the_clearance_unless_it_is_given() -> None:
    loose = Stack(id="s", keying="chain", dogs=DOGS, joints="loose", fit_clearance_mm=0.1)
    assert joint_play_deg(loose) == pytest.approx(degrees(0.2 / 20))
    assert joint_play_deg(Stack(id="s", keying="chain", dogs=DOGS)) == 0.0
    assert joint_play_deg(Stack(id="s", dogs=DOGS, joints="loose")) == 0.0


def test_a_disc_against_the_shaft_is_alone() -> None:
    project = machine(*(gate(name, 100, 120) for name in NAMES), tolerances=only(disc_angle_deg=0.6))
    moved = np.array(shifts(project))
    assert moved.std(axis=1) == pytest.approx([0.2] * 9, rel=0.03)
    assert abs(np.corrcoef(moved) - np.eye(9)).max() < 0.03


def test_a_rider_shares_the_errors_of_its_disc() -> None:
    rider = Lane(id="r", name="R", kind="rider", disc_of="a", station_deg=90.0)
    project = machine(gate("A", 100, 120), rider)
    errors = Errors(project, draw(project, 50, 1))
    assert np.array_equal(errors.shift_deg("r"), errors.shift_deg("a"))
    assert np.array_equal(errors.height_mm("r"), errors.height_mm("a"))


def follower(closure: str = "spring") -> TranslatingRoller:
    return TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=5.0,
        link_play_mm=0.4,
        closure=closure,  # type: ignore[arg-type]
    )


def test_link_play_is_the_way_between_rise_and_fall() -> None:
    project = machine(gate("A", 100, 120, follower=follower()))
    up, down = Errors(project, draw(project, 50, 1)).link_mm("a")
    assert down[1:] - up[1:] == pytest.approx(0.4)
    assert up[0] == down[0] == 0.0
    assert (up[1:] <= 0).all()


@pytest.mark.parametrize(
    ("load", "closure", "taut"),
    [
        (None, "spring", False),
        (Load(spring_preload_n=2.0), "spring", False),
        (Load(spring_preload_n=2.0, at="output"), "spring", True),
        (Load(spring_preload_n=0.0, at="output"), "spring", False),
        (Load(spring_preload_n=2.0, at="output"), "groove", False),
    ],
)
def test_a_spring_at_the_output_takes_the_play_up(load: Load | None, closure: str, taut: bool) -> None:
    assert is_taut(gate("A", 100, 120, follower=follower(closure), load=load)) is taut


@pytest.mark.parametrize(
    ("held", "drawn", "low", "high"),
    [
        # Worked by the formula in Wilson's paper with z = 1.96: 0 of 10 gives z^2 / (n + z^2) as its end.
        (0, 10, 0.0, 0.2775),
        (10, 10, 0.7225, 1.0),
        (5, 10, 0.2366, 0.7634),
    ],
)
def test_wilson(held: int, drawn: int, low: float, high: float) -> None:
    assert wilson_interval(held, drawn) == pytest.approx((low, high), abs=5e-5)


def test_wilson_agrees_with_scipy() -> None:
    from scipy.stats import binomtest  # the independent reference

    for held in (0, 1, 37, 9_900, 10_000):
        theirs = binomtest(held, 10_000).proportion_ci(method="wilson")
        assert wilson_interval(held, 10_000) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_wilson_refuses_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="got 3 of 2"):
        wilson_interval(3, 2)
