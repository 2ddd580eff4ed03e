"""The exported outline: on the curve, no chord too far from it, no point wasted, always a simple polygon."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import Polygon, points
from shapely.geometry import LinearRing, Point

from shaftscore.kinematics.profiles import Profile
from tests.core.kinematics.profiles.machines import ROLLER, built, profile_of, project_of, still
from tests.core.kinematics.profiles.test_trace import FLAT, FOLLOWERS, TURNS
from tests.core.kinematics.profiles.test_undercut import folded

LAWS = ("simple-harmonic", "cycloidal", "modified-trapezoid", "polynomial-4567")
ALL = {**FOLLOWERS, "flat": FLAT, "groove": {**ROLLER, "closure": "groove"}}
THETA = np.linspace(0.0, 360.0, 7_201)


def exact(profile: Profile, flank: str = "inner") -> np.ndarray:
    return profile.at(THETA).offset(profile.distance_mm(flank))  # type: ignore[arg-type]


def from_ring(ring: np.ndarray, curve: np.ndarray) -> np.ndarray:
    """Distances of exact points from a polygon's edge, by an independent library."""
    return np.asarray(LinearRing(ring).distance(points(curve.real, curve.imag)))


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", ALL)
@pytest.mark.parametrize("chord_mm", [0.002, 0.05])
def test_no_chord_is_farther_from_the_curve_than_allowed(name: str, turn: str, chord_mm: float) -> None:
    profile = profile_of(turn, follower=ALL[name], disc={"base_radius_mm": 60.0}, station_deg=33.0)
    ring = profile.outline(chord_mm)
    polygon = Polygon(ring)
    assert polygon.is_valid
    assert polygon.exterior.is_ccw
    off = from_ring(ring, exact(profile))
    assert np.max(off) <= chord_mm + 1e-9
    assert np.max(off) > 0.6 * chord_mm, "the allowance is used: no more points than needed"


@pytest.mark.parametrize("law", LAWS)
def test_every_point_lies_on_the_curve_and_every_joint_is_a_point(law: str) -> None:
    profile = profile_of(law=law)
    ring = profile.outline() @ np.array([1, 1j])
    for joint in (90.0, 180.0, 270.0, 0.0):
        there = profile.at(np.array([joint])).profile[0]
        assert np.min(np.abs(ring - there)) < 1e-7
    curve = exact(profile)
    nearest = np.min(np.abs(ring[:, None] - curve[None, :]), axis=1)
    assert np.max(nearest) < 0.04, "each point is as near as the dense samples are to each other"
    heights = np.interp(np.angle(ring), *_polar(curve))
    assert np.allclose(np.abs(ring), heights, atol=1e-4)


