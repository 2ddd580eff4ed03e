"""The kinematics of all followers, held against identities and numerical differentiation."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.kinematics.profiles import Profile
from tests.core.kinematics.profiles.machines import (
    ROLLER,
    ClosedForm,
    built,
    eccentric_roller,
    harmonic,
    profile_of,
    project_of,
)

ARM: dict[str, Any] = {
    "kind": "swinging-roller",
    "roller_radius_mm": 8.0,
    "arm_mm": 90.0,
    "pivot_distance_mm": 100.0,
    "pivot_side": "clockwise",
}
FLAT: dict[str, Any] = {"kind": "translating-flat", "face_width_mm": 60.0}
FOLLOWERS: dict[str, dict[str, Any]] = {
    "in line": ROLLER,
    "offset": {**ROLLER, "offset_mm": 9.0},
    "offset back": {**ROLLER, "offset_mm": -9.0},
    "knife": {**ROLLER, "roller_radius_mm": 0.0},
    "arm clockwise": ARM,
    "arm counterclockwise": {**ARM, "pivot_side": "counterclockwise"},
    "output arm": {**ARM, "output_arm_mm": 120.0},
    "linked": {
        **ROLLER,
        "link": [
            {"roller_mm": 0.0, "output_mm": 0.0},
            {"roller_mm": 6.0, "output_mm": 9.0},
            {"roller_mm": 18.0, "output_mm": 21.0},
        ],
    },
}
TURNS = ("clockwise", "counterclockwise")
THETA = np.array([3.0, 31.0, 45.0, 77.0, 120.0, 200.0, 228.0, 262.0, 300.0])
H = 1e-3


def by_radian(profile: Profile, theta: np.ndarray, name: str) -> np.ndarray:
    """Differentiate one figure numerically, fourth order, by radian."""
    near = {step: getattr(profile.at(theta + step * H), name) for step in (-2, -1, 1, 2)}
    return (near[-2] - 8 * near[-1] + 8 * near[1] - near[2]) / (12 * np.radians(H))


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", FOLLOWERS)
def test_curvature_is_the_turning_of_the_pitch_curve(name: str, turn: str) -> None:
    profile = profile_of(turn, follower=FOLLOWERS[name])
    tangent = by_radian(profile, THETA, "pitch")
    assert np.allclose(np.abs(tangent), profile.at(THETA).speed_mm, rtol=1e-7)
    h = 1e-2
    before, after = (by_radian(profile, THETA + step, "pitch") for step in (-h, h))
    turning = np.angle(after / before) / np.radians(2 * h) * -profile.direction
    assert np.allclose(turning / np.abs(tangent), profile.at(THETA).pitch_curvature, atol=2e-6)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", FOLLOWERS)
def test_the_normal_is_square_to_both_curves_and_points_outward(name: str, turn: str) -> None:
    profile = profile_of(turn, follower=FOLLOWERS[name])
    at = profile.at(THETA)
    for curve in ("pitch", "profile"):
        slope = by_radian(profile, THETA, curve)
        assert np.allclose((slope * np.conj(at.normal)).real, 0.0, atol=1e-5)
    assert np.all((at.normal * np.conj(at.profile)).real > 0)
    assert np.allclose(np.abs(at.pitch - at.profile), at.model.roller_radius_mm)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", FOLLOWERS)
def test_slopes_of_pressure_angle_and_curvature_agree_with_differences(name: str, turn: str) -> None:
    profile = profile_of(turn, follower=FOLLOWERS[name])
    at = profile.at(THETA)
    assert np.allclose(np.radians(by_radian(profile, THETA, "pressure_deg")), at.steepness_slope, atol=1e-6)
    assert np.allclose(by_radian(profile, THETA, "pitch_curvature"), at.curvature_slope, atol=1e-6)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", [*FOLLOWERS, "flat"])
def test_the_force_along_the_normal_does_the_work_that_the_lift_takes(name: str, turn: str) -> None:
    """Virtual work: N cos(alpha) s' is the moment of the normal force about the axis."""
    profile = profile_of(turn, follower={**FOLLOWERS, "flat": FLAT}[name])
    at = profile.at(THETA)
    moment = (np.conj(at.profile) * at.normal).imag * profile.direction
    assert np.allclose(np.cos(np.radians(at.pressure_deg)) * at.lift[1], moment, atol=1e-9)


