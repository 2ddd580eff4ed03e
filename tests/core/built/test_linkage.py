"""Circle intersection, the branch of a four-bar, and the line nearest to a path."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq, minimize_scalar, root

from shaftscore.built.linkage import FourBar, LinkageGapError, circle_meeting, straight_fit

lengths = st.floats(5.0, 200.0)


def closed(bar: FourBar, angle: float, guess: complex) -> complex:
    """Find the far joint by a general root finder, from a guess nearby."""
    near = bar.input_pivot + bar.input_mm * np.exp(1j * angle)

    def left(at: np.ndarray) -> list[float]:
        point = complex(at[0], at[1])
        return [
            abs(point - near) ** 2 - bar.coupler_mm**2,
            abs(point - bar.output_pivot) ** 2 - bar.output_mm**2,
        ]

    found = root(left, [guess.real, guess.imag], tol=1e-13)
    return complex(*found.x)


@pytest.mark.parametrize("side", [1, -1])
def test_joints_are_those_of_a_root_finder_that_follows_the_branch(side: int) -> None:
    """scipy's root finder, started at the place before, stays on the branch and finds the same joints."""
    bar = FourBar(3 - 2j, 63 + 8j, 20.0, 70.0, 50.0, 1 if side == 1 else -1)
    angles = np.linspace(0.0, 2 * np.pi, 73)
    near, far = bar.joints(angles)
    place = complex(far[0])
    for angle, joint in zip(angles, far, strict=True):
        place = closed(bar, float(angle), place)
        assert abs(place - joint) < 1e-7
    assert np.abs(near - bar.input_pivot) == pytest.approx(20.0)
    assert np.abs(np.diff(far)).max() < 10, "the branch is kept"


@given(lengths, lengths, st.floats(0.05, 0.95), st.sampled_from([1, -1]))
@settings(max_examples=60)
def test_a_meeting_is_on_both_circles_and_on_its_side(
    first: float, second: float, share: float, side: int
) -> None:
    apart = abs(first - second) + share * (first + second - abs(first - second))
    centre = apart * np.exp(0.7j)
    meeting = circle_meeting(np.array([0j]), first, centre, second, 1 if side == 1 else -1)[0]
    assert abs(meeting) == pytest.approx(first, rel=1e-9)
    assert abs(meeting - centre) == pytest.approx(second, rel=1e-9)
    assert np.sign((np.conj(centre) * meeting).imag) == side


@pytest.mark.parametrize("apart", [0.0, 10.0, 50.0, 60.0])
def test_circles_that_miss_or_touch_are_refused(apart: float) -> None:
    """Radii 30 and 20 meet between 10 and 50 mm; at the ends they touch and the branch is lost."""
    with pytest.raises(LinkageGapError, match=r"the links span 10 to 50 mm"):
        circle_meeting(np.array([0j]), 30.0, complex(apart), 20.0, 1)


def test_the_first_angle_at_which_links_do_not_meet_is_named() -> None:
    """Ground 100, input 40: the far links of 50 and 30 mm reach 80 mm, so the input stops at cos = 13/20.

    100² + 40² - 2·100·40·cos = 80², cos = 0.65: 49.5°.
    """
    bar = FourBar(0j, 100 + 0j, 40.0, 50.0, 30.0, 1)
    with pytest.raises(LinkageGapError, match=r"where the input is at 50°") as caught:
        bar.joints(np.radians(np.arange(0.0, 90.0, 10.0)))
    assert caught.value.index == 5
    bar.joints(np.radians([49.0]))


def test_the_nearest_line_of_a_path_is_that_of_a_minimiser() -> None:
    """The narrowest strip about an arc that is turned, against scipy's minimiser over the direction."""
    path = (30 * np.exp(1j * np.linspace(-0.2, 0.25, 301)) + 3 - 8j) * np.exp(0.4j)
    fit = straight_fit(path)

    def width(angle: float) -> float:
        return float(np.ptp((path * np.exp(-1j * angle)).imag))

    around = 0.4 + np.pi / 2 + 0.025
    best = minimize_scalar(
        width, bounds=(around - 0.3, around + 0.3), method="bounded", options={"xatol": 1e-12}
    )
    assert fit.deviation_mm == pytest.approx(best.fun, rel=1e-6)
    # Closed form: the strip of an arc of half angle 0.225 has the height of its segment.
    assert fit.deviation_mm == pytest.approx(30 * (1 - np.cos(0.225)), rel=1e-4)
    assert (np.conj(fit.along) * (path[-1] - path[0])).real == pytest.approx(fit.length_mm, rel=1e-6)
    aside = ((path - fit.through) * np.conj(fit.along)).imag
    assert aside.max() == pytest.approx(fit.deviation_mm / 2) == -aside.min()


def test_a_straight_path_and_a_point() -> None:
    path = np.linspace(0, 5, 11) * np.exp(1.1j)
    assert straight_fit(path).deviation_mm == pytest.approx(0.0, abs=1e-12)
    assert straight_fit(path).length_mm == pytest.approx(5.0)
    with pytest.raises(ValueError, match="no direction"):
        straight_fit(np.full(3, 2 + 1j))


def test_a_dead_point_is_where_the_root_finder_finds_it() -> None:
    """The input angle at which coupler and output link are in line, by bisection on their reach."""
    bar = FourBar(0j, 90 + 0j, 45.0, 40.0, 35.0, 1)
    dead = brentq(lambda a: abs(90 - 45 * np.exp(1j * a)) - 75.0, 0.1, 2.0, xtol=1e-14)
    bar.joints(np.array([dead - 1e-6]))
    with pytest.raises(LinkageGapError):
        bar.joints(np.array([dead + 1e-6]))
