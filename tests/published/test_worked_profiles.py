"""Profiles against worked examples and benchmarks: pressure angles, radii, profile points, base circles.

Three kinds of figures, told apart in every check:
- *published*: printed in the source named beside it;
- *statement only*: the source prints the exercise but no answer; the figures were computed by two routes
  (closed form, and numerical differentiation of the inverted motion) that agree to 1e-5 or better;
- *benchmark*: an exercise of our own, computed by the same two routes, not published.

Frames follow the textbooks: the follower stands on the +y axis (station 90 degrees) and the cam turns
counterclockwise unless said otherwise. Figures are in the units of their source; inches times 25.4.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import acos, asin, cos, pi, radians, sin, tan
from typing import Any

import numpy as np
import pytest

from shaftscore.kinematics.motion.segments import Move
from shaftscore.kinematics.profiles import Profile, build_profile
from tests.core.kinematics.profiles.machines import (
    ROLLER,
    ClosedForm,
    ClosedStretch,
    built,
    eccentric_roller,
    motion_of,
    profile_of,
    project_of,
)

INCH = 25.4
TWO_ROUTES = "benchmark: computed by two routes, not published"


def last_digit(text: str) -> float:
    """Half a unit of the last printed digit, with a little for the rounding itself."""
    decimals = len(text.split(".")[1]) if "." in text else 0
    return 0.51 * 10.0**-decimals


def near(text: str) -> Any:
    """A figure as printed, to half a unit of its last digit."""
    return pytest.approx(float(text), abs=last_digit(text))


def rise_then_fall(law: str, travel: float, angles: tuple[float, float, float], **lane: Any) -> Profile:
    """A rise from theta = 0, a dwell and a fall over three angles, then rest; follower on +y."""
    rise, dwell, fall = angles
    blocks = [
        {"level": "high", "start_deg": rise, "end_deg": rise + dwell},
        {"level": "low", "start_deg": rise + dwell + fall, "end_deg": 360.0},
    ]
    levels = {"low": 0.0, "high": travel}
    return profile_of(blocks=blocks, levels=levels, law=law, station_deg=90.0, **lane)


@dataclass(frozen=True)
class Roller:
    """A benchmark of the translating roller: cycloidal 20 mm in 90 degrees, prime radius 48, roller 8."""

    offset_mm: float
    steepest: str
    steepest_at: str
    least_pitch: str
    least_pitch_at: str
    profile_at_45: tuple[str, str]


ROLLERS = (
    Roller(0.0, "23.9626", "41.8299", "37.8305", "65.972", ("38.1067", "33.5585")),
    Roller(8.0, "17.0801", "42.8037", "36.5012", "64.825", ("42.4315", "27.8208")),
)


@pytest.mark.parametrize("case", ROLLERS, ids=lambda case: f"offset {case.offset_mm:g}")
def test_translating_roller(case: Roller) -> None:
    """Source: TWO_ROUTES."""
    profile = rise_then_fall(
        "cycloidal", 20.0, (90.0, 90.0, 90.0), follower={**ROLLER, "offset_mm": case.offset_mm}
    )
    rise = profile.steep_places[0]
    assert rise.value == near(case.steepest)
    assert rise.theta_deg == near(case.steepest_at)
    crest = profile.crest_places[0]
    assert crest.value + 8.0 == near(case.least_pitch)
    assert crest.theta_deg == near(case.least_pitch_at)
    point = profile.at(np.array([45.0])).profile[0]
    assert point.real == near(case.profile_at_45[0])
    assert point.imag == near(case.profile_at_45[1])


def test_translating_roller_with_a_hollow() -> None:
    """Source: TWO_ROUTES. With offset 8 the pitch curve is concave, least radius 2770.54 at 20.313 deg."""
    profile = rise_then_fall("cycloidal", 20.0, (90.0, 90.0, 90.0), follower={**ROLLER, "offset_mm": 8.0})
    hollow = profile.hollow_places[0]
    assert hollow.value - 8.0 == near("2770.54")
    assert hollow.theta_deg == near("20.313")
    assert profile.at(np.array([20.313])).pitch_curvature[0] == pytest.approx(-0.000360941, abs=1e-9)


def test_least_prime_radius_for_thirty_degrees() -> None:
    """Source: TWO_ROUTES. Also the textbooks' closed form, max over theta of s'/tan(limit) - s."""
    limits = {"pressure_angle_deg": 30.0, "return_pressure_angle_deg": 30.0}
    profile = rise_then_fall("cycloidal", 20.0, (90.0, 90.0, 90.0), disc={}, limits=limits)
    assert profile.base_radius_mm + 8.0 == near("35.0189")
    x = np.linspace(0, 1, 400_001)
    lift = 20 * (x - np.sin(2 * pi * x) / (2 * pi))
    slope = 40 / pi * (1 - np.cos(2 * pi * x))
    assert profile.base_radius_mm + 8.0 == pytest.approx(np.max(slope / tan(pi / 6) - lift), abs=1e-6)


def test_oscillating_roller() -> None:
    """Source: TWO_ROUTES. Cycloidal 20 deg in 120 deg, c 130, L 120, Rp 50, Rr 10, opposite turns.

    The textbook puts the pivot on the +x axis; the station follows from the triangle.
    """
    follower = {
        "kind": "swinging-roller",
        "roller_radius_mm": 10.0,
        "arm_mm": 120.0,
        "pivot_distance_mm": 130.0,
        "pivot_side": "clockwise",
    }
    at_axis = acos((130.0**2 + 50.0**2 - 120.0**2) / (2 * 130.0 * 50.0))
    blocks = [
        {"level": "high", "start_deg": 120.0, "end_deg": 180.0},
        {"level": "low", "start_deg": 300.0, "end_deg": 360.0},
    ]
    profile = profile_of(
        blocks=blocks,
        levels={"low": 0.0, "high": 120.0 * radians(20.0)},
        follower=follower,
        station_deg=float(np.degrees(at_axis)),
        disc={"base_radius_mm": 40.0},
    )
    start, middle = profile.at(np.array([0.0])), profile.at(np.array([60.0]))
    assert start.pressure_deg[0] == pytest.approx(0.0, abs=1e-9)
    steep = profile.steep_places[0]
    assert steep.value == near("35.7949")
    assert steep.theta_deg == near("58.9552")
    assert profile.crest_places[0].value + 10.0 == near("50")
    assert middle.profile[0].real == near("62.1137")
    assert middle.profile[0].imag == near("1.82141")


def test_flat_face() -> None:
    """Source: TWO_ROUTES. 3-4-5, 10 mm in 90 deg."""
    flat = {"kind": "translating-flat", "face_width_mm": 40.0}
    profile = rise_then_fall(
        "polynomial-345", 10.0, (90.0, 90.0, 90.0), follower=flat, disc={"base_radius_mm": 25.0}
    )
    crest = profile.crest_places[0]
    assert 25.0 - crest.value == near("14.1139")
    assert crest.theta_deg == near("70.005")
    assert profile.needed_face_width_mm is not None
    assert profile.needed_face_width_mm / 2 == near("11.9366")
    point = profile.at(np.array([45.0])).profile[0]
    assert point.real == near("29.6537")
    assert point.imag == near("12.7727")


def test_a_flat_face_in_harmonic_motion_makes_a_circle() -> None:
    """Statement only: exercise at th4.ilovetranslation.com/8w8ZRY4te-L=d.

    SHM of 50 mm over the whole turn, least radius 25: a circle of radius 50, its middle 25 mm off the
    shaft; the face needs 50 mm.
    """
    blocks = [
        {"level": "low", "start_deg": 0.0, "end_deg": 0.0},
        {"level": "high", "start_deg": 180.0, "end_deg": 180.0},
    ]
    profile = profile_of(
        blocks=blocks,
        levels={"low": 0.0, "high": 50.0},
        law="simple-harmonic",
        follower={"kind": "translating-flat", "face_width_mm": 60.0},
        disc={"base_radius_mm": 25.0},
    )
    at = profile.at(np.linspace(1.0, 359.0, 50))
    assert np.allclose(at.radius_mm, 50.0, atol=1e-9)
    middle = at.profile - 50.0 * at.normal
    assert np.allclose(middle, middle[0], atol=1e-9)
    assert abs(middle[0]) == pytest.approx(25.0)
    assert profile.needed_face_width_mm == pytest.approx(50.0)


@dataclass(frozen=True)
class CircularArcCam:
    """A symmetric cam of base circle, circular flanks and a round nose, under a flat face.

    The distance of the flank's centre from the axis follows from the triangle of axis, nose centre and
    flank centre: (OP + R - r)² = OP² + D² + 2 OP D cos(half angle), D = R + lift - r.
    """

    least_radius: float
    lift: float
    nose: float
    half_deg: float

    @property
    def nose_distance(self) -> float:
        return self.least_radius + self.lift - self.nose

    @property
    def flank_distance(self) -> float:
        """OP: from the axis to the flank's centre."""
        gap, far = self.least_radius - self.nose, self.nose_distance
        return (far**2 - gap**2) / (2 * (gap - far * cos(radians(self.half_deg))))

    @property
    def change_deg(self) -> float:
        """Where the face passes from flank to nose, from the start of the lift."""
        apart = self.flank_distance + self.least_radius - self.nose
        return float(np.degrees(asin(self.nose_distance * sin(radians(self.half_deg)) / apart)))

    def motion(self) -> ClosedForm:
        """The lift: OP (1 - cos theta) on the flank, D cos(half - theta) - (R - r) on the nose."""
        half, change = radians(self.half_deg), radians(self.change_deg)
        op, far = self.flank_distance, self.nose_distance
        gap = self.least_radius - self.nose

        def form(theta: np.ndarray) -> np.ndarray:
            late = theta > half
            t = np.where(late, 2 * half - theta, theta)
            flank = np.stack([op * (1 - np.cos(t)), op * np.sin(t), op * np.cos(t), -op * np.sin(t)])
            u = half - t
            nose = np.stack([far * np.cos(u) - gap, far * np.sin(u), -far * np.cos(u), -far * np.sin(u)])
            rows = np.where(t < change, flank, nose) * np.where(late, [[1], [-1], [1], [-1]], 1)
            return np.where(theta < 2 * half, rows, 0.0)

        ends = [0.0, self.change_deg, 2 * self.half_deg - self.change_deg, 2 * self.half_deg]
        moving = tuple(ClosedStretch(a, b - a) for a, b in pairwise(ends))
        return ClosedForm(form, (*moving, ClosedStretch(ends[-1], 360.0 - ends[-1], curve=None)))


