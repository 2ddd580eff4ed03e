"""Places that a roller cannot touch, and the worst crests and hollows of each segment."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from shaftscore.kinematics.profiles import Profile
from tests.core.kinematics.profiles.machines import ROLLER, built, eccentric_roller, profile_of, project_of
from tests.core.kinematics.profiles.test_trace import ARM, FLAT, TURNS


def kinds(profile: Profile) -> set[str]:
    return {cut.kind for cut in profile.undercuts()}


def test_a_roomy_disc_has_no_undercut() -> None:
    assert profile_of().undercuts() == ()


@pytest.mark.parametrize("turn", TURNS)
def test_a_crest_under_the_rollers_radius_is_an_undercut_at_its_exact_place(turn: str) -> None:
    blocks = [
        {"level": "high", "start_deg": 20.0, "end_deg": 22.0},
        {"level": "low", "start_deg": 42.0, "end_deg": 360.0},
    ]
    profile = profile_of(turn, blocks=blocks, disc={"base_radius_mm": 15.0})
    cut = next(cut for cut in profile.undercuts() if cut.kind == "curve")
    theta = np.linspace(0.0, 20.0, 200_001)
    radius = np.where((at := profile.at(theta)).pitch_curvature > 0, at.radius_mm, np.inf)
    assert cut.radius_mm == pytest.approx(float(np.min(radius)), abs=1e-6)
    assert cut.radius_mm < 0
    assert cut.theta_deg == pytest.approx(float(theta[np.argmin(radius)]), abs=2e-4)
    assert profile.min_convex_radius_mm == pytest.approx(min(place.value for place in profile.crest_places))


@pytest.mark.parametrize("turn", TURNS)
def test_corners_are_undercut_on_their_convex_side_alone(turn: str) -> None:
    profile = profile_of(turn, law="constant-velocity")
    corners = [cut for cut in profile.undercuts() if cut.kind == "corner"]
    assert [cut.theta_deg for cut in corners] == pytest.approx([90.0, 180.0], abs=1e-9)
    assert all(cut.radius_mm == -8.0 for cut in corners)
    assert kinds(profile) == {"corner"}


def test_a_grooves_outer_flank_is_undercut_at_the_hollow_corners() -> None:
    profile = profile_of(law="constant-velocity", follower={**ROLLER, "closure": "groove"})
    outer = [cut.theta_deg for cut in profile.undercuts() if cut.flank == "outer"]
    assert sorted(outer) == pytest.approx([0.0, 270.0], abs=1e-6)


def test_a_flat_face_is_undercut_where_the_velocity_steps_down() -> None:
    profile = profile_of(law="constant-velocity", follower=FLAT)
    assert sorted(cut.theta_deg for cut in profile.undercuts()) == pytest.approx([90.0, 180.0])


def test_a_knife_edge_is_never_undercut() -> None:
    profile = profile_of(law="constant-velocity", follower={**ROLLER, "roller_radius_mm": 0.0})
    assert profile.undercuts() == ()


def folded(turn: str, **lane: Any) -> Profile:
    """A thin finger that leans against the offset: its neck is narrower than its tip."""
    finger = {
        "blocks": [
            {"level": "high", "start_deg": 0.0, "end_deg": 12.0},
            {"level": "low", "start_deg": 35.0, "end_deg": 343.0},
        ],
        "levels": {"low": 0.0, "high": 80.0},
        "follower": {
            **ROLLER,
            "roller_radius_mm": 3.0,
            "offset_mm": 7.1 if turn == "clockwise" else -7.1,
        },
        "disc": {"base_radius_mm": 5.0},
    }
    return profile_of(turn, **{**finger, **lane})


def deepest_cut(profile: Profile) -> float:
    """How far the roller reaches into the exact curve from another angle, by comparing all angles."""
    at = profile.at(np.linspace(0, 360, 3601)[:-1])
    apart = np.abs(at.profile[:, None] - at.pitch[None, :]).min(axis=1)
    return float(at.model.roller_radius_mm - np.min(apart))


@pytest.mark.parametrize("turn", TURNS)
def test_a_curve_that_is_nowhere_too_sharp_can_still_cut_itself(turn: str) -> None:
    profile = folded(turn)
    depth = deepest_cut(profile)
    assert depth > 0.5, "the case is what it says"
    assert min(place.value for place in profile.crest_places) > 0
    assert kinds(profile) == {"distant"}
    deepest = min(profile.undercuts(), key=lambda cut: cut.radius_mm)
    assert deepest.other_deg is not None
    there = profile.at(np.array([deepest.theta_deg, deepest.other_deg]))
    line = there.profile[0] - there.pitch[1]
    assert 3.0 - abs(line) == pytest.approx(-deepest.radius_mm, abs=1e-12)
    assert abs((line / abs(line) * np.conj(1j * there.normal)).real) == pytest.approx([0, 0], abs=1e-9)
    dense = np.linspace(-0.2, 0.2, 2001)
    at, by = profile.at(deepest.theta_deg + dense), profile.at(deepest.other_deg + dense)
    apart = np.abs(at.profile[:, None] - by.pitch[None, :])
    assert -deepest.radius_mm == pytest.approx(3.0 - np.min(apart), abs=1e-6)
    assert -deepest.radius_mm >= 3.0 - np.min(apart)
    assert -deepest.radius_mm == pytest.approx(depth, abs=1e-3)


def test_parts_that_pass_each_other_between_two_nodes_are_found() -> None:
    """A base a hair too small: the cut is far narrower than the way between two nodes."""
    limits = {**dict.fromkeys(("pressure_angle_deg", "return_pressure_angle_deg"), 89.0)}
    limits |= {"crest_radius_mm": 0.3, "hollow_margin_mm": 0.0}
    stack = {"bore": {"shape": "round", "across_mm": 4.0}}
    free = folded("clockwise", disc={}, limits=limits, stack=stack)
    hair = folded("clockwise", disc={"base_radius_mm": free.base_radius_mm - 1e-3}, limits=limits)
    at = hair.at_nodes
    on_nodes = at.model.roller_radius_mm - np.abs(at.profile[:, None] - at.pitch[None, :]).min(axis=1)
    assert np.max(on_nodes) < 1e-6, "the case is what it says"
    assert kinds(hair) == {"distant"}


@pytest.mark.parametrize("turn", TURNS)
def test_an_automatic_base_grows_until_distant_parts_leave_each_other_alone(turn: str) -> None:
    loose = dict.fromkeys(("pressure_angle_deg", "return_pressure_angle_deg"), 89.0)
    limits = {**loose, "crest_radius_mm": 0.3, "hollow_margin_mm": 0.0}
    stack = {"bore": {"shape": "round", "across_mm": 4.0}}
    profile = folded(turn, disc={}, limits=limits, stack=stack)
    assert profile.base_governed_by == "undercut"
    assert profile.fits
    assert profile.undercuts() == ()
    assert deepest_cut(profile) < 1e-5
    smaller = folded(turn, disc={"base_radius_mm": profile.base_radius_mm - 1e-4})
    (deepest, *_) = sorted(-cut.radius_mm for cut in smaller.undercuts() if cut.kind == "distant")
    assert 1e-6 < deepest < 1e-3, "a tenth of a micrometre less, and distant parts just touch"


@pytest.mark.parametrize("turn", TURNS)
@pytest.mark.parametrize("follower", [ROLLER, ARM, {**ROLLER, "closure": "groove"}, FLAT])
def test_worst_places_of_each_segment_agree_with_dense_samples(follower: dict[str, Any], turn: str) -> None:
    profile = profile_of(turn, follower=follower, disc={"base_radius_mm": 60.0})
    for segment, (start, end) in enumerate([(0, 90), (90, 180), (180, 270), (270, 360)]):
        at = profile.at(np.linspace(start + 1e-6, end - 1e-6, 20_001))
        convex = at.pitch_curvature >= 0
        crest = [p.value for p in profile.crest_places if (p.segment, p.flank) == (segment, "inner")]
        assert crest == pytest.approx([np.min(at.radius_mm[convex])], rel=1e-6)
        hollow = [p.value for p in profile.hollow_places if (p.segment, p.flank) == (segment, "inner")]
        expected = [np.min(-at.radius_mm[~convex])] if np.any(~convex) else []
        assert hollow == pytest.approx(expected, rel=1e-5)
        steep = [p.value for p in profile.steep_places if p.segment == segment]
        moving = [np.max(np.abs(at.pressure_deg))] if segment in (0, 2) else []
        assert steep == pytest.approx(moving, rel=1e-6)


def test_an_outer_flank_swaps_crests_and_hollows() -> None:
    follower = {**ROLLER, "closure": "groove"}
    profile = profile_of(follower=follower, disc={"base_radius_mm": 20.0}, law="simple-harmonic")
    at = profile.at_nodes
    least = np.min(at.pitch_radius_mm[at.pitch_curvature > 0])
    outer = [place.value for place in profile.hollow_places if place.flank == "outer"]
    assert min(outer) == pytest.approx(float(least) + 8.0)


def test_limits_of_places_are_those_of_the_lane() -> None:
    profile = profile_of(
        limits={"crest_radius_mm": 2.5, "hollow_margin_mm": 0.75, "pressure_angle_deg": 33.0}
    )
    assert {place.limit for place in profile.crest_places} == {2.5}
    assert all(place.limit == 8.75 for place in profile.hollow_places)
    assert [place.limit for place in profile.steep_places] == [33.0, 45.0]


def test_a_groove_holds_the_fall_against_the_rises_limit() -> None:
    profile = profile_of(follower={**ROLLER, "closure": "groove"})
    assert [place.limit for place in profile.steep_places] == [30.0, 30.0]


def test_an_arm_has_its_own_limit() -> None:
    profile = profile_of(follower=ARM, limits={"swing_pressure_angle_deg": 41.0})
    assert [place.limit for place in profile.steep_places] == [41.0, 45.0]


def test_a_rise_and_a_fall_in_one_stretch_are_told_apart() -> None:
    project = project_of(disc={"base_radius_mm": 20.0})
    profile = built(project, eccentric_roller(30.0, 10.0, 8.0))
    rises = sorted(place.rise for place in profile.steep_places)
    assert rises == [-1, 1]
    peak = np.degrees(np.arcsin(10.0 / 38.0))
    assert [place.value for place in profile.steep_places] == pytest.approx([peak, peak], abs=1e-9)
