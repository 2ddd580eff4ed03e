"""Lanes from a table: the spline against the function it was sampled from, and as scipy gives it."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import CubicSpline

from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, program
from shaftscore.kinematics.motion.points import FOLLOWS_MM, spline_through, written_for
from shaftscore.kinematics.motion.segments import TurnSpline
from shaftscore.kinematics.motion.states import level_intervals, range_intervals
from shaftscore.model import Lane, MotionPoint


def wave(theta_deg: np.ndarray) -> np.ndarray:
    """A smooth program with four turning points, and its derivatives per radian."""
    r = np.radians(theta_deg)
    s, c, s2, c2 = np.sin(r), np.cos(r), np.sin(2 * r), np.cos(2 * r)
    return np.array([10 + 5 * s + 2 * c2, 5 * c - 4 * s2, -5 * s - 8 * c2, -5 * c + 16 * s2])


def table(angles: np.ndarray) -> tuple[MotionPoint, ...]:
    heights = wave(angles)[0]
    return tuple(
        MotionPoint(theta_deg=float(t), output_mm=float(s)) for t, s in zip(angles, heights, strict=True)
    )


def made(points: tuple[MotionPoint, ...], **fields: object) -> LaneMotion:
    found = program(Lane(**{"id": "p", "kind": "points", "points": points, **fields}))
    assert isinstance(found, LaneMotion), found
    return found


def test_the_spline_passes_through_every_point() -> None:
    angles = np.array([3.0, 40, 77, 120, 200, 210, 290, 345])
    np.testing.assert_allclose(made(table(angles)).at(angles)[0], wave(angles)[0], atol=1e-12)


def test_a_spline_through_more_points_comes_nearer_in_every_derivative() -> None:
    theta = np.linspace(0, 360, 701)
    errors = [
        np.abs(made(table(np.arange(0, 360, step))).at(theta) - wave(theta)).max(axis=1)
        for step in (20.0, 10.0)
    ]
    assert np.all(errors[1] < errors[0] / 3)
    assert errors[1][0] < 1e-6


@pytest.mark.parametrize(("degree", "order"), [(3, 4), (5, 6)])
def test_the_error_falls_with_the_degrees_own_order(degree: int, order: int) -> None:
    theta = np.linspace(0, 360, 701)
    errors = []
    for step in (15.0, 7.5):
        spline = spline_through(table(np.arange(0, 360, step)), degree)
        errors.append(np.abs(spline.at(theta)[0] - wave(theta)[0]).max())
    assert np.log2(errors[0] / errors[1]) == pytest.approx(order, abs=0.4)


def test_a_cubic_is_the_periodic_cubic_spline() -> None:
    """Against scipy's other periodic cubic, CubicSpline, which solves for slopes."""
    angles = np.array([3.0, 40, 77, 120, 200, 210, 290, 345])
    other = CubicSpline(
        np.append(angles, 363), np.append(wave(angles)[0], wave(angles)[0][0]), bc_type="periodic"
    )
    theta = np.linspace(3.5, 362.5, 500)
    mine = spline_through(table(angles), 3).at(theta)
    per_rad = np.degrees(1.0)
    for derivative in range(3):
        np.testing.assert_allclose(
            mine[derivative], other(theta, derivative) * per_rad**derivative, atol=1e-9
        )


def test_it_is_smooth_through_its_first_point() -> None:
    motion = made(table(np.arange(7.0, 360, 10.0)))
    assert motion.velocity_jumps() == ()
    assert motion.acceleration_jumps() == ()
    at = np.array([7.0])
    np.testing.assert_allclose(motion.at(at, "left"), motion.at(at), rtol=1e-6, atol=1e-6)


def test_the_fit_error_is_the_distance_from_the_points_left_out() -> None:
    angles = np.arange(0.0, 360, 10.0)
    (spline,) = made(table(angles)).segments
    assert isinstance(spline, TurnSpline)
    half = spline_through(table(angles[::2]), spline.degree)
    expected = np.abs(half.at(angles)[0] - wave(angles)[0]).max()
    assert spline.fit_error_mm == pytest.approx(expected)
    assert (
        spline.fit_error_mm
        > np.abs(spline.at(np.linspace(0, 360, 999))[0] - wave(np.linspace(0, 360, 999))[0]).max()
    )


def test_the_fit_error_has_a_root_mean_square() -> None:
    angles = np.arange(0.0, 360, 20.0)
    spline = spline_through(table(angles), 3)
    half = spline_through(table(angles[::2]), 3)
    away = half.at(angles[1::2])[0] - wave(angles[1::2])[0]
    assert spline.fit_rms_mm == pytest.approx(np.sqrt(np.mean(away**2)))
    assert spline.fit_error_mm == pytest.approx(np.max(np.abs(away)))