def check_circular_arcs(cam: CircularArcCam) -> None:
    """The lift of such a cam must give its arcs back, flank and nose."""
    flat = {"kind": "translating-flat", "face_width_mm": 200.0}
    profile = built(project_of(follower=flat, disc={"base_radius_mm": cam.least_radius}), cam.motion())
    on_flank = profile.at(np.linspace(0.1, cam.change_deg - 0.1, 9))
    on_nose = profile.at(np.linspace(cam.change_deg + 0.1, cam.half_deg, 9))
    assert np.allclose(on_flank.radius_mm, cam.flank_distance + cam.least_radius, rtol=1e-9)
    assert np.allclose(on_nose.radius_mm, cam.nose, rtol=1e-9)
    middle = on_nose.profile - cam.nose * on_nose.normal
    assert np.allclose(np.abs(middle), cam.nose_distance)
    assert profile.min_convex_radius_mm == pytest.approx(cam.nose)


def test_circular_arc_cam_of_bevan() -> None:
    """Published: T. Bevan, The Theory of Machines, 3rd ed. 2005, ch. 9, example 5, p. 300 (as retyped in a
    companion notebook): least radius 1.125 in, lift 0.5, nose 0.125, half angle 55 deg; OP 4.477 in
    (exactly 4.47594, so the print is 0.02 % high). Flank radius 5.60094 in: computed.
    """
    cam = CircularArcCam(1.125 * INCH, 0.5 * INCH, 0.125 * INCH, 55.0)
    assert cam.flank_distance / INCH == pytest.approx(4.477, rel=3e-4)
    assert cam.flank_distance / INCH + 1.125 == near("5.60094")
    assert cam.change_deg == near("12.9668")
    check_circular_arcs(cam)


