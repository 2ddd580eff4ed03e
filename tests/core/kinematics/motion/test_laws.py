"""Every motion law against what any motion law must do; a new law is covered the day it is added."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.kinematics.motion.curve import SAME_X, Curve, CurvePiece, Floats
from shaftscore.kinematics.motion.law import Law, law_of
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.laws.modified import quarter_wave_law
from shaftscore.kinematics.motion.laws.polynomial import blend_345

MORE = {
    "modified constant velocity, 20 %": quarter_wave_law("mcv20", "", 0.1, 0.0, 0.3),
    "trapezoid beside a constant velocity": quarter_wave_law("mt", "", 0.1, 0.1, 0.1),
    "blend, both ends moving": blend_345(0.8, 1.4),
    "blend, one end moving": blend_345(0.0, 1.9),
    "double-harmonic mirrored": LAWS["double-harmonic"].mirrored,
}
ALL = {**LAWS, **MORE}
every_law = pytest.mark.parametrize("law", ALL.values(), ids=ALL.keys())
SLOPES = {"constant-velocity": (1.0, 1.0)}


def inside(law: Curve, places: int = 41) -> list[tuple[float, Floats]]:
    """For every piece its length and places within it, well off its ends."""
    return [
        (b - a, np.linspace(a + 0.1 * (b - a), b - 0.1 * (b - a), places)) for a, b in pairwise(law.edges)
    ]


@every_law
def test_a_law_leads_from_0_to_1(law: Law) -> None:
    start, end = law.ends
    assert start[0] == pytest.approx(0, abs=1e-15)
    assert end[0] == pytest.approx(1, abs=1e-14)


@pytest.mark.parametrize("law", LAWS.values(), ids=LAWS)
def test_a_law_between_dwells_begins_and_ends_at_rest(law: Law) -> None:
    start, end = law.ends
    assert (start[1], end[1]) == pytest.approx(SLOPES.get(law.name, (0, 0)), abs=1e-13)


@pytest.mark.parametrize("slopes", [(0.0, 0.0), (1.0, 1.0), (0.3, 1.7), (2.0, 2.0)])
def test_a_blend_has_the_end_velocities_it_is_made_for(slopes: tuple[float, float]) -> None:
    start, end = blend_345(*slopes).ends
    assert (start[1], end[1]) == pytest.approx(slopes, abs=1e-13)
    assert (start[2], end[2]) == pytest.approx((0, 0), abs=1e-12)


@given(st.floats(0, 2), st.floats(0, 2))
def test_a_blend_within_its_bounds_never_turns_back(start: float, end: float) -> None:
    assert blend_345(start, end).at(np.linspace(0, 1, 501))[1].min() > -1e-9


def test_a_blend_without_end_velocities_is_the_polynomial_345() -> None:
    x = np.linspace(0, 1, 101)
    np.testing.assert_allclose(blend_345(0, 0).at(x), LAWS["polynomial-345"].at(x), atol=1e-12)


@every_law
def test_symmetry_is_as_stated(law: Law) -> None:
    x = np.linspace(0, 1, 997)
    mirrored = 1 - law.at(1 - x)[0]
    assert np.allclose(law.at(x)[0], mirrored, atol=1e-13) == law.symmetric
    np.testing.assert_allclose(law.mirrored.at(x)[0], mirrored, atol=1e-13)


@every_law
def test_the_mirrored_law_has_mirrored_derivatives(law: Law) -> None:
    x = np.linspace(0, 1, 997)
    signs = np.array([[-1.0], [1.0], [-1.0], [1.0]])
    expected = signs * law.at(1 - x, "left")
    expected[0] += 1
    np.testing.assert_allclose(law.mirrored.at(x), expected, atol=1e-9)


@every_law
def test_the_area_under_the_velocity_is_the_travel(law: Law) -> None:
    points, weights = np.polynomial.legendre.leggauss(24)
    area = sum(
        (b - a) / 2 * weights @ law.at((a + b) / 2 + (b - a) / 2 * points)[1] for a, b in pairwise(law.edges)
    )
    assert area == pytest.approx(1, abs=1e-13)


@every_law
@pytest.mark.parametrize("order", [0, 1, 2, 3])
def test_numerical_derivatives_approach_the_closed_form_quadratically(law: Law, order: int) -> None:
    for length, x in inside(law):
        errors = []
        for step in (length / 20, length / 40):
            slope = (law.at(x + step, orders=5)[order] - law.at(x - step, orders=5)[order]) / (2 * step)
            errors.append(np.abs(slope - law.at(x, orders=5)[order + 1]).max())
        scale = 1e-9 * max(1.0, np.abs(law.at(x, orders=5)[order + 1]).max())
        if errors[0] > scale:
            assert errors[0] / errors[1] == pytest.approx(4, rel=0.05)


@every_law
def test_a_law_never_turns_back(law: Law) -> None:
    x = np.linspace(0, 1, 4001)
    assert law.at(x)[1].min() > -1e-12
    assert len(law.runs) == 2


@every_law
def test_travel_is_continuous_and_velocity_is_at_every_joint(law: Law) -> None:
    joints = np.array(law.joints)
    left, right = law.at(joints, "left"), law.at(joints, "right")
    np.testing.assert_allclose(left[:2], right[:2], atol=1e-13)


@every_law
def test_a_place_near_a_joint_is_the_joint(law: Law) -> None:
    joints = np.array(law.joints)
    for side in ("left", "right"):
        exact = law.at(joints, side)
        for off in (-SAME_X / 4, SAME_X / 4):
            np.testing.assert_allclose(law.at(joints + off, side), exact, atol=1e-8)


@every_law
def test_the_inverse_finds_every_height(law: Law) -> None:
    y = np.concatenate((np.linspace(0, 1, 321), [1e-9, 1e-6, 1 - 1e-6]))
    x = law.inverse(y)
    np.testing.assert_allclose(law.at(x)[0], y, atol=3e-14)
    assert law.inverse(np.array([0.0, 1.0])).tolist() == [0.0, 1.0]
    assert np.all(np.diff(law.inverse(np.linspace(0, 1, 321))) > 0)


@every_law
def test_peaks_are_the_largest_values_and_are_reached(law: Law) -> None:
    x = np.unique(np.concatenate([np.linspace(a, b, 2001) for a, b in pairwise(law.edges)]))
    values = np.abs(np.concatenate((law.at(x, "left"), law.at(x, "right")), axis=1))
    for order, (peak, at) in enumerate(law.peaks, start=1):
        assert values[order].max() <= peak + 1e-12
        assert values[order].max() == pytest.approx(peak, rel=1e-5)
        reached = [abs(law.at(np.array([at]), side)[order, 0]) for side in ("left", "right")]
        assert max(reached) == pytest.approx(peak, rel=1e-12)


@every_law
def test_the_inertia_factor_is_the_largest_power(law: Law) -> None:
    x = np.unique(np.concatenate([np.linspace(a, b, 4001) for a, b in pairwise(law.edges)]))
    values = np.concatenate((law.at(x, "left"), law.at(x, "right")), axis=1)
    sampled = np.abs(values[1] * values[2]).max()
    if np.isfinite(law.qm):
        assert sampled <= law.qm * (1 + 1e-12)
        assert sampled == pytest.approx(law.qm, rel=1e-6)


def test_factors_are_infinite_where_the_quantity_below_has_a_step() -> None:
    infinite = {name: tuple(np.isinf((law.cv, law.ca, law.cj))) for name, law in LAWS.items()}
    velocity_steps = {name for name, law in LAWS.items() if law.steps(1)}
    acceleration_steps = {name for name, law in LAWS.items() if law.steps(2)}
    assert velocity_steps == {"constant-velocity"}
    assert acceleration_steps == {"parabolic", "simple-harmonic", "double-harmonic"}
    for name in LAWS:
        assert infinite[name] == (False, name in velocity_steps, name in velocity_steps | acceleration_steps)


def test_steps_carry_the_values_at_both_sides() -> None:
    np.testing.assert_allclose(LAWS["parabolic"].steps(2), [(0, 0, 4), (0.5, 4, -4), (1, -4, 0)])
    np.testing.assert_allclose(LAWS["constant-velocity"].steps(1), [(0, 0, 1), (1, 1, 0)])


@every_law
@pytest.mark.parametrize("count", [65, 129])
def test_nodes_hold_the_ends_and_both_sides_of_every_joint(law: Law, count: int) -> None:
    x, values = law.nodes(count)
    assert len(x) >= count
    assert x[0] == 0
    assert x[-1] == 1
    assert np.all(np.diff(x) >= 0)
    for joint in law.joints:
        left, right = np.flatnonzero(x == joint)
        np.testing.assert_allclose(values[:, left], law.at(np.array([joint]), "left")[:, 0], atol=1e-9)
        np.testing.assert_allclose(values[:, right], law.at(np.array([joint]), "right")[:, 0], atol=1e-9)
    np.testing.assert_array_equal(law.nodes(count)[1], values)


def test_pieces_that_do_not_add_up_are_refused() -> None:
    with pytest.raises(ValueError, match=r"add up to 1, got 0\.75$"):
        law_of("bad", "bad", [CurvePiece(0.5, (0.0, 1.0)), CurvePiece(0.25, (0.5, 1.0))], symmetric=True)


def test_a_curve_that_turns_has_its_turning_points_as_runs() -> None:
    wave = Curve.of([CurvePiece(1.0, (0.0,), ((1.0, 6 * np.pi, 0.0),))])
    np.testing.assert_allclose(wave.runs, [0, *(np.arange(1, 12, 2) / 12), 1], atol=1e-14)


def test_a_turning_point_at_a_joint_and_a_flat_stretch_are_found() -> None:
    roof = Curve.of([CurvePiece(0.25, (0.0, 4.0)), CurvePiece(0.5, (1.0,)), CurvePiece(0.25, (1.0, -4.0))])
    tip = Curve.of([CurvePiece(0.5, (0.0, 2.0)), CurvePiece(0.5, (1.0, -2.0))])
    assert tip.runs.tolist() == [0, 0.5, 1]
    assert len(roof.runs) == 3
    assert 0.25 <= roof.runs[1] <= 0.75


def test_a_shelf_is_no_turning_point() -> None:
    shelf = Curve.of([CurvePiece(0.25, (0.0, 2.0)), CurvePiece(0.5, (0.5,)), CurvePiece(0.25, (0.5, 2.0))])
    assert shelf.runs.tolist() == [0, 1]
