"""From output to lift: ratios, arms and tables."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from shaftscore.kinematics.followers import LinkRangeError, lift_alone, lift_of, link_steps
from shaftscore.model.lanes import LinkPoint, SwingingRoller, TranslatingRoller


def linked(rows: list[tuple[float, float]]) -> TranslatingRoller:
    link = tuple(LinkPoint(roller_mm=roller, output_mm=output) for roller, output in rows)
    return TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, link=link)


VALUES = np.array([[0.0, 4.0, 9.0], [1.0, 2.0, -1.0], [0.5, -3.0, 2.0], [7.0, 0.0, 1.0]])


def test_output_ratio_is_output_by_roller() -> None:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, output_ratio=2.5)
    assert np.allclose(lift_of(follower, VALUES), VALUES / 2.5)
    assert np.allclose(lift_alone(follower, VALUES), VALUES / 2.5)


def test_an_arm_gives_the_arc_of_the_roller() -> None:
    follower = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=40.0,
        pivot_distance_mm=60.0,
        pivot_side="clockwise",
        output_arm_mm=100.0,
    )
    assert np.allclose(lift_of(follower, VALUES), VALUES * 0.4)


def test_a_straight_table_is_a_ratio() -> None:
    follower = linked([(0.0, 0.0), (2.0, 4.0), (5.0, 10.0)])
    assert np.allclose(lift_of(follower, VALUES), VALUES / 2)
    assert np.allclose(link_steps(follower), [[4.0], [0.0], [0.0]])


steps = st.lists(st.tuples(st.floats(0.1, 10), st.floats(0.1, 10)), min_size=2, max_size=8)


@given(steps, st.floats(0, 1))
def test_a_table_agrees_with_an_independent_monotone_interpolator(
    gaps: list[tuple[float, float]], where: float
) -> None:
    """Outside value: scipy's PCHIP on the same rows, value and slope."""
    rows = np.cumsum([(0.0, 0.0), *gaps], axis=0)
    output = np.array([where * rows[-1, 1]])
    reference = PchipInterpolator(rows[:, 1], rows[:, 0])
    follower = linked([tuple(row) for row in rows])
    lift = lift_of(follower, np.array([output, [1.0], [0.0], [0.0]]))
    assert lift_alone(follower, output)[0] == lift[0, 0]
    beyond = lift_alone(follower, rows[-1, 1] + np.array([[0.0, 5.0]]))
    assert beyond == pytest.approx(np.full((1, 2), rows[-1, 0]), abs=1e-9)
    assert lift[0, 0] == pytest.approx(float(reference(output[0])), abs=1e-9)
    assert lift[1, 0] == pytest.approx(float(reference(output[0], 1)), abs=1e-8)


def test_the_chain_rule_agrees_with_differences() -> None:
    follower = linked([(0.0, 0.0), (1.0, 3.0), (4.0, 5.0), (6.0, 12.0)])

    def lifted(t: np.ndarray) -> np.ndarray:
        return lift_of(follower, np.stack([3.1 + t + t**2, 1 + 2 * t, 2 + 0 * t, 0 * t]))

    h, t = 1e-4, np.array([0.1, 0.3, 0.5])
    rows, ahead, behind = lifted(t), lifted(t + h), lifted(t - h)
    for order in range(3):
        assert np.allclose((ahead[order] - behind[order]) / (2 * h), rows[order + 1], rtol=1e-5, atol=1e-6)


def test_an_output_outside_the_table_is_refused_with_both_ranges() -> None:
    with pytest.raises(LinkRangeError, match=r"reaches from 0 to 6 mm of output, the lane needs 0 to 9"):
        lift_of(linked([(0.0, 0.0), (3.0, 6.0)]), VALUES)
