"""The automatic base radius and offset: the smallest that keeps all limits, with what governs it."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shaftscore.kinematics.motion.lane import LaneMotion, program, surroundings
from shaftscore.kinematics.profiles import (
    Base,
    NoProfile,
    Profile,
    build_profile,
    largest,
    own_base,
    shared_base,
    shortest_move,
)
from shaftscore.model import Lane, Project
from shaftscore.solution import solve
from tests.core.kinematics.profiles.machines import ROLLER, built, harmonic, motion_of, profile_of, project_of
from tests.core.kinematics.profiles.test_trace import ARM, FLAT

AUTO: dict[str, Any] = {}
GENTLE = {"pressure_angle_deg": 89.0, "return_pressure_angle_deg": 89.0, "swing_pressure_angle_deg": 89.0}


def broken(profile: Profile) -> list[object]:
    """All places that break a limit by more than rounding."""
    steep = [place for place in profile.steep_places if place.value > place.limit + 1e-6]
    tight = [
        place for place in (*profile.crest_places, *profile.hollow_places) if place.value < place.limit - 1e-6
    ]
    return [*steep, *tight, *(cut for cut in profile.undercuts() if cut.kind != "corner")]


def closed_form_base(offset_mm: float, d: int) -> float:
    """The textbook's least base for a 20 mm cycloidal rise and fall in 90 degrees, limits 30 and 45.

    Largest over theta of |s' - d e| / tan(limit) - s, which is sqrt(Rp² - e²).
    """
    x = np.linspace(0, 1, 200_001)
    s = 20 * (x - np.sin(2 * np.pi * x) / (2 * np.pi))
    v = 20 * (1 - np.cos(2 * np.pi * x)) / (np.pi / 2)
    rise = np.max(np.abs(v - d * offset_mm) / np.tan(np.radians(30)) - s)
    fall = np.max(np.abs(-v - d * offset_mm) / np.tan(np.radians(45)) - s)
    return float(np.hypot(max(rise, fall), offset_mm)) - 8.0


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("offset_mm", [0.0, 3.0, -3.0, 12.0])
def test_the_pressure_angle_governs_as_the_textbook_says(offset_mm: float, turn: str) -> None:
    profile = profile_of(turn, disc=AUTO, follower={**ROLLER, "offset_mm": offset_mm})
    expected = closed_form_base(offset_mm, profile.direction)
    assert profile.base_radius_mm == pytest.approx(expected, abs=1e-6)
    assert profile.base_governed_by in ("pressure-angle", "return-pressure-angle")
    assert profile.fits


def test_the_governing_pressure_angle_is_just_met() -> None:
    profile = profile_of(disc=AUTO)
    assert profile.max_pressure_angle_deg == pytest.approx(30.0, abs=1e-8)


def test_a_crest_radius_governs_where_the_angle_is_free() -> None:
    profile = profile_of(disc=AUTO, limits={**GENTLE, "crest_radius_mm": 15.0})
    assert profile.base_governed_by == "crest-radius"
    assert profile.min_convex_radius_mm == pytest.approx(15.0, abs=1e-7)


def test_a_hollow_margin_governs_where_all_else_is_free() -> None:
    limits = {**GENTLE, "crest_radius_mm": 0.0, "hollow_margin_mm": 60.0}
    profile = profile_of(disc=AUTO, limits=limits)
    assert profile.base_governed_by == "hollow-margin"
    assert profile.min_hollow_radius_mm == pytest.approx(68.0, abs=1e-7)


def test_a_grooves_outer_flank_has_its_own_hollow_to_keep() -> None:
    """Its hollow lies outside a convex pitch curve: the pitch radius is at least the margin."""
    limits = {**GENTLE, "crest_radius_mm": 0.0, "hollow_margin_mm": 55.0}
    profile = profile_of(disc=AUTO, limits=limits, follower={**ROLLER, "closure": "groove"})
    outer = min(place.value for place in profile.hollow_places if place.flank == "outer")
    assert outer == pytest.approx(8.0 + 55.0, abs=1e-7)
    assert profile.base_governed_by == "hollow-margin"
    assert profile.fits
    sprung = profile_of(disc=AUTO, limits=limits)
    assert sprung.base_radius_mm < profile.base_radius_mm


def test_a_flat_face_is_governed_by_its_crest() -> None:
    """Closed form: base = crest radius - min(s + s''), here of a cycloidal 20 mm in 90 degrees."""
    profile = profile_of(disc=AUTO, follower=FLAT)
    x = np.linspace(0, 1, 200_001)
    s = 20 * (x - np.sin(2 * np.pi * x) / (2 * np.pi))
    a = 20 * 2 * np.pi * np.sin(2 * np.pi * x) / (np.pi / 2) ** 2
    assert profile.base_radius_mm == pytest.approx(1.0 - np.min(s + a), abs=1e-6)
    assert profile.base_governed_by == "crest-radius"


@pytest.mark.parametrize(
    ("stack", "name", "radius"),
    [
        ({"bore": {"shape": "round", "across_mm": 10.0}}, "bore", 5.0 + 0.2 + 1.2),
        ({"bore": {"shape": "square", "across_mm": 10.0}}, "bore", 5.0 * 2**0.5 + 0.2 + 1.2),
        (  # the long dog reaches to the corner of 11 mm and half its length, and a round end beyond
            {"dogs": {"radius_mm": 11.0, "width_mm": 3.0, "height_mm": 2.0}},
            "dogs",
            (11.0**2 + 1.5**2) ** 0.5 + 1.5 + 0.2 + 1.2,
        ),
        ({"follower_height_mm": 9.0, "spacer_radius_mm": 14.0}, "spacer", 14.0 + 0.5),
    ],
)
def test_a_round_disc_leaves_a_wall_about_what_it_sits_on(
    stack: dict[str, Any], name: str, radius: float
) -> None:
    block = [{"level": "low", "start_deg": 0.0, "end_deg": 10.0}]
    profile = profile_of(disc=AUTO, blocks=block, stack=stack)
    assert profile.base_governed_by == name
    assert profile.min_radius_mm == pytest.approx(radius, abs=1e-8)


def test_no_disc_within_the_bed_gives_the_nearest_and_says_so() -> None:
    profile = profile_of(disc=AUTO, limits={"max_disc_radius_mm": 45.0})
    assert not profile.fits
    assert profile.base_governed_by == "pressure-angle"
    assert profile.max_radius_mm == pytest.approx(45.0)
    assert broken(profile)


followers = st.sampled_from(
    [
        ROLLER,
        {**ROLLER, "offset_mm": 6.0},
        {**ROLLER, "offset_mm": "auto"},
        {**ROLLER, "closure": "groove"},
        {**ARM, "pivot_side": "counterclockwise"},
        ARM,
    ]
)
laws = st.sampled_from(["simple-harmonic", "cycloidal", "modified-sine", "polynomial-345", "double-harmonic"])


@given(followers, laws, st.integers(20, 110), st.integers(20, 110), st.sampled_from([4.0, 9.0, 20.0]))
def test_an_automatic_disc_breaks_no_limit_and_a_smaller_one_does(
    follower: dict[str, Any], law: str, rise: int, fall: int, travel: float
) -> None:
    blocks = [
        {"level": "high", "start_deg": float(rise), "end_deg": 180.0},
        {"level": "low", "start_deg": float(180 + fall), "end_deg": 360.0},
    ]
    levels = {"low": 0.0, "high": travel}
    machine = {"blocks": blocks, "levels": levels, "law": law, "follower": follower}
    profile = profile_of(disc=AUTO, **machine)
    if not profile.fits:
        assert broken(profile)
        return
    assert not broken(profile)
    if profile.base_governed_by in ("pressure-angle", "return-pressure-angle", "crest-radius"):
        smaller = {**profile.follower.model_dump(exclude_defaults=True), "kind": follower["kind"]}
        disc = {"base_radius_mm": profile.base_radius_mm * 0.999}
        project = project_of(disc=disc, **{**machine, "follower": smaller})
        result = build_profile(project, project.lanes[0], motion_of(project))
        assert isinstance(result, NoProfile) or broken(result)


@pytest.mark.parametrize("disc", [AUTO, {"base_radius_mm": 30.0}])
@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_an_automatic_offset_balances_rise_and_fall(turn: str, disc: dict[str, Any]) -> None:
    blocks = [
        {"level": "high", "start_deg": 60.0, "end_deg": 180.0},
        {"level": "low", "start_deg": 300.0, "end_deg": 360.0},
    ]
    machine = {"blocks": blocks, "disc": disc}
    profile = profile_of(turn, follower={**ROLLER, "offset_mm": "auto"}, **machine)
    rise, fall = profile.steep_places
    assert rise.value == pytest.approx(fall.value, abs=1e-6)
    assert profile.offset_mm * profile.direction > 0, "the shorter rise is helped"
    in_line = profile_of(turn, **machine)
    assert profile.base_radius_mm <= in_line.base_radius_mm


@given(
    st.sampled_from(["cycloidal", "modified-sine", "polynomial-345", "simple-harmonic"]),
    st.floats(40, 120),
    st.floats(40, 120),
    st.floats(2, 30),
)
def test_an_automatic_radius_is_the_exact_root_of_what_governs_it(
    law: str, rise: float, fall: float, height: float
) -> None:
    """The governing figure, refined on the finished disc, meets its limit to a billionth.

    Whether the root was interpolated or, where another demand governs near by, closed step by step.
    """
    blocks = [
        {"level": "high", "start_deg": rise, "end_deg": rise + 30},
        {"level": "low", "start_deg": rise + fall + 30, "end_deg": 360.0},
    ]
    profile = profile_of(law=law, blocks=blocks, levels={"low": 0.0, "high": height}, disc={})
    assume(profile.fits)
    governed = profile.base_governed_by
    if governed.endswith("pressure-angle"):
        way = -1 if governed.startswith("return") else 1
        (steep,) = [place for place in profile.steep_places if place.rise == way]
        assert steep.value == pytest.approx(steep.limit, rel=1e-9)
    elif governed == "crest-radius":
        least = min(place.value for place in profile.crest_places)
        assert least + 8.0 == pytest.approx(profile.limits.crest_mm + 8.0, rel=1e-9)
    assert not broken(profile)


def test_an_automatic_offset_beside_a_drop_makes_the_rise_least_steep() -> None:
    """With nothing to balance: no offset near by, nor any of 81 over its whole reach, is less steep."""
    blocks = [
        {"level": "high", "start_deg": 90.0, "end_deg": 180.0},
        {"level": "low", "start_deg": 230.0, "end_deg": 360.0, "law": "drop"},
    ]
    load = {"moving_mass_g": 1.0, "spring_preload_n": 500.0}

    def steepest(offset_mm: float | str) -> tuple[float, float]:
        follower = {**ROLLER, "offset_mm": offset_mm}
        solved = solve(
            project_of(blocks=blocks, load=load, follower=follower, disc={"base_radius_mm": 20.0})
        ).lanes["a"]
        assert solved.profile is not None
        return solved.profile.max_pressure_angle_deg, solved.profile.offset_mm

    best, offset = steepest("auto")
    assert abs(offset) > 1.0
    others = [steepest(offset + step)[0] for step in (-0.01, 0.01, *np.linspace(-25.0, 25.0, 81) - offset)]
    assert best < min(others)
    assert best == pytest.approx(min(others[:2]), abs=0.1)


def test_a_symmetric_program_needs_no_offset() -> None:
    profile = profile_of(follower={**ROLLER, "offset_mm": "auto"})
    assert profile.offset_mm == pytest.approx(0.0, abs=1e-8)


def test_a_group_shares_the_radius_that_its_neediest_lane_asks_for() -> None:
    group = {"base_group": "row"}
    small = project_of(disc=group, levels={"low": 0.0, "high": 8.0}).lanes[0]
    project = project_of(disc=group)
    project = type(project)(
        **{**dict(project), "lanes": (project.lanes[0], small.__class__(**{**dict(small), "id": "b"}))}
    )
    own = [own_base(project, lane, motion_of(project_of())) for lane in project.lanes]
    shared = shared_base(project, "row")
    assert shared is not None
    assert shared.radius_mm == pytest.approx(own[0].radius_mm)
    profiles = [build_profile(project, lane, motion_of(project_of())) for lane in project.lanes]
    assert all(isinstance(profile, Profile) for profile in profiles)
    assert {profile.base_radius_mm for profile in profiles} == {shared.radius_mm}  # type: ignore[union-attr]
    assert all(profile.base_governed_by == "group" for profile in profiles)  # type: ignore[union-attr]


def test_the_largest_of_no_bases_is_none() -> None:
    assert largest([]) is None
    assert largest([Base(3.0, "bore"), Base(5.0, "bore")]) == Base(5.0, "bore")


def test_the_shortest_move_just_fits_its_base() -> None:
    project = project_of()
    base = closed_form_base(0.0, 1)
    move = motion_of(project).segments[0]
    shortest = shortest_move(project, project.lanes[0], move, base_radius_mm=base)  # type: ignore[arg-type]
    assert shortest == pytest.approx(90.0, abs=1e-5)


def test_the_shortest_move_over_any_base_fills_the_largest_disc() -> None:
    limits = {"max_disc_radius_mm": 60.0}
    project = project_of(disc=AUTO, limits=limits)
    move = motion_of(project).segments[0]
    shortest = shortest_move(project, project.lanes[0], move)  # type: ignore[arg-type]
    assert shortest is not None
    block = {"level": "high", "start_deg": shortest + 1e-6, "end_deg": 180.0}
    there = profile_of(disc=AUTO, limits=limits, blocks=[block, {**project_block("low"), "start_deg": 290.0}])
    assert there.fits
    assert there.base_radius_mm == pytest.approx(40.0, abs=1e-3)


def project_block(level: str) -> dict[str, Any]:
    return {"level": level, "start_deg": 270.0, "end_deg": 360.0}


def test_no_move_is_long_enough_for_a_limit_that_cannot_be_met() -> None:
    project = project_of(limits={"crest_radius_mm": 1000.0})
    move = motion_of(project).segments[0]
    assert shortest_move(project, project.lanes[0], move) is None  # type: ignore[arg-type]


def test_a_follower_that_cannot_stand_gives_the_reason() -> None:
    project = project_of(follower=ARM, disc={"base_group": "row"})
    result = build_profile(project, project.lanes[0], motion_of(project), shared=Base(500.0, "bore"))
    assert isinstance(result, NoProfile)
    assert result.reason == "follower"
    assert "base radius 500 mm cannot close the triangle" in result.what


def test_a_link_that_is_too_short_gives_the_reason() -> None:
    link = [{"roller_mm": 0.0, "output_mm": 0.0}, {"roller_mm": 9.0, "output_mm": 21.0}]
    project = project_of(follower={**ROLLER, "link": link})
    result = build_profile(project, project.lanes[0], harmonic(30.0))
    assert isinstance(result, NoProfile)
    assert result.reason == "link"
    assert "from 0 to 21 mm of output, the lane needs 0 to 30" in result.what


def test_a_lane_without_a_disc_gives_the_reason() -> None:
    project = project_of()
    lane = project_of(
        kind="index", levels={"rest": 5.0}, blocks=[{"level": "rest", "start_deg": 10.0, "end_deg": 20.0}]
    ).lanes[0]
    result = build_profile(project, lane, motion_of(project))
    assert isinstance(result, NoProfile)
    assert result.reason == "kind"


def rider_project(**rider_follower: Any) -> Project:
    """A lane and a rider on its disc, 90 degrees further round; the shaft turns counterclockwise."""
    host = project_of(disc=AUTO, offset_deg=2.0)
    rider = {
        "id": "r",
        "kind": "rider",
        "disc_of": "a",
        "station_deg": 90.0,
        "follower": {**ROLLER, **rider_follower},
    }
    text = host.model_dump(mode="json", exclude_defaults=True)
    text["lanes"].append(rider)
    text.update(format="shaftscore-project", version=2)
    return Project.model_validate_json(json.dumps(text))


def profile_in(project: Project, lane: Lane) -> Profile | NoProfile:
    motion = program(lane, surroundings(project, lane))
    assert isinstance(motion, LaneMotion)
    return build_profile(project, lane, motion)


def test_a_rider_sees_the_disc_of_its_host() -> None:
    project = rider_project()
    host, rider = (profile_in(project, lane) for lane in project.lanes)
    assert isinstance(host, Profile)
    assert isinstance(rider, Profile)
    theta = np.linspace(0, 350, 36)
    assert np.allclose(rider.at(theta + 90.0).profile, host.at(theta).profile, atol=1e-9)
    assert np.allclose(rider.at(theta + 90.0).lift, host.at(theta).lift, atol=1e-9)
    assert rider.base_radius_mm == host.base_radius_mm


def test_a_rider_with_another_follower_is_refused_with_both_values() -> None:
    project = rider_project(roller_radius_mm=5.0)
    rider = profile_in(project, project.lanes[1])
    assert isinstance(rider, NoProfile)
    assert "roller_radius_mm is 5.0" in rider.what
    assert "8.0" in rider.what


DROP = [
    {"level": "high", "start_deg": 90.0, "end_deg": 180.0},
    {"level": "low", "start_deg": 200.0, "end_deg": 360.0, "law": "drop"},
]
"""A cycloidal rise and a drop over 20 degrees."""


@pytest.mark.parametrize("disc", [AUTO, {"base_radius_mm": 40.0}])
def test_a_drop_is_no_place_of_the_disc_and_does_not_size_it(disc: dict[str, Any]) -> None:
    load = {"moving_mass_g": 50.0, "spring_preload_n": 5.0, "spring_rate_n_per_mm": 0.2}
    project = project_of(blocks=DROP, disc=disc, load=load)
    profile = profile_in(project, project.lanes[0])
    assert isinstance(profile, Profile)
    plain = profile_of(disc=disc)
    assert profile.base_radius_mm == pytest.approx(plain.base_radius_mm, abs=1e-6)
    assert [place.segment for place in profile.steep_places] == [0]
    assert profile.max_pressure_angle_deg == pytest.approx(plain.steep_places[0].value, abs=1e-6)
    assert profile.undercuts() == ()
    assert not broken(profile)


def drop_project(gap_deg: float, follower: dict[str, Any] | None = None, **disc: Any) -> Project:
    """A long rise, which asks for a small disc, and a drop of 20 mm over a narrow gap."""
    blocks = [
        {"level": "high", "start_deg": 170.0, "end_deg": 180.0},
        {"level": "low", "start_deg": 180.0 + gap_deg, "end_deg": 300.0, "law": "drop"},
    ]
    load = {"moving_mass_g": 1.0, "spring_preload_n": 500.0}
    more = {} if follower is None else {"follower": follower}
    return project_of(blocks=blocks, disc={**AUTO, **disc}, load=load, **more)


@pytest.mark.parametrize(
    "follower",
    [
        None,
        {"kind": "translating-roller", "roller_radius_mm": 8.0, "offset_mm": "auto"},
        ARM,
        FLAT,
    ],
    ids=["in line", "offset", "swinging", "flat"],
)
def test_an_automatic_base_lets_a_drop_keep_its_gap(follower: dict[str, Any] | None) -> None:
    """The disc grows until the edge just takes its gap; a little smaller and the edge takes longer."""
    roomy = solve(drop_project(100.0, follower)).lanes["a"].profile
    assert roomy is not None
    assert roomy.base_governed_by != "drop-gap"
    gap = 0.8 * _edge_deg(drop_project(0.05, follower, base_radius_mm=roomy.base_radius_mm))
    solved = solve(drop_project(gap, follower)).lanes["a"]
    profile, motion = solved.profile, solved.motion
    assert profile is not None
    assert motion is not None
    assert profile.base_governed_by == "drop-gap"
    assert profile.fits
    assert profile.base_radius_mm > roomy.base_radius_mm
    assert motion.drops[0].edge_deg == pytest.approx(gap, abs=1e-6)
    if follower is not None and follower.get("offset_mm") == "auto":
        follower = {**follower, "offset_mm": profile.offset_mm}
    smaller = drop_project(gap, follower, base_radius_mm=profile.base_radius_mm * 0.99)
    assert _edge_deg(smaller) > gap + 1e-4
    assert not broken(profile)


def _edge_deg(project: Project) -> float:
    motion = solve(project).lanes["a"].motion
    assert motion is not None
    return motion.drops[0].edge_deg


def test_a_gap_too_narrow_for_any_disc_is_said_so() -> None:
    profile = solve(drop_project(0.05)).lanes["a"].profile
    assert profile is not None
    assert (profile.base_governed_by, profile.fits) == ("drop-gap", False)


def test_a_lane_of_points_is_sized_like_any_other() -> None:
    theta = np.arange(0.0, 360.0, 5.0)
    lift = 10.0 - 10.0 * np.cos(np.radians(theta))
    points = [{"theta_deg": t, "output_mm": float(s)} for t, s in zip(theta, lift, strict=True)]
    project = project_of(kind="points", blocks=[], points=points, disc=AUTO, levels={"low": 0.0})
    profile = profile_in(project, project.lanes[0])
    assert isinstance(profile, Profile)
    assert not broken(profile)
    assert {place.rise for place in profile.steep_places} == {-1, 1}
    by_formula = built(project_of(disc={"base_radius_mm": profile.base_radius_mm}), harmonic(20.0))
    assert profile.max_pressure_angle_deg == pytest.approx(by_formula.max_pressure_angle_deg, abs=0.01)
    assert profile.min_convex_radius_mm == pytest.approx(by_formula.min_convex_radius_mm, rel=0.01)