def test_circular_arc_cam_of_an_exercise() -> None:
    """Statement only: askfilo.com, question 3334393532323430.

    Least radius 25, nose 8, lift 10, half action 60 deg: flank radius 615/7, change at 17.0260 deg.
    """
    cam = CircularArcCam(25.0, 10.0, 8.0, 60.0)
    assert cam.flank_distance + 25.0 == pytest.approx(615 / 7)
    assert cam.change_deg == near("17.0260")
    check_circular_arcs(cam)


def test_tangent_cam() -> None:
    """Published: exercise at bissoy.com/mcq/375987 (probably Khurmi and Gupta ch. 20, from memory).

    Tangent cam r1 30, roller 17.5, lift 17.5, ascent 75 deg at 600 rpm: 187.6 m/s² at the start (with
    omega taken as 62.84 rad/s; exactly 187.522). Nose radius 23.8890 mm and change at 25.6473 deg: computed.
    The lift must give back a straight flank and the round nose.
    """
    base, roller, lift, ascent = 30.0, 17.5, 17.5, radians(75.0)
    # The flank touches both circles: base - nose = nose distance x cos(ascent).
    nose = (base - (base + lift) * cos(ascent)) / (1 - cos(ascent))
    far = base + lift - nose
    change = float(np.arctan(far * sin(ascent) / (base + roller)))
    assert nose == near("23.8890")
    assert np.degrees(change) == near("25.6473")
    round_nose = eccentric_roller(nose, far, roller)

    def form(theta: np.ndarray) -> np.ndarray:
        secant, tangent, reach = 1 / np.cos(theta), np.tan(theta), base + roller
        flank = reach * np.stack(
            [secant - 1, secant * tangent, 2 * secant**3 - secant, (6 * secant**2 - 1) * secant * tangent]
        )
        tip = round_nose.form(theta - ascent + pi)
        tip[0] += nose + roller - far - reach
        return np.where(theta < change, flank, tip)

    start = form(np.zeros(1))[2, 0] * 1e-3
    assert start * 62.84**2 == near("187.6")
    assert start * (600 * pi / 30) ** 2 == near("187.522")
    ends = (float(np.degrees(change)), 75.0)
    motion = ClosedForm(form, (ClosedStretch(0.0, ends[0]), ClosedStretch(ends[0], 75.0 - ends[0])))
    follower = {**ROLLER, "roller_radius_mm": roller}
    profile = built(project_of(follower=follower, disc={"base_radius_mm": base}), motion)
    on_flank, on_nose = profile.at(np.linspace(0.5, 25.0, 9)), profile.at(np.linspace(26.0, 75.0, 9))
    assert np.allclose(on_flank.curvature, 0.0, atol=1e-12)
    assert np.allclose(on_nose.radius_mm, nose, rtol=1e-9)
    assert np.allclose(np.abs(on_nose.profile - nose * on_nose.normal), far)


