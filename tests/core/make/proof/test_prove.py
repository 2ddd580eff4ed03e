"""The comparison: it finds what was planted, and its limits are those of the tolerances."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from shaftscore.base.angles import Arcs
from shaftscore.base.tolerance import CHORD_MM
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.proof import DiscProof, ProofTask, ReadRim, prove
from shaftscore.model import SwingingRoller, TranslatingRoller
from shaftscore.solution import solve
from tests.core.make.exporting.machines import FLAT, one_sided

ARM = SwingingRoller(
    kind="swinging-roller", roller_radius_mm=6.0, arm_mm=60.0, pivot_distance_mm=70.0, pivot_side="clockwise"
)
GROOVE = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
FOLLOWERS = {"roller": None, "flat": FLAT, "arm": ARM, "groove": GROOVE}


def profile_of(name: str, turn: str = "clockwise") -> Profile:
    base = 45.0 if name == "flat" else 26.0
    profile = solve(one_sided(turn, follower=FOLLOWERS[name], base_radius_mm=base)).lanes["flap"].profile  # type: ignore[arg-type]
    assert profile is not None
    return profile


def rim_of(profile: Profile, factor: complex = 1.0, chord_mm: float = CHORD_MM) -> ReadRim:
    rings = [profile.outline(chord_mm, flank) @ [1, 1j] * factor for flank in profile.flanks]
    rings = [ring if number == 0 else ring[::-1] for number, ring in enumerate(rings)]
    return ReadRim(np.concatenate(rings), np.concatenate([np.roll(ring, -1) for ring in rings]), None)


def found(profile: Profile, rim: ReadRim, spans: tuple[Arcs, ...] = ()) -> DiscProof:
    return prove("file", ProofTask("A1", profile, spans), rim)


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("name", FOLLOWERS)
def test_every_follower_runs_on_its_own_profile(name: str, turn: str) -> None:
    profile = profile_of(name, turn)
    spans = (Arcs.span(110.0, 180.0), Arcs.full())
    proof = found(profile, rim_of(profile), spans)
    assert proof.faults == ()
    assert abs(proof.lift_error_mm) < 2 * CHORD_MM
    assert proof.state_ends == 2


@pytest.mark.parametrize("name", FOLLOWERS)
def test_a_disc_that_is_turned_on_its_shaft_does_not_hold(name: str) -> None:
    profile = profile_of(name)
    proof = found(profile, rim_of(profile, np.exp(1j * np.radians(0.3))), (Arcs.span(110.0, 180.0),))
    assert len(proof.faults) == 2
    assert abs(proof.state_shift_deg) == pytest.approx(0.3, abs=0.02)


@pytest.mark.parametrize("name", ["roller", "flat", "arm"])
def test_a_disc_that_is_too_large_shows_by_how_much(name: str) -> None:
    profile = profile_of(name)
    largest = float(np.abs(profile.outline() @ [1, 1j]).max())
    proof = found(profile, rim_of(profile, 1 + 0.03 / largest))
    assert 0.02 < proof.lift_error_mm < 0.05
    assert "off the program" in proof.faults[0]


def test_a_coarse_chord_is_caught() -> None:
    profile = profile_of("roller")
    assert found(profile, rim_of(profile, chord_mm=0.05)).faults


def test_a_rim_with_a_hole_in_it_does_not_hold() -> None:
    profile = profile_of("roller")
    rim = rim_of(profile)
    away = np.abs(np.degrees(np.angle(rim.start))) > 6
    proof = found(profile, ReadRim(rim.start[away], rim.end[away], None))
    assert np.isnan(proof.lift_error_mm) or abs(proof.lift_error_mm) > 0.02
    assert proof.faults


def test_a_printers_correction_is_taken_into_account() -> None:
    profile = profile_of("roller")
    smaller = profile.at(np.arange(0.0, 360.0, 0.1)).offset(-5.0 - 0.15)[:: -profile.direction]
    rim = ReadRim(smaller, np.roll(smaller, -1), None)
    assert prove("file", ProofTask("A1", profile, (), contour_mm=-0.15), rim).faults == ()
    assert prove("file", ProofTask("A1", profile, ()), rim).lift_error_mm == pytest.approx(-0.15, abs=0.03)


def test_the_sentences_name_file_place_value_and_limit() -> None:
    proof = DiscProof("A1.stl", "A1", 3600, 0.031, 12.3, 2, -0.21, 88.0, 0.05)
    assert proof.faults == (
        "A1.stl: its lift is 0.031 mm off the program at 12.3°, the limit is 0.02 mm",
        "A1.stl: a state that ends at 88.0° is shifted by −0.210°, the limit is 0.050°",
    )
    assert replace(proof, lift_error_mm=0.02, state_shift_deg=0.05).faults == ()
    assert (
        replace(proof, lift_error_mm=float("nan")).faults[0]
        == "A1.stl: the follower does not run on its rim at 12.3°"
    )


def test_where_the_program_stands_still_the_height_decides() -> None:
    """A span whose end lies in the rest has no slope: 0.005 mm of height is the limit there."""
    profile = profile_of("roller")
    rim = rim_of(profile)
    assert found(profile, rim, (Arcs.span(50.0, 10.0),)).faults == ()
    larger = rim_of(profile, 1 + 0.008 / 26.0)
    proof = found(profile, larger, (Arcs.span(50.0, 10.0),))
    assert len(proof.faults) == 1
    assert "a state that ends at" in proof.faults[0]
