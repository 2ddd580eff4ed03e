"""What is drawn: sizes, chains, plays."""

from __future__ import annotations

from math import degrees, sqrt

import numpy as np
import pytest

from shaftscore.judge.spread.draws import Errors, draw, is_taut
from shaftscore.judge.spread.wilson import wilson_interval
from shaftscore.model import Dogs, Lane, Load, Project, Stack, Tolerances, TranslatingRoller
from tests.core.judge.spread.machines import drawn, machine, only
from tests.machines import gate

NAMES = "ABCDEFGHI"
DOGS = Dogs(radius_mm=20.0, width_mm=4.0, height_mm=2.0)


def chain(**more: object) -> Project:
    stack = Stack(id="s", keying="chain", dogs=DOGS, **({"spacer_mm": 0.0, "fit_clearance_mm": 0.0} | more))  # type: ignore[arg-type]
    lanes = [gate(name, 100, 120) for name in NAMES]
    return machine(*lanes, stacks=(stack,), tolerances=only(disc_angle_deg=0.6))


def shifts(project: Project) -> list[np.ndarray]:
    errors = drawn(project, 20_000, 5).errors
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


def lates(project: Project, theta: float = 100.0) -> list[np.ndarray]:
    """Return by how much later each lane of the chain passes at one of its moves, degrees."""
    errors = drawn(project, 20_000, 5).errors
    flanks = [errors.flanks(name.lower()) for name in NAMES]
    assert all(flank is not None for flank in flanks)
    return [flank.late_deg(theta, 1, rises=True)[1:] for flank in flanks if flank is not None]


def test_loose_joints_stand_anywhere_at_each_move_without_forces() -> None:
    # A uniform law of the half-width d has the variance d^2 / 3; n joints n times that; a spacer has two.
    each = [late.std() for late in lates(chain(joints="loose", joint_play_deg=1.0))]
    assert each == pytest.approx([0.5 * sqrt(n / 3) for n in range(1, 10)], rel=0.03)
    each = [late.std() for late in lates(chain(joints="loose", joint_play_deg=1.0, spacer_mm=3.0))]
    assert each == pytest.approx([0.5 * sqrt((2 * n - 1) / 3) for n in range(1, 10)], rel=0.03)
    assert np.mean([late.mean() for late in lates(chain(joints="loose", joint_play_deg=1.0))]) == (
        pytest.approx(0.0, abs=0.02)
    )


def test_play_comes_from_the_clearance_unless_it_is_given() -> None:
    (late, *_) = lates(chain(joints="loose", fit_clearance_mm=0.1))
    assert np.abs(late).max() == pytest.approx(degrees(0.1 / 20), rel=1e-3)  # c / r of dogs at 20 mm
    (late, *_) = lates(chain(joints="loose", joint_play_deg=3.0))
    assert np.abs(late).max() == pytest.approx(1.5, rel=1e-3)


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