@pytest.mark.parametrize("offset", [-15.0, 15.0])
def test_offset_roller_of_an_exercise(offset: float) -> None:
    """Statement only: coursehero.com/file/13863082/sheet-5, problem 1.

    Base 40, roller 10, SHM 30 mm, 120/30/120 deg, offset 15. With -15 the rise is the steep side; with
    +15 the figures change sides, mirrored in time.
    """
    profile = rise_then_fall(
        "simple-harmonic",
        30.0,
        (120.0, 30.0, 120.0),
        follower={"kind": "translating-roller", "roller_radius_mm": 10.0, "offset_mm": offset},
    )
    back = offset > 0

    def at_time(theta: float) -> float:
        return 270.0 - theta if back else theta

    steep, gentle = profile.steep_places[:: -1 if back else 1]
    assert steep.value == near("32.1423")
    assert at_time(steep.theta_deg) == near("44.848")
    assert gentle.value == near("17.4576")
    assert at_time(gentle.theta_deg) == pytest.approx(270.0, abs=1e-6)
    crests = {place.segment: place for place in profile.crest_places}
    uphill, downhill = (crests[2], crests[0]) if back else (crests[0], crests[2])
    assert uphill.value + 10.0 == near("55.7748")
    assert at_time(uphill.theta_deg) == pytest.approx(120.0, abs=1e-6)
    assert downhill.value + 10.0 == near("54.9965")
    assert at_time(downhill.theta_deg) == near("170.73")
    assert profile.min_hollow_radius_mm == np.inf


