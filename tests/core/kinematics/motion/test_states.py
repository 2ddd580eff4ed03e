"""State intervals against dense sampling, against turning the lane, and against exact roots."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs, ahead
from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.motion.states import (
    StateInterval,
    all_level_intervals,
    level_intervals,
    range_intervals,
    to_master,
)
from shaftscore.model import Lane, LevelState, Project, RangeState, Shaft, Stack
from shaftscore.solution import solve
from tests.core.kinematics.motion.making import LEVELS, any_lane, block, lane, motion, turned


def made(one: Lane) -> LaneMotion:
    found = program(one)
    assert isinstance(found, LaneMotion)
    return found


def off_ends(theta: np.ndarray, spans: list[Arcs], by: float = 1e-6) -> np.ndarray:
    """The angles that are not within `by` of an end of a span."""
    ends = [end for span in spans if not span.is_full for end in (span.start, span.end)]
    return np.array([t for t in theta if all(min(ahead(e, t), ahead(t, e)) > by for e in ends)])


@given(any_lane(), st.sampled_from(tuple(LEVELS)), st.integers(0, 1000))
def test_an_angle_is_in_an_interval_when_the_output_is_in_the_band(one: Lane, level: str, seed: int) -> None:
    whole = made(one)
    spans = [i.span for i in level_intervals(one, whole, level)]
    theta = off_ends(np.random.default_rng(seed).uniform(0, 360, 200), spans)
    near = np.abs(whole.at(theta)[0] - LEVELS[level]) <= one.band
    assert [any(span.contains(t) for span in spans) for t in theta] == near.tolist()


@given(any_lane(), st.floats(0, 15), st.floats(0, 8), st.integers(0, 1000))
def test_an_angle_is_in_an_interval_when_the_output_is_in_the_range(
    one: Lane, low: float, width: float, seed: int
) -> None:
    whole = made(one)
    intervals = range_intervals(one, whole, low, low + width)
    spans = [i.span for i in intervals]
    theta = off_ends(np.random.default_rng(seed).uniform(0, 360, 200), spans)
    output = whole.at(theta)[0]
    clear = np.minimum(np.abs(output - low), np.abs(output - low - width)) > 1e-8
    inside = (output >= low) & (output <= low + width)
    held = np.array([any(span.contains(t) for span in spans) for t in theta])
    assert np.all(held[clear] == inside[clear])
    for interval in intervals:
        assert interval.passing == (not interval.blocks)


@given(any_lane(), st.sampled_from(tuple(LEVELS)))
def test_at_both_ends_of_an_interval_the_output_is_on_the_band(one: Lane, level: str) -> None:
    whole = made(one)
    for interval in level_intervals(one, whole, level):
        if not interval.span.is_full:
            ends = np.array([interval.span.start, interval.span.end])
            off = np.abs(whole.at(ends)[0] - LEVELS[level])
            np.testing.assert_allclose(off, one.band, atol=1e-9)


@given(any_lane())
def test_every_block_lies_in_one_interval_of_its_level_and_passing_ones_hold_none(one: Lane) -> None:
    whole = made(one)
    for level, intervals in all_level_intervals(one, whole).items():
        held = [index for interval in intervals for index in interval.blocks]
        assert sorted(held) == [i for i, b in enumerate(one.blocks) if b.level == level]
        assert all(interval.passing == (interval.blocks == ()) for interval in intervals)
        for interval in intervals:
            for index in interval.blocks:
                b = one.blocks[index]
                assert interval.span.covers(Arcs.span(b.start_deg, b.length_deg))


@given(any_lane(), st.floats(0, 360))
def test_turning_the_program_turns_its_states(one: Lane, by: float) -> None:
    other = turned(one, by)
    for level in LEVELS:
        before = level_intervals(one, made(one), level)
        after = level_intervals(other, made(other), level)
        assert len(before) == len(after)
        for interval in before:
            span = interval.span.shift(by)
            assert any(
                same_span(span, o.span)
                and o.passing == interval.passing
                and len(o.blocks) == len(interval.blocks)
                for o in after
            )


def same_span(a: Arcs, b: Arcs, within: float = 1e-8) -> bool:
    if a.is_full or b.is_full:
        return a.is_full and b.is_full
    off = ahead(a.start, b.start)
    return min(off, 360 - off) < within and abs(a.length - b.length) < within


def test_a_level_that_is_never_left_holds_all_turn() -> None:
    one = lane(block("mid", 50, 60), block("mid", 200, 230))
    assert level_intervals(one, made(one), "mid") == (StateInterval(Arcs.full(), False, (0, 1)),)
    assert level_intervals(one, made(one), "low") == ()


def test_a_level_passed_on_the_way_is_passing_each_time() -> None:
    one = lane(block("low", 0, 100), block("high", 160, 260))
    up, down = level_intervals(one, made(one), "mid")
    assert (up.passing, up.blocks, down.passing) == (True, (), True)
    assert 100 < up.span.start < up.span.end < 160
    assert 260 < down.span.start < down.span.end < 360


def test_several_levels_within_a_wide_range_are_one_interval_that_holds_their_blocks() -> None:
    one = lane(block("low", 0, 50), block("mid", 100, 120), block("high", 180, 200), block("top", 260, 280))
    (interval,) = range_intervals(one, made(one), 3.0, 10.0)[:1]
    assert interval.blocks == (1, 2)
    passing = range_intervals(one, made(one), 10.0, 14.0)
    assert [i.passing for i in passing] == [True, True]


def test_a_range_that_begins_at_a_level_takes_the_whole_dwell_there() -> None:
    one = lane(block("low", 0, 100), block("high", 160, 260))
    (interval,) = range_intervals(one, made(one), 9.0, 20.0)
    assert interval.span.spans[0] == pytest.approx((160, 100))
    assert interval.blocks == (1,)


def test_a_range_that_only_just_touches_a_momentary_stop_is_one_angle() -> None:
    one = lane(block("low", 0, 100), block("high", 160, 160))
    (interval,) = range_intervals(one, made(one), 9.0, 20.0)
    assert interval.span == Arcs.span(160, 0)
    assert (interval.passing, interval.blocks) == (False, (1,))


def test_an_interval_runs_through_0() -> None:
    one = lane(block("low", 100, 150), block("high", 300, 400))
    (interval,) = level_intervals(one, made(one), "high")
    assert interval.span.start < 300
    assert 40 < interval.span.end < 100
    assert interval.blocks == (1,)


def test_an_end_is_exact_to_a_billionth_of_a_degree() -> None:
    """3-4-5 rise of 9 mm in 60 degrees from 100: the root of the quintic by mpmath at 50 digits."""
    one = lane(block("low", 0, 100), block("high", 160, 260), law="polynomial-345")
    (interval,) = level_intervals(one, made(one), "low")
    with mpmath.workdps(50):
        share = mpmath.mpf("0.4") / 9
        x = mpmath.findroot(lambda t: 10 * t**3 - 15 * t**4 + 6 * t**5 - share, 0.2)
        up, down = float(100 + 60 * x), float(360 - 100 * x)
    assert interval.span.end == pytest.approx(up, abs=1e-9)
    assert interval.span.start == pytest.approx(down, abs=1e-9)


LEAVING = {
    "cycloidal": lambda x: x - mpmath.sin(2 * mpmath.pi * x) / (2 * mpmath.pi),
    "polynomial-4567": lambda x: 35 * x**4 - 84 * x**5 + 70 * x**6 - 20 * x**7,
}


@pytest.mark.parametrize("band", [1e-3, 1e-6])
@pytest.mark.parametrize("law", LEAVING)
def test_ends_stay_exact_for_tiny_bands(law: str, band: float) -> None:
    """Where a law leaves its dwell the slope vanishes; the roots by mpmath at 50 digits."""
    one = lane(block("low", 0, 100), block("top", 160, 260), law=law, band_mm=band)
    (at_top,) = level_intervals(one, made(one), "top")
    near = (260 - at_top.span.start - 100) / 60
    with mpmath.workdps(50):
        share = mpmath.mpf(band) / 15
        x = mpmath.findroot(lambda t: LEAVING[law](t) - share, (near, near * 1.001), tol=1e-60)
        ends = float(160 - 60 * x), float(260 + 100 * x)
    assert (at_top.span.start, at_top.span.end) == pytest.approx(ends, abs=1e-9)


@given(any_lane(), st.sampled_from(tuple(LEVELS)), st.integers(1, 5))
def test_a_stack_that_turns_k_times_lists_each_state_k_times(one: Lane, level: str, turns: int) -> None:
    own = level_intervals(one, made(one), level)
    master = to_master(own, turns)
    if any(interval.span.is_full for interval in own):
        assert master == own
        return
    assert len(master) == turns * len(own)
    starts = [interval.span.start for interval in master]
    assert starts == sorted(starts)
    whole = made(one)
    for interval in master:
        middle = np.array([turns * interval.span.middle])
        assert abs(whole.at(middle)[0, 0] - LEVELS[level]) <= one.band + 1e-9
        ends = turns * np.array([interval.span.start, interval.span.end])
        np.testing.assert_allclose(np.abs(whole.at(ends)[0] - LEVELS[level]), one.band, atol=1e-9)


def test_states_of_a_project_are_in_master_angles() -> None:
    fast = lane(block("low", 0, 100), block("high", 160, 260), id="fast", stack="fast")
    project = Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=10.0),
        stacks=(Stack(id="main"), Stack(id="fast", turns=3)),
        lanes=(fast,),
    )
    whole = solve(project)
    at_high = whole.intervals(LevelState(lane="fast", level="high"))
    (own,) = level_intervals(fast, made(fast), "high")
    assert [i.span.start for i in at_high] == pytest.approx([own.span.start / 3 + 120 * t for t in range(3)])
    opened = whole.intervals(RangeState(lane="fast", from_mm=5.0, to_mm=20.0))
    assert [i.span.length for i in opened] == pytest.approx([opened[0].span.length] * 3)


def test_all_bands_in_one_pass_are_the_same_as_one_by_one() -> None:
    one = lane(block("low", 0, 50), block("mid", 100, 120), block("top", 180, 200))
    together = all_level_intervals(one, made(one))
    assert together == {level: level_intervals(one, made(one), level) for level in LEVELS}


def test_an_unknown_level_is_refused() -> None:
    one = lane(block("low", 0, 50), block("mid", 100, 120))
    with pytest.raises(KeyError, match="opne"):
        level_intervals(one, motion(*one.blocks), "opne")
