"""A lane's motion as a whole: evaluation from both sides, nodes, peaks, steps, crossings."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import wrap
from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.kinematics.motion.segments import Move
from shaftscore.model import Lane
from tests.core.kinematics.motion.making import any_lane, block, lane, motion


def made(one: Lane) -> LaneMotion:
    found = program(one)
    assert isinstance(found, LaneMotion)
    return found


@given(any_lane(), st.lists(st.floats(-720, 720), min_size=1, max_size=30))
def test_a_motion_is_its_segments(one: Lane, angles: list[float]) -> None:
    whole = made(one)
    for segment in whole.segments:
        if segment.length_deg > 1e-3:
            share = np.array(angles) % 1.0 * 0.998 + 0.001
            theta = segment.start_deg + share * segment.length_deg
            scale = 1 + whole.segment_peaks.max(axis=1)
            atol = 1e-9 * np.concatenate(([1.0], scale))[:, None]
            assert np.all(
                np.abs(whole.at(theta) - segment.at(theta)) <= atol + 1e-7 * np.abs(segment.at(theta))
            )


@given(any_lane(), st.floats(0, 360), st.integers(-3, 3))
def test_a_motion_repeats_every_turn(one: Lane, angle: float, turns: int) -> None:
    whole = made(one)
    here, there = whole.at(np.array([angle, angle + 360.0 * turns])).T
    assert here[0] == pytest.approx(there[0], abs=1e-9)


@given(any_lane())
def test_outputs_meet_where_segments_do(one: Lane) -> None:
    whole = made(one)
    left, right = whole.at(whole.starts_deg, "left"), whole.at(whole.starts_deg)
    np.testing.assert_allclose(left[0], right[0], atol=1e-12)


def test_both_sides_of_a_corner() -> None:
    made = motion(block("low", 0, 100), block("mid", 190, 250), law="constant-velocity")
    slope = 4 / np.radians(90)
    corners = np.array([100.0, 190.0, 250.0, 360.0])
    np.testing.assert_allclose(made.at(corners)[1], [slope, 0, -4 / np.radians(110), 0])
    np.testing.assert_allclose(made.at(corners, "left")[1], [0, slope, 0, -4 / np.radians(110)])


@pytest.mark.parametrize("off", [-3e-11, 3e-11])
def test_an_angle_within_rounding_of_a_corner_is_the_corner(off: float) -> None:
    made = motion(block("low", 0, 100), block("mid", 190, 250), law="constant-velocity")
    corners = np.array([100.0, 190.0, 250.0])
    for side in ("left", "right"):
        np.testing.assert_allclose(made.at(corners + off, side)[1], made.at(corners, side)[1])


def test_derivatives_are_per_radian() -> None:
    made = motion(block("low", 0, 100), block("high", 160, 250), law="cycloidal")
    beta = np.radians(60)
    middle = made.at(np.array([130.0]))[:, 0]
    assert middle == pytest.approx([4.5, 2 * 9 / beta, 0, -4 * np.pi**2 * 9 / beta**3], abs=1e-9)


@given(any_lane())
def test_nodes_stand_for_the_whole_turn(one: Lane) -> None:
    whole = made(one)
    nodes = whole.nodes()
    assert np.all(np.diff(nodes.theta_deg) >= -1e-9)
    assert nodes.theta_deg[-1] - nodes.theta_deg[0] == pytest.approx(360)
    assert np.all(np.diff(nodes.segment) >= 0)
    for index, segment in enumerate(whole.segments):
        mine = nodes.segment == index
        if isinstance(segment, Move) and segment.length_deg > 0:
            assert mine.sum() >= 65
            theta = nodes.theta_deg[mine]
            ends = theta[0], theta[-1]
            assert ends == pytest.approx((segment.start_deg, segment.start_deg + segment.length_deg))
            outputs = nodes.values[0, mine]
            assert (outputs[0], outputs[-1]) == pytest.approx((segment.from_mm, segment.to_mm))


def test_nodes_hold_both_sides_of_a_step() -> None:
    nodes = motion(block("low", 0, 100), block("mid", 190, 250), law="parabolic").nodes()
    at_joint = nodes.values[2, np.isclose(nodes.theta_deg, 145)]
    peak = 4 * 4 / np.radians(90) ** 2
    assert at_joint == pytest.approx([peak, -peak])


@given(any_lane())
def test_peaks_are_the_largest_sampled_values(one: Lane) -> None:
    whole = made(one)
    nodes = whole.nodes(801)
    sampled = np.abs(nodes.values).max(axis=1)
    for order, peak in enumerate(whole.extremes(), start=1):
        assert sampled[order] <= peak.value * (1 + 1e-9) + 1e-12
        assert sampled[order] == pytest.approx(peak.value, rel=2e-5, abs=1e-9)
        if peak.value:
            at = np.array([peak.theta_deg])
            reached = max(abs(whole.at(at, side)[order, 0]) for side in ("left", "right"))
            assert reached == pytest.approx(peak.value, rel=1e-6)
            assert 0 <= peak.theta_deg < 360


def test_a_rest_has_no_peaks() -> None:
    assert [peak.value for peak in motion(block("mid", 5, 9)).extremes()] == [0, 0, 0]


def test_peaks_scale_with_travel_and_angle_as_the_factors_say() -> None:
    law = LAWS["modified-sine"]
    peaks = motion(block("low", 0, 100), block("high", 140, 250)).extremes()
    beta = np.radians(40)
    expected = law.cv * 9 / beta, law.ca * 9 / beta**2, law.cj * 9 / beta**3
    assert [peak.value for peak in peaks] == pytest.approx(expected)
    assert peaks.velocity.theta_deg == pytest.approx(120)


def test_corners_are_velocity_jumps() -> None:
    made = motion(block("low", 0, 100), block("mid", 190, 250), law="constant-velocity")
    up, down = 4 / np.radians(90), -4 / np.radians(110)
    expected = [(0, down, 0), (100, 0, up), (190, up, 0), (250, 0, down)]
    np.testing.assert_allclose(made.velocity_jumps(), expected, atol=1e-12)


def test_constant_velocity_through_a_moment_at_one_speed_is_no_jump() -> None:
    made = motion(
        block("low", 0, 100), block("mid", 140, 140), block("high", 190, 250), law="constant-velocity"
    )
    assert [step.theta_deg for step in made.velocity_jumps()] == pytest.approx([0, 100, 190, 250])


def test_acceleration_jumps_stand_at_ends_and_joints() -> None:
    made = motion(block("low", 0, 100), block("mid", 190, 270, "parabolic"), law="cycloidal")
    peak = 4 * 4 / np.radians(90) ** 2
    expected = [(100, 0, peak), (145, peak, -peak), (190, -peak, 0)]
    np.testing.assert_allclose(made.acceleration_jumps(), expected, atol=1e-9)


def test_a_step_at_0_of_a_single_move_round_the_turn_is_found() -> None:
    made = motion(block("low", 0, 0), block("mid", 180, 180), law="simple-harmonic")
    assert made.acceleration_jumps() == ()
    assert made.velocity_jumps() == ()


@pytest.mark.parametrize("law", [law for law in LAWS if not LAWS[law].steps(1) and not LAWS[law].steps(2)])
def test_smooth_laws_have_no_jumps(law: str) -> None:
    made = motion(block("low", 0, 100), block("mid", 140, 140), block("high", 190, 250), law=law)
    assert made.velocity_jumps() == ()
    assert made.acceleration_jumps() == ()


@given(any_lane(), st.floats(0.01, 14.9))
def test_crossings_are_where_the_output_is_reached(one: Lane, height: float) -> None:
    whole = made(one)
    found = whole.crossings(height)
    assert np.all(np.diff(found) > 0)
    np.testing.assert_allclose(whole.at(found)[0], height, atol=1e-9)
    nodes = whole.nodes(257)
    above = nodes.values[0] > height
    if min(abs(height - level) for level in (4.0, 9.0)) > 0.01:
        assert len(found) == np.count_nonzero(above[1:] != above[:-1])


def test_a_height_at_which_the_output_rests_is_crossed_at_the_ends_of_the_rest() -> None:
    made = motion(block("low", 0, 100), block("mid", 190, 250), block("high", 300, 330))
    assert made.crossings(4.0).tolist()[:2] == [190, 250]
    assert made.crossings(9.0).tolist() == [300, 330]
    assert made.crossings(99.0).tolist() == []


@given(any_lane())
def test_the_highest_and_lowest_outputs_are_those_of_the_blocks(one: Lane) -> None:
    whole = made(one)
    heights = [one.levels[b.level] for b in one.blocks]
    assert (whole.lowest_mm, whole.highest_mm) == pytest.approx((min(heights), max(heights)))


def test_a_motion_of_720_blocks_is_one_pass() -> None:
    blocks = [block(("low", "high")[i % 2], i / 2, i / 2 + 0.25) for i in range(720)]
    one = lane(*blocks)
    whole = made(one)
    theta = np.array([0.1, 0.375, 0.6, 359.9])
    np.testing.assert_allclose(whole.at(theta)[0], [0, 4.5, 9, whole.at(wrap(theta - 1))[0, 3]], atol=1e-6)
    assert len(whole.crossings(4.5)) == 720