def test_in_line_roller_of_the_same_exercise() -> None:
    """Statement only: the same exercise without offset."""
    profile = rise_then_fall(
        "simple-harmonic",
        30.0,
        (120.0, 30.0, 120.0),
        follower={"kind": "translating-roller", "roller_radius_mm": 10.0},
    )
    rise = profile.steep_places[0]
    assert rise.value == near("19.5833")
    assert rise.theta_deg == near("51.105")
    assert profile.crest_places[0].value + 10.0 == near("56.2637")


def test_two_rises_and_a_fall_of_an_exercise() -> None:
    """Statement only: wizedu.com/questions/98287.

    Base 40, roller 5, 500 rpm; cycloidal 0-20 mm in 0-80 deg, SHM 20-30 in 100-180, 3-4-5 fall in 210-300.
    """
    blocks = [
        {"level": "mid", "start_deg": 80.0, "end_deg": 100.0, "law": "cycloidal"},
        {"level": "high", "start_deg": 180.0, "end_deg": 210.0, "law": "simple-harmonic"},
        {"level": "low", "start_deg": 300.0, "end_deg": 360.0, "law": "polynomial-345"},
    ]
    profile = profile_of(
        blocks=blocks,
        levels={"low": 0.0, "mid": 20.0, "high": 30.0},
        follower={"kind": "translating-roller", "roller_radius_mm": 5.0},
    )
    steep = profile.steep_places
    assert [place.value for place in steep] == [near("27.8345"), near("9.15316"), near("31.5488")]
    assert [place.theta_deg for place in steep] == [near("37.026"), near("138.180"), near("260.348")]
    assert profile.at(np.array([260.348])).pressure_deg[0] == near("-31.5488")
    radii = {place.segment: place for place in profile.crest_places}
    moves = [n for n, segment in enumerate(motion_of_segments(profile)) if isinstance(segment, Move)]
    assert [radii[n].value + 5.0 for n in moves] == [near("32.0682"), near("56.0748"), near("38.0055")]
    assert radii[moves[0]].theta_deg == near("59.384")
    # Closed form and mpmath at 40 digits; sampled routes read 230.110, the radius being flat there.
    assert radii[moves[2]].theta_deg == near("230.1094110760")


def motion_of_segments(profile: Profile) -> tuple[object, ...]:
    return tuple(profile.motion.segments)


def test_an_involute_has_no_pressure_angle() -> None:
    """Identity from cam textbooks (a face cam with e = s'): constant velocity, offset equal to s'.

    The pressure angle is 0 and the pitch curve an involute of the circle of radius e: its radius of
    curvature is the height of the roller's centre over the axis.
    """
    slope = 20.0 / pi * 2
    profile = rise_then_fall(
        "constant-velocity", 20.0, (90.0, 90.0, 90.0), follower={**ROLLER, "offset_mm": slope}
    )
    at = profile.at(np.linspace(5.0, 85.0, 17))
    assert np.allclose(at.pressure_deg, 0.0, atol=1e-9)
    height = np.sqrt(48.0**2 - slope**2) + at.lift[0]
    assert np.allclose(1 / at.pitch_curvature, height, rtol=1e-9)


def test_constant_velocity_under_a_flat_face_is_an_involute() -> None:
    """Identity from cam textbooks: radius of curvature Rb + s, of the circle of radius s'."""
    flat = {"kind": "translating-flat", "face_width_mm": 40.0}
    profile = rise_then_fall("constant-velocity", 20.0, (90.0, 90.0, 90.0), follower=flat)
    at = profile.at(np.linspace(5.0, 85.0, 17))
    assert np.allclose(at.radius_mm, 40.0 + at.lift[0])
    evolute = at.profile - at.radius_mm * at.normal
    assert np.allclose(np.abs(evolute), 40.0 / pi)


def test_built_profiles_are_what_build_profile_gives() -> None:
    """The helper above adds nothing: the same lane through the public function."""
    project = project_of()
    result = build_profile(project, project.lanes[0], motion_of(project))
    assert isinstance(result, Profile)
    assert result.max_pressure_angle_deg == near("23.9626")
