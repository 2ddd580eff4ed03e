"""Followers in the station frame: where the centre stands, which way it moves, which side is which."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.kinematics.followers import FOLLOWERS, FollowerModel, base_range_mm, build_follower
from shaftscore.model.lanes import Follower, SwingingRoller, TranslatingFlat, TranslatingRoller


def roller(offset_mm: float = 0.0) -> TranslatingRoller:
    return TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm=offset_mm)


def arm(side: str = "clockwise") -> SwingingRoller:
    return SwingingRoller(
        kind="swinging-roller", roller_radius_mm=5.0, arm_mm=60.0, pivot_distance_mm=70.0, pivot_side=side
    )


FACE = TranslatingFlat(kind="translating-flat", face_width_mm=30.0)
ALL = [roller(), roller(7.0), roller(-7.0), arm("clockwise"), arm("counterclockwise"), FACE]


@pytest.mark.parametrize("follower", ALL, ids=lambda f: f.kind)
def test_derivatives_of_the_centre_agree_with_differences(follower: Follower) -> None:
    model, lift, h = build_follower(follower, 30.0), np.array([0.0, 3.0, 11.0]), 1e-4
    rows, ahead, behind = (model.centre(lift + step) for step in (0.0, h, -h))
    for order in range(3):
        assert np.allclose((ahead[order] - behind[order]) / (2 * h), rows[order + 1], atol=1e-7)


@pytest.mark.parametrize("follower", ALL, ids=lambda f: f.kind)
def test_travel_is_the_unit_vector_of_the_centres_path(follower: Follower) -> None:
    model, lift = build_follower(follower, 30.0), np.linspace(0, 12, 5)
    travel = model.travel(lift)
    assert np.allclose(np.abs(travel), 1.0)
    assert np.allclose(travel, model.centre(lift)[1])
    assert np.all((travel * np.conj(model.centre(lift)[0])).real > 0), "lift goes outward"


def test_a_positive_offset_lies_on_the_clockwise_side_looking_outward() -> None:
    centre = build_follower(roller(7.0), 30.0).centre(np.array([0.0, 4.0]))[0]
    assert np.allclose(centre.imag, -7.0)
    assert abs(centre[0]) == pytest.approx(35.0)
    assert centre[1].real - centre[0].real == pytest.approx(4.0)


@pytest.mark.parametrize(("side", "sign"), [("clockwise", -1), ("counterclockwise", 1)])
def test_the_pivot_stands_on_its_side_and_the_triangle_closes(side: str, sign: int) -> None:
    model = build_follower(arm(side), 30.0)
    pivot = model.pivot  # type: ignore[attr-defined]
    lift = np.linspace(0, 20, 5)
    centre = model.centre(lift)[0]
    assert centre[0] == pytest.approx(35.0)
    assert np.sign(pivot.imag) == sign
    assert abs(pivot) == pytest.approx(70.0)
    assert np.allclose(np.abs(centre - pivot), 60.0)
    turned = np.angle((centre - pivot) / (centre[0] - pivot))
    assert np.allclose(turned, sign * lift / 60.0), "the arm turns by lift over its length"


@given(st.floats(-30, 30), st.floats(0, 25))
def test_mirrored_offsets_give_mirrored_centres(offset: float, lift: float) -> None:
    one, other = (build_follower(roller(side * offset), 30.0).centre(np.array([lift])) for side in (1, -1))
    assert np.allclose(one, np.conj(other))


def test_both_pivot_sides_are_mirror_images() -> None:
    lift = np.linspace(0, 20, 5)
    one, other = (build_follower(arm(side), 30.0).centre(lift) for side in ("clockwise", "counterclockwise"))
    assert np.allclose(one, np.conj(other))


def test_an_offset_beyond_the_prime_circle_is_refused_with_its_value() -> None:
    with pytest.raises(ValueError, match=r"offset_mm 40 lies beyond the prime circle.*35 mm"):
        build_follower(roller(40.0), 30.0)


def test_an_arm_that_cannot_close_is_refused_with_the_range() -> None:
    with pytest.raises(ValueError, match=r"base radius 3 mm cannot close the triangle.*needs 5 to 125"):
        build_follower(arm(), 3.0)


def test_an_undecided_offset_is_refused() -> None:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm="auto")
    with pytest.raises(ValueError, match="has not been decided"):
        build_follower(follower, 30.0)


@pytest.mark.parametrize("follower", ALL, ids=lambda f: f.kind)
def test_a_follower_stands_within_its_range_of_base_radii(follower: Follower) -> None:
    low, high = base_range_mm(follower)
    for radius in (low + 0.01, min(high, 200.0) - 0.01):
        model: FollowerModel = build_follower(follower, radius)
        assert np.all(np.isfinite(model.centre(np.zeros(1))[0]))


def test_every_kind_of_the_file_format_has_a_row() -> None:
    kinds = {kind.model_fields["kind"].annotation.__args__[0] for kind in Follower.__origin__.__args__}  # type: ignore[attr-defined]
    assert set(FOLLOWERS) == kinds
