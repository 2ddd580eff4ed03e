"""Blends: neighbouring moves share one velocity at a momentary stop, and none of them turns back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.kinematics.motion.lane import LaneMotion, program
from tests.core.kinematics.motion.making import block, lane, motion


def test_a_moment_on_the_way_up_is_passed_at_the_harmonic_mean_velocity() -> None:
    made = motion(block("low", 0, 60), block("mid", 100, 100), block("high", 130, 200), law="blend-345")
    means = 4 / np.radians(40), 5 / np.radians(30)
    expected = 2 * means[0] * means[1] / sum(means)
    for side in ("left", "right"):
        output, velocity, acceleration, _ = made.at(np.array([100.0]), side)[:, 0]
        assert (output, velocity, acceleration) == pytest.approx((4, expected, 0), abs=1e-9)


def test_even_steps_are_passed_at_constant_velocity_in_the_middle() -> None:
    made = motion(
        block("low", 0, 60),
        block("a", 100, 100),
        block("b", 140, 140),
        block("high", 180, 200),
        law="blend-345",
        levels={"low": 0.0, "a": 4.0, "b": 8.0, "high": 12.0},
    )
    theta = np.linspace(100, 140, 9)[1:-1]
    np.testing.assert_allclose(made.at(theta)[1], 4 / np.radians(40))
    np.testing.assert_allclose(made.at(theta)[2], 0, atol=1e-9)


STOPS = {
    "where it turns back": (block("low", 0, 60), block("high", 100, 100), block("mid", 200, 210)),
    "a block of some length": (block("low", 0, 60), block("mid", 100, 101), block("high", 200, 210)),
    "beside another law": (block("low", 0, 60), block("mid", 100, 100, "cycloidal"), block("high", 200, 210)),
    "between equal levels": (block("low", 0, 60), block("low", 100, 100), block("high", 200, 210)),
}


@pytest.mark.parametrize("blocks", STOPS.values(), ids=STOPS)
def test_elsewhere_a_blend_stops(blocks: tuple[object, ...]) -> None:
    made = motion(*blocks, law="blend-345")  # type: ignore[arg-type]
    for side in ("left", "right"):
        assert made.at(np.array([100.0]), side)[1, 0] == pytest.approx(0, abs=1e-9)
    assert made.velocity_jumps() == ()


def test_a_blend_takes_the_velocity_of_a_constant_velocity_move() -> None:
    made = motion(
        block("low", 0, 60),
        block("mid", 100, 100),
        block("high", 150, 150, "constant-velocity"),
        block("top", 200, 210),
        law="blend-345",
    )
    assert made.velocity_jumps() == ()
    assert made.acceleration_jumps() == ()
    steady = 5 / np.radians(50)
    np.testing.assert_allclose(made.at(np.array([100.0, 125.0, 150.0]))[1], steady)


@given(
    st.lists(st.floats(1, 60), min_size=3, max_size=3),
    st.lists(st.floats(0.05, 9), min_size=3, max_size=3),
    st.booleans(),
)
def test_a_blend_through_moments_only_rises_or_falls(
    gaps: list[float], rises: list[float], falls: bool
) -> None:
    heights = np.concatenate(([0], np.cumsum(rises)))
    names = [f"{i}" for i in range(4)]
    order = names[::-1] if falls else names
    at = np.concatenate(([20], 20 + np.cumsum(gaps)))
    made = program(
        lane(
            block(order[0], 0, 20),
            *(block(level, float(a), float(a)) for level, a in zip(order[1:3], at[1:3], strict=True)),
            block(order[3], float(at[3]), float(at[3]) + 10),
            law="blend-345",
            levels=dict(zip(names, map(float, heights), strict=True)),
        )
    )
    assert isinstance(made, LaneMotion)
    theta = np.linspace(20, at[3], 2000)
    sign = -1 if falls else 1
    assert (sign * made.at(theta)[1]).min() > -1e-7
    assert made.velocity_jumps() == ()
    assert made.acceleration_jumps() == ()