@pytest.mark.parametrize("turn", TURNS)
def test_an_in_line_roller_leans_forward_on_the_rise_and_back_on_the_fall(turn: str) -> None:
    at = profile_of(turn).at(np.array([45.0, 225.0]))
    tangent = at.lift[1] / (48.0 + at.lift[0])
    assert np.allclose(np.tan(np.radians(at.pressure_deg)), tangent)
    assert at.pressure_deg[0] > 0 > at.pressure_deg[1]


def test_a_positive_offset_helps_the_rise_of_a_counterclockwise_disc_alone() -> None:
    offset = {**ROLLER, "offset_mm": 9.0}
    plain, ccw, cw = (
        profile_of(turn, follower=follower).at(np.array([45.0])).pressure_deg[0]
        for turn, follower in (("clockwise", ROLLER), ("counterclockwise", offset), ("clockwise", offset))
    )
    assert ccw < plain < cw


@pytest.mark.parametrize("name", [*FOLLOWERS, "flat"])
def test_the_mirrored_machine_on_a_reversed_shaft_has_the_mirrored_disc(name: str) -> None:
    follower = {**FOLLOWERS, "flat": FLAT}[name]
    mirrored = dict(follower)
    if "offset_mm" in follower:
        mirrored["offset_mm"] = -follower["offset_mm"]
    if "pivot_side" in follower:
        mirrored["pivot_side"] = {"clockwise": "counterclockwise"}.get(follower["pivot_side"], "clockwise")
    one = profile_of("counterclockwise", follower=follower, station_deg=40.0).at(THETA)
    other = profile_of("clockwise", follower=mirrored, station_deg=-40.0).at(THETA)
    assert np.allclose(one.profile, np.conj(other.profile))
    assert np.allclose(one.pressure_deg, other.pressure_deg)
    assert np.allclose(one.curvature, other.curvature)


@pytest.mark.parametrize("turn", TURNS)
def test_the_disc_stands_under_its_follower_at_every_angle(turn: str) -> None:
    """Turning the disc by d theta brings its contact point under the follower at the station."""
    profile = profile_of(turn, station_deg=70.0)
    at = profile.at(np.array([0.0, 135.0]))
    d = +1 if turn == "counterclockwise" else -1
    in_machine = at.profile * np.exp(1j * np.radians(d * at.theta_deg))
    assert np.allclose(np.degrees(np.angle(in_machine)), 70.0)
    assert np.allclose(np.abs(in_machine), [40.0, 60.0])


@pytest.mark.parametrize("turn", TURNS)
def test_offset_deg_turns_the_profile_alone(turn: str) -> None:
    plain, turned = profile_of(turn), profile_of(turn, offset_deg=5.0)
    d = plain.direction
    rotation = np.exp(-1j * d * np.radians(5.0))
    assert np.allclose(plain.at(THETA).profile * rotation, turned.at(THETA).profile)
    assert np.allclose(plain.at(THETA).pressure_deg, turned.at(THETA).pressure_deg)


@given(st.floats(12, 60), st.floats(0.5, 10), st.floats(0, 15), st.sampled_from(TURNS))
def test_an_eccentric_circle_comes_back_as_a_circle(
    radius: float, eccentricity: float, roller: float, turn: str
) -> None:
    """Identity: pitch radius R + Rr everywhere, sin alpha = e sin theta / (R + Rr)."""
    project = project_of(
        turn,
        follower={**ROLLER, "roller_radius_mm": roller},
        disc={"base_radius_mm": radius - eccentricity},
    )
    at = built(project, eccentric_roller(radius, eccentricity, roller)).at(THETA)
    assert np.allclose(1 / at.pitch_curvature, radius + roller, rtol=1e-9)
    assert np.allclose(at.radius_mm, radius, rtol=1e-9)
    middle = at.profile - radius * at.normal
    assert np.allclose(middle, middle[0], atol=1e-9)
    assert abs(middle[0]) == pytest.approx(eccentricity)
    leaning = eccentricity * np.sin(np.radians(THETA)) / (radius + roller)
    assert np.allclose(np.sin(np.radians(at.pressure_deg)), leaning, atol=1e-12)


