"""Spring against friction: limits, an integrated motion, and cures that do what they say."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shaftscore.built.reserve import (
    ReturnForces,
    preload_that_does_n,
    rate_that_does_n_per_mm,
    return_forces,
    spring_needed_n,
)


def test_only_an_acceleration_towards_the_disc_asks_for_force() -> None:
    forces = return_forces(
        2.0, 0.5, 1.0, static_ratio=1.3, mass_kg=0.1, acceleration_m_s2=np.array([-5.0, 0.0, 5.0])
    )
    assert forces.available_n == pytest.approx([2.5, 2.5, 2.5])
    assert forces.required_n == pytest.approx([1.8, 1.3, 1.3])
    assert forces.reserve == pytest.approx([2.5 / 1.8, 2.5 / 1.3, 2.5 / 1.3])
    assert not forces.sticks.any()


def test_the_weak_spring_of_the_first_version_sticks() -> None:
    """machine.md: a spring of 0.40 N against a friction of 0.39 N was called clean; 1.3 x 0.39 is 0.507."""
    forces = return_forces(0.40, 0.0, 0.39, static_ratio=1.3, mass_kg=0.0, acceleration_m_s2=0.0)
    assert bool(forces.sticks)
    assert float(forces.reserve) == pytest.approx(0.40 / 0.507)


@pytest.mark.parametrize(
    ("available", "required", "reserve", "sticks"),
    [(1.0, 0.0, np.inf, False), (0.0, 0.0, 0.0, True), (-1.0, 0.0, 0.0, True), (1.0, 1.0, 1.0, True)],
)
def test_limits_of_the_reserve(available: float, required: float, reserve: float, sticks: bool) -> None:
    forces = ReturnForces(np.array(available), np.array(required))
    assert float(forces.reserve) == reserve
    assert bool(forces.sticks) is sticks


def test_a_thousand_machines_at_once() -> None:
    rng = np.random.default_rng(1)
    spring = rng.normal(1.5, 0.1, (1000, 1))
    friction = rng.uniform(0.3, 1.2, (1000, 1))
    accelerations = np.array([-4.0, 0.0, 2.0])
    forces = return_forces(
        spring, 0.0, friction, static_ratio=1.3, mass_kg=0.05, acceleration_m_s2=accelerations
    )
    assert forces.sticks.shape == (1000, 3)
    by_hand = [
        [s <= 1.3 * f + 0.05 * max(-a, 0) for a in accelerations]
        for s, f in zip(spring[:, 0], friction[:, 0], strict=True)
    ]
    assert forces.sticks.tolist() == by_hand


@pytest.mark.parametrize("margin", [-0.01, 0.01])
def test_a_follower_released_at_rest_moves_only_with_force_to_spare(margin: float) -> None:
    """A block on a spring with dry friction, stepped in time: it moves only where A > static friction."""
    friction, ratio, mass, rate = 0.5, 1.3, 0.05, 0.1
    preload = ratio * friction + margin
    place, speed, step = 10.0, 0.0, 1e-4
    for _ in range(2000):
        pull = preload + rate * (place - 10.0)
        if speed == 0.0 and pull <= ratio * friction:
            break
        speed -= (pull - friction) / mass * 1000 * step
        place += speed * step
        if place <= 9.99:
            break
    sticks = bool(
        return_forces(preload, 0.0, friction, static_ratio=ratio, mass_kg=mass, acceleration_m_s2=0.0).sticks
    )
    assert (place == 10.0) is sticks


needs = st.lists(st.tuples(st.floats(0, 3), st.floats(0.1, 3), st.floats(0, 20)), min_size=1, max_size=6).map(
    lambda rows: np.array(rows).T
)


@given(needs=needs, rate=st.floats(0, 0.5), reserve=st.floats(1, 3), tolerance=st.floats(0, 0.5))
@example(needs=np.array([[1.0], [1.0], [0.0]]), rate=0.0, reserve=1.0, tolerance=0.0)
def test_the_preload_does_what_it_says_and_no_less_would(
    needs: np.ndarray, rate: float, reserve: float, tolerance: float
) -> None:
    external, required, lift = needs
    preload = preload_that_does_n(spring_needed_n(external, required, reserve, tolerance), lift, rate)

    def does(one: float) -> bool:
        spring = one + rate * lift
        nominal, weakest = spring + external, spring * (1 - tolerance) + external
        return bool(np.all(nominal >= reserve * required) and np.all(weakest > required))

    assert does(preload)
    assert preload == 0 or not does(preload * (1 - 1e-4) - 1e-3)


@given(needs=needs, preload=st.floats(0, 5), reserve=st.floats(1, 3))
def test_the_rate_does_what_it_says_or_none_does(needs: np.ndarray, preload: float, reserve: float) -> None:
    external, required, lift = needs
    lift = np.where(lift < 0.1, 0.0, lift)
    rate = rate_that_does_n_per_mm(spring_needed_n(external, required, reserve, 0.2), lift, preload)
    at_rest = lift == 0
    if np.isinf(rate):
        edge = required * (1 + 3e-6) + 3e-6
        weak = (preload * 0.8 + external <= edge) | (preload + external < reserve * edge)
        assert np.any(weak & at_rest)
    else:
        assert np.all(preload + rate * lift + external >= reserve * required - 1e-9)


def test_an_impossible_tolerance_is_refused() -> None:
    with pytest.raises(ValueError, match=r"1\.0"):
        spring_needed_n(0.0, 1.0, 1.5, 1.0)