def _polar(curve: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    order = np.argsort(np.angle(curve))
    return np.angle(curve)[order], np.abs(curve)[order]


@pytest.mark.parametrize("radius", [5.0, 40.0])
def test_a_round_disc_has_as_many_points_as_its_sagitta_asks_for(radius: float) -> None:
    project = project_of(disc={"base_radius_mm": radius})
    ring = built(project, still(0.0)).outline(0.002)
    needed = np.ceil(np.pi / np.arccos(1 - 0.002 / radius))
    assert len(ring) == needed
    assert np.allclose(np.hypot(*ring.T), radius)


def test_files_are_within_the_chord_error_that_the_guide_promises() -> None:
    """0.002 mm (docs/guide/making.md): the sagitta of a round disc of 40 mm, as files take it."""
    ring = built(project_of(disc={"base_radius_mm": 40.0}), still(0.0)).outline()
    sagitta = 40.0 * (1 - np.cos(np.pi / len(ring)))
    assert 0.0019 < sagitta <= 0.002


@pytest.mark.parametrize("law", LAWS)
def test_the_points_are_hardly_more_than_the_best_spacing_needs(law: str) -> None:
    """Lower bound: the integral of sqrt(curvature / (8 error)) along the exact curve."""
    profile = profile_of(law=law)
    at = profile.at(THETA)
    step = np.abs(np.diff(at.profile))
    bend = np.sqrt(np.abs(at.curvature) / (8 * 0.002))
    best = float(np.sum(step * (bend[1:] + bend[:-1]) / 2))
    assert best * 0.99 <= len(profile.outline(0.002)) <= best * 1.08 + 8


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("name", [*FOLLOWERS, "groove"])
def test_the_roller_never_cuts_into_the_disc(name: str, turn: str) -> None:
    profile = profile_of(turn, follower=ALL[name], disc={"base_radius_mm": 60.0})
    chord = 0.001
    disc = Polygon(profile.outline(chord))
    at = profile.at(THETA)
    apart = disc.distance(points(at.pitch.real, at.pitch.imag))
    roller = -profile.distance_mm()
    assert np.min(apart) >= roller - 1e-9, "chords lie inside a convex curve; in hollows within the chord"
    assert np.max(apart) <= roller + chord + 1e-9, "and it always touches"


@given(
    law=st.sampled_from(LAWS),
    name=st.sampled_from([name for name in FOLLOWERS if name != "flat"]),
    turn=st.sampled_from(TURNS),
    angles=st.tuples(st.floats(60, 120), st.floats(10, 90), st.floats(60, 120)),
    sizes=st.tuples(st.floats(1, 20), st.floats(30, 80)),
)
@settings(max_examples=25)
def test_the_roller_stays_on_any_disc_that_is_not_undercut(
    law: str, name: str, turn: str, angles: tuple[float, float, float], sizes: tuple[float, float]
) -> None:
    """Offset by the roller's radius the profile is the pitch curve, and the roller never cuts into it.

    Within the chord's 0.002 mm, in hollows towards the roller; measured by an independent library.
    """
    (rise, dwell, fall), (height, base) = angles, sizes
    blocks = [
        {"level": "high", "start_deg": rise, "end_deg": rise + dwell},
        {"level": "low", "start_deg": rise + dwell + fall, "end_deg": 360.0},
    ]
    profile = profile_of(
        turn,
        law=law,
        follower=FOLLOWERS[name],
        blocks=blocks,
        levels={"low": 0.0, "high": height},
        disc={"base_radius_mm": base},
    )
    assume(not profile.undercuts())
    roller, at = -profile.distance_mm(), profile.at(THETA[::4])
    path = points(at.pitch.real, at.pitch.imag)
    apart = Polygon(profile.outline(0.002)).distance(path)
    assert np.max(np.abs(apart - roller)) <= 0.002 * 1.001  # the error is measured to a thousandth
    grown = Polygon(profile.outline(0.002)).buffer(roller, quad_segs=64).exterior
    assert np.max(grown.distance(path)) < 0.002 + roller * (1 - np.cos(np.pi / 256)) + 1e-6


def test_a_groove_has_two_flanks_a_clearance_wider_than_the_roller() -> None:
    profile = profile_of(follower={**ROLLER, "closure": "groove", "groove_clearance_mm": 0.3})
    inner, outer = (Polygon(profile.outline(0.001, flank)) for flank in profile.flanks)
    assert outer.contains(inner)
    path = profile.at(THETA).pitch
    for flank in (inner, outer):
        off = flank.exterior.distance(points(path.real, path.imag))
        assert np.allclose(off, 8.15, atol=0.0011)


@pytest.mark.parametrize("turn", TURNS)
def test_a_corner_in_a_hollow_is_rounded_by_the_roller(turn: str) -> None:
    """Rising at once from a rest: the roller stands in the corner and touches an arc of its own radius."""
    profile = profile_of(turn, law="constant-velocity")
    corner = profile.at(np.array([0.0])).pitch[0]
    ring = profile.outline(0.001) @ np.array([1, 1j])
    near = np.abs(np.abs(ring - corner) - 8.0) < 1e-9
    assert np.count_nonzero(near) > 5
    at = profile.at(np.array([0.0]), "left"), profile.at(np.array([0.0]), "right")
    angles = np.angle((ring[near] - corner) / (at[0].profile[0] - corner))
    reach = abs(np.angle((at[1].profile[0] - corner) / (at[0].profile[0] - corner)))
    assert np.ptp(angles) == pytest.approx(reach, abs=1e-6)


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("follower", [ROLLER, FLAT], ids=["roller", "flat"])
def test_loops_at_an_undercut_are_trimmed_to_what_the_follower_never_enters(
    follower: dict[str, Any], turn: str
) -> None:
    profile = profile_of(turn, law="constant-velocity", follower=follower)
    assert profile.undercuts()
    disc = Polygon(profile.outline(0.001))
    assert disc.is_valid
    assert disc.exterior.is_ccw
    assert disc.contains(Point(0, 0))
    at = profile.at(THETA[:-1])
    if profile.model.is_flat:
        reach = np.max((disc.exterior.coords @ np.array([1, 1j]) * np.conj(at.normal)[:, None]).real, axis=1)
        assert np.all(reach <= 40.0 + at.lift[0] + 1e-6)
    else:
        path = Polygon(np.column_stack([at.pitch.real, at.pitch.imag]))
        eroded = path.buffer(-8.0, quad_segs=256)
        assert disc.symmetric_difference(eroded).area < 0.5, "an independent library erodes the pitch curve"


@pytest.mark.parametrize("turn", TURNS)
def test_a_sharp_move_that_undercuts_still_gives_a_simple_disc(turn: str) -> None:
    blocks = [
        {"level": "high", "start_deg": 20.0, "end_deg": 22.0},
        {"level": "low", "start_deg": 42.0, "end_deg": 360.0},
    ]
    profile = profile_of(turn, blocks=blocks, disc={"base_radius_mm": 15.0})
    assert any(cut.kind == "curve" for cut in profile.undercuts())
    disc = Polygon(profile.outline())
    assert disc.is_valid
    at = profile.at(THETA[:-1])
    apart = disc.distance(points(at.pitch.real, at.pitch.imag))
    assert np.min(apart) >= 8.0 - 0.003


@pytest.mark.parametrize("turn", TURNS)
def test_a_neck_that_the_roller_cuts_through_is_trimmed(turn: str) -> None:
    profile = folded(turn)
    disc = Polygon(profile.outline(0.001))
    at = profile.at(THETA[:-1])
    apart = disc.distance(points(at.pitch.real, at.pitch.imag))
    assert disc.is_valid
    assert disc.contains(Point(0, 0))
    assert np.min(apart) >= 3.0 - 0.0011
    assert np.max(apart) > 3.0 + 0.5, "and there the roller does not touch"