@pytest.mark.parametrize("turn", TURNS)
def test_a_flat_face_in_harmonic_motion_rides_on_an_eccentric_circle(turn: str) -> None:
    project = project_of(turn, follower=FLAT, disc={"base_radius_mm": 25.0})
    profile = built(project, harmonic(50.0))
    at = profile.at(THETA)
    assert np.allclose(at.radius_mm, 50.0)
    assert np.allclose(at.profile - 50.0 * at.normal, (at.profile - 50.0 * at.normal)[0])
    assert profile.needed_face_width_mm == pytest.approx(50.0)
    assert np.all(at.pressure_deg == 0)


def later(motion: ClosedForm, by_deg: float) -> ClosedForm:
    """The same motion, so much later in the turn."""
    return ClosedForm(lambda theta: motion.form(theta - np.radians(by_deg)))


@pytest.mark.parametrize("by_deg", [0.0, 1.7, 2.8125, 123.4])
@pytest.mark.parametrize("turn", TURNS)
def test_the_largest_and_least_radius_of_an_eccentric_circle_are_found_between_nodes(
    turn: str, by_deg: float
) -> None:
    """A circle about a point beside its middle: radius plus and minus eccentricity, wherever nodes are."""
    flat = built(
        project_of(turn, follower=FLAT, disc={"base_radius_mm": 25.0}), later(harmonic(50.0), by_deg)
    )
    assert (flat.min_radius_mm, flat.max_radius_mm) == pytest.approx((25.0, 75.0), rel=1e-9)
    rolling = project_of(turn, follower={**ROLLER, "roller_radius_mm": 6.0}, disc={"base_radius_mm": 28.0})
    round_disc = built(rolling, later(eccentric_roller(40.0, 12.0, 6.0), by_deg))
    assert (round_disc.min_radius_mm, round_disc.max_radius_mm) == pytest.approx((28.0, 52.0), rel=1e-9)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("side", TURNS)
def test_a_very_long_arm_tends_to_an_in_line_roller(side: str, turn: str) -> None:
    straight = profile_of(turn).at(THETA)

    def apart(arm: float) -> tuple[float, float]:
        square = {**ARM, "arm_mm": arm, "pivot_distance_mm": float(np.hypot(arm, 48.0)), "pivot_side": side}
        at = profile_of(turn, follower=square).at(THETA)
        return (
            float(np.max(np.abs(at.pressure_deg - straight.pressure_deg))),
            float(np.max(np.abs(at.profile - straight.profile))),
        )

    long, longer = apart(995.0), apart(1990.0)
    assert longer[0] < np.degrees(20.0 / 1990.0)
    assert longer[1] < 0.15
    assert np.allclose(np.divide(long, longer), 2.0, rtol=0.05), "falls with the arm's length"


@pytest.mark.parametrize("turn", TURNS)
def test_a_stack_angle_is_read_on_both_sides_of_a_step(turn: str) -> None:
    profile = profile_of(turn, law="constant-velocity")
    left, right = (profile.at(np.array([90.0]), side).pressure_deg[0] for side in ("left", "right"))
    assert left == pytest.approx(np.degrees(np.arctan2(20.0 / (np.pi / 2), 68.0)))
    assert right == pytest.approx(0.0)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("offset_mm", [-6.0, 6.0])
def test_an_offset_that_helps_makes_the_rise_less_steep(turn: str, offset_mm: float) -> None:
    def rise(offset: float) -> Profile:
        return profile_of(turn, follower={**ROLLER, "offset_mm": offset}, disc={"base_radius_mm": 40.0})

    def steepest(profile: Profile) -> float:
        return max(place.value for place in profile.steep_places if place.rise > 0)

    made, plain = rise(offset_mm), rise(0.0)
    assert plain.sense is None
    assert (made.sense == "helps") == (steepest(made) < steepest(plain))
    assert made.sense in ("helps", "hinders")


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("side", ["clockwise", "counterclockwise"])
def test_an_arm_is_pushed_where_the_surface_runs_towards_its_pivot(turn: str, side: str) -> None:
    """The velocity of the disc's surface under the roller, against the way from the roller to the pivot."""
    profile = profile_of(turn, follower={**ARM, "pivot_side": side}, disc={"base_radius_mm": 60.0})
    centre = complex(profile.model.centre(np.zeros(1))[0][0])
    surface = 1j * profile.direction * centre
    towards = complex(profile.model.pivot) - centre  # type: ignore[attr-defined]
    assert (profile.sense == "pushed") == ((surface * np.conj(towards)).real > 0)
    assert profile_of(turn, follower=FLAT, disc={"base_radius_mm": 60.0}).sense is None