@pytest.mark.parametrize("step", [20.0, 40.0, 60.0])
@pytest.mark.parametrize("degree", [3, 5])
def test_written_points_follow_the_wanted_spline(degree: int, step: float) -> None:
    """Whatever degree a program takes by itself, its motion is the wanted one, as closely as is said."""
    angles = np.arange(3.0, 363, step)
    written = written_for(table(angles), degree)
    assert written.wanted.degree == degree
    theta = np.linspace(0, 360, 9001)
    away = np.abs(made(written.points).at(theta)[0] - spline_through(table(angles), degree).at(theta)[0])
    assert np.max(away) <= 1.01 * written.follows_mm + 1e-12
    assert written.follows_mm <= FOLLOWS_MM
    assert {p.theta_deg for p in table(angles)} <= {p.theta_deg for p in written.points}
    own = made(written.points).segments[0]
    assert isinstance(own, TurnSpline)
    assert (written.follows_mm == 0.0) == (len(written.points) == len(angles))


def test_a_spline_that_dips_below_0_cannot_be_written() -> None:
    steps = tuple(MotionPoint(theta_deg=15.0 * i, output_mm=10.0 if 6 <= i < 14 else 0.0) for i in range(24))
    with pytest.raises(ValueError, match="dips below 0, to -"):
        written_for(steps, 5)


def test_the_better_degree_is_taken() -> None:
    smooth = made(table(np.arange(0.0, 360, 10.0))).segments[0]
    steps = tuple(MotionPoint(theta_deg=15.0 * i, output_mm=10.0 if 6 <= i < 14 else 0.0) for i in range(24))
    stepped = made(steps).segments[0]
    assert isinstance(smooth, TurnSpline)
    assert isinstance(stepped, TurnSpline)
    assert (smooth.degree, stepped.degree) == (5, 3)


def test_three_points_are_enough_and_have_no_stated_error() -> None:
    (spline,) = made(table(np.array([0.0, 100, 250]))).segments
    assert isinstance(spline, TurnSpline)
    assert (spline.degree, spline.fit_error_mm) == (3, None)


def test_a_degree_with_too_few_points_is_refused() -> None:
    with pytest.raises(ValueError, match="degree 5 needs 6 points, got 5"):
        spline_through(table(np.arange(0.0, 360, 72.0)), 5)


def test_two_points_at_one_angle_are_no_lane() -> None:
    points = tuple(MotionPoint(theta_deg=t, output_mm=s) for t, s in ((0.0, 1.0), (90.0, 2.0), (90.0, 3.0)))
    with pytest.raises(ValueError, match="must be over the point before, 90°, got 90°"):
        Lane(id="p", kind="points", points=points)


def test_two_points_that_meet_through_0_are_no_motion() -> None:
    points = tuple(
        MotionPoint(theta_deg=t, output_mm=s) for t, s in ((0.0, 1.0), (90.0, 2.0), (360 - 1e-10, 3.0))
    )
    found = program(Lane(id="p", kind="points", points=points))
    assert isinstance(found, NoMotion)
    assert "two points at 359.99" in found.what


def test_extremes_and_crossings_of_the_wave_are_found() -> None:
    motion = made(table(np.arange(0.0, 360, 5.0)))
    # 5 sin + 2 cos 2: highest where sin = 5/8, lowest at 270.
    assert motion.highest_mm == pytest.approx(10 + 25 / 8 + 2 * (1 - 2 * 25 / 64), abs=1e-6)
    assert motion.lowest_mm == pytest.approx(3, abs=1e-6)
    peak = motion.extremes().velocity
    theta = np.linspace(0, 360, 36001)
    assert peak.value == pytest.approx(np.abs(wave(theta)[1]).max(), rel=1e-5)
    found = motion.crossings(13.3)
    np.testing.assert_allclose(wave(found)[0], 13.3, atol=1e-6)
    assert len(found) == 4


def test_a_level_is_held_where_the_output_turns_back_and_passed_elsewhere() -> None:
    points = table(np.arange(0.0, 360, 5.0))
    motion = made(points, levels={"low": 3.0, "half": 7.0})
    one = Lane(id="p", kind="points", points=points, levels={"low": 3.0, "half": 7.0})
    (low,) = level_intervals(one, motion, "low")
    assert (low.passing, low.span.contains(270.0)) == (False, True)
    assert [i.passing for i in level_intervals(one, motion, "half")] == [True, True]
    assert [i.passing for i in range_intervals(one, motion, 0.0, 5.0)] == [False]


def test_a_table_of_one_height_rests() -> None:
    points = tuple(MotionPoint(theta_deg=t, output_mm=4.0) for t in (0.0, 100.0, 200.0, 300.0))
    motion = made(points)
    assert motion.lowest_mm == pytest.approx(4)
    (interval,) = range_intervals(Lane(id="p", kind="points", points=points), motion, 3.0, 5.0)
    assert (interval.span.is_full, interval.passing) == (True, False)
