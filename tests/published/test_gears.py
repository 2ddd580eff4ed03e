"""Spur, bevel and worm gears against worked examples and tables, each with its source.

Khurmi: R. S. Khurmi and J. K. Gupta, Theory of Machines, 14th ed. 2009. Jindal: U. C. Jindal, Machine Design,
2010. Sarkar: B. K. Sarkar, Theory of Machines.
"""

from __future__ import annotations

from dataclasses import replace
from math import degrees, inf, pi, radians, sin

import pytest

from shaftscore.built.efficiency import back_driving_efficiency, worm_efficiency
from shaftscore.built.gears import (
    SpurPair,
    SpurWheel,
    angle_of_involute,
    bevel_figures,
    centre_for,
    involute,
    least_shift,
    least_teeth,
    shift_for,
    with_tips,
    worm_figures,
)
from shaftscore.built.lewis import form_factor, tangential_force_n, tooth_stress_mpa


def standard(module: float, pinion: int, wheel: int, addendum_mm: float | None = None) -> SpurPair:
    cut = 0.0 if addendum_mm is None else 1 - addendum_mm / module
    own, mate = (SpurWheel(module, teeth, tip_cut=cut) for teeth in (pinion, wheel))
    return SpurPair(own, mate, module * (pinion + wheel) / 2)


def test_path_and_arc_of_contact() -> None:
    """Khurmi, example 12.3, p. 398: T 80, t 30, m 12, addendum 10: path 52.3 mm, arc 55.61 mm, ratio 1.5."""
    pair = standard(12, 30, 80, 10.0)
    start, end = pair.path_mm
    assert end - start == pytest.approx(52.3, abs=0.05)
    assert radians(pair.sliding_turn_deg()) * 180 == pytest.approx(55.61, abs=0.01)
    assert pair.contact_ratio == pytest.approx(1.47516, abs=1e-5)  # printed 1.5


def test_turn_of_the_pinion_and_sliding() -> None:
    """Khurmi, example 12.4, p. 399: t 20, T 40, m 5, 1.2 m/s: 29.43°, sliding up to 455.3 mm/s."""
    pair = standard(5, 20, 40)
    assert pair.sliding_turn_deg() == pytest.approx(29.43, abs=0.005)
    start, _ = pair.path_mm
    pitch_point = pair.pinion.reference_mm * sin(radians(20))
    assert (pitch_point - start) * 1200 * (1 / 50 + 1 / 100) == pytest.approx(455.3, abs=0.05)


def test_turns_while_two_teeth_touch() -> None:
    """Khurmi, example 12.6, p. 401: t 17, T 49, m 6: 34.6° and 12°; the ratio 1.63297 is computed."""
    pair = standard(6, 17, 49)
    assert pair.sliding_turn_deg() == pytest.approx(34.6, abs=0.05)
    assert pair.sliding_turn_deg() * 17 / 49 == pytest.approx(12.0, abs=0.05)
    assert pair.contact_ratio == pytest.approx(1.63297, abs=1e-5)


def test_least_teeth_without_interference() -> None:
    """T. Bevan, The Theory of Machines, ch. 10, example 4, p. 334: rack 18, equal pinion 13, 3:1 15."""
    assert least_teeth(inf) == pytest.approx(17.0973, abs=1e-4)  # printed 18
    assert 12 < least_teeth(13) <= 13
    assert least_teeth(12) > 12
    assert least_teeth(3 * 14.9809) == pytest.approx(14.9809, abs=1e-3)  # printed 15


@pytest.mark.parametrize(
    ("teeth", "shift"), [(10, 0.415111), (12, 0.298133), (14, 0.181156), (17, 0.00568888)]
)
def test_shift_against_undercut(teeth: int, shift: float) -> None:
    """Computed by a second route, not printed anywhere: x = 1 - z sin² 20° / 2."""
    assert least_shift(teeth) == pytest.approx(shift, abs=1e-6)


def test_addendum_for_an_arc_of_contact() -> None:
    """Sarkar, problem 4.2, p. 133: two of 40 teeth, m 6, arc of 1.75 pitches: addendum 6.1 mm."""
    assert standard(6, 40, 40, 6.14443).contact_ratio * pi * 6 == pytest.approx(1.75 * pi * 6, rel=1e-5)


def test_pair_with_profile_shift() -> None:
    """bolsover.com, profile-shifted external spur gears: m 3, z 12 and 24, x 0.6 and 0.36, all figures."""
    own, mate = SpurWheel(3, 12, 0.6), SpurWheel(3, 24, 0.36)
    assert centre_for(own, mate) == pytest.approx(56.5, abs=5e-4)
    pair = with_tips(own, mate, 56.5)
    assert involute(radians(20)) == pytest.approx(0.014904, abs=5e-7)
    assert involute(pair.working_angle) == pytest.approx(0.034317, abs=5e-7)
    assert degrees(pair.working_angle) == pytest.approx(26.0888, abs=5e-5)
    assert degrees(angle_of_involute(0.034317)) == pytest.approx(26.0888, abs=2e-4)
    assert (pair.centre_mm - pair.reference_centre_mm) / 3 == pytest.approx(0.83333, abs=5e-6)
    figures = [
        2 * radius for one in (pair.pinion, pair.wheel) for radius in (one.base_mm, one.tip_mm, one.root_mm)
    ]
    assert figures == pytest.approx([33.8289, 44.840, 32.100, 67.6579, 79.400, 66.660], abs=5e-4)
    assert 2 * pair.working_radii_mm[0] == pytest.approx(37.667, abs=5e-4)
    assert [one.tip_mm - one.reference_mm for one in (pair.pinion, pair.wheel)] == pytest.approx(
        [4.420, 3.700], abs=5e-4
    )
    assert pair.contact_ratio == pytest.approx(1.202, abs=5e-4)
    assert shift_for(own, mate, 56.5) == pytest.approx(0.96, abs=1e-4)  # printed centres are rounded


def test_span_of_a_shifted_wheel() -> None:
    """A handbook of stock gears, table of spans (from memory): m 3, z 24, x 0.4, over 4 teeth: 32.8266 mm."""
    assert SpurWheel(3, 24, 0.4).span_mm(4) == pytest.approx(32.8266, abs=5e-5)
    assert SpurWheel(3, 24, 0.4).span_teeth() == 4


@pytest.mark.parametrize(("teeth", "over", "span"), [(12, 2, 4.59626), (20, 3, 7.66044), (40, 5, 13.8448)])
def test_span_of_plain_wheels(teeth: int, over: int, span: float) -> None:
    """Computed by a second route, not printed anywhere."""
    assert SpurWheel(1, teeth).span_mm(over) == pytest.approx(span, abs=5e-5)
    assert SpurWheel(1, teeth).span_teeth() == over


def test_backlash_of_opened_centres() -> None:
    """Computed by a second route, not printed: m 2, z 18 and 36, 0.2 mm apart: 0.148144 mm, 0.469817°."""
    pair = replace(standard(2, 18, 36), centre_mm=54.2)
    assert pair.backlash_mm == pytest.approx(0.148144, abs=5e-7)
    assert pair.backlash_pinion_deg == pytest.approx(0.469817, abs=5e-7)
    assert centre_for(pair.pinion, pair.wheel, 0.148144) == pytest.approx(54.2, abs=1e-6)


def test_bevel_wheels() -> None:
    """Jindal, example 27-3, p. 712: m 6, 30 and 45 teeth at 90°: 33.7, 56.3, 162.25, 35.808, 31.04."""
    own, mate = bevel_figures(6, 30, 45), bevel_figures(6, 45, 30)
    assert own.cone_deg == pytest.approx(33.7, abs=0.05)
    assert mate.cone_deg == pytest.approx(56.3, abs=0.05)
    assert own.distance_mm == pytest.approx(162.25, abs=0.005)
    assert own.face_cone_deg == pytest.approx(35.808, abs=5e-4)
    assert own.root_cone_deg == pytest.approx(31.04, abs=5e-3)
    assert sum(bevel_figures(2, a, b, 70.0).cone_deg for a, b in ((15, 40), (40, 15))) == pytest.approx(70.0)


def test_worm_gear_dimensions() -> None:
    """T. H. Wentzell, Machine Design, 2007, examples 13.4 and 13.6, p. 288: lead 4.76°, centres 6 in."""
    found = worm_figures(1 / 6, 1, 60, 4.76364)
    assert found.worm_reference_mm == pytest.approx(1.0, abs=1e-5)
    assert found.centre_mm == pytest.approx(6.0, abs=1e-5)


def test_worm_losses() -> None:
    """Jindal, example 28-4, p. 728: z 2, q 8, μ 0.032: 1.2 kW gives 1.047 kW; 28-5: q 10, μ 0.028: 0.865."""
    first, second = (
        worm_efficiency(degrees(angle), friction)
        for angle, friction in ((0.244979, 0.032), (0.197396, 0.028))
    )
    assert first * 1.2 == pytest.approx(1.047, abs=5e-4)
    assert second == pytest.approx(0.865, abs=5e-4)


WORM_TABLE = ((1, 25.2), (2.5, 45.7), (5, 62.6), (7.5, 71.3), (10, 76.6), (15, 82.7), (20, 85.9), (30, 89.1))


@pytest.mark.parametrize(("lead", "percent"), WORM_TABLE)
def test_worm_efficiency_by_lead(lead: float, percent: float) -> None:
    """J. E. Shigley, Mechanical Engineering Design, table of worm sets, f 0.05, 14.5° (from memory)."""
    assert 100 * worm_efficiency(lead, 0.05, 14.5) == pytest.approx(percent, abs=0.05)


def test_self_locking_of_a_square_thread() -> None:
    """tan λ / tan(λ + ρ) of a thread without pressure angle; it locks at λ <= ρ = atan μ (any textbook)."""
    found = [100 * worm_efficiency(lead, mu, 0.0) for mu in (0.1, 0.3) for lead in (5, 10, 20)]
    assert found == pytest.approx([46.2552, 62.6858, 75.5917, 21.9858, 35.0599, 48.8317], abs=5e-5)
    assert back_driving_efficiency(5.71, 0.1, 0.0) == 0.0
    assert back_driving_efficiency(5.72, 0.1, 0.0) > 0


LEWIS_TABLE = ((12, 0.245), (15, 0.289), (18, 0.308), (20, 0.320), (30, 0.358), (50, 0.408), (100, 0.446))


@pytest.mark.parametrize(("teeth", "factor"), LEWIS_TABLE)
def test_lewis_factor(teeth: int, factor: float) -> None:
    """Table of Y, 20° full depth, as two programs print it (as in texts of machine design)."""
    assert form_factor(teeth) == pytest.approx(factor)


def test_lewis_factor_between_and_beyond_the_rows() -> None:
    """Rows of the same table as J. E. Shigley prints it, from memory: 10, 24, 38, 75, 300 teeth, rack."""
    rows = {10: 0.201, 24: 0.337, 38: 0.384, 75: 0.435, 300: 0.472}
    for teeth, factor in rows.items():
        assert form_factor(teeth) == pytest.approx(factor, abs=0.004)
    assert form_factor(80, internal=True) == pytest.approx(0.484, abs=1e-9)


def test_beam_strength() -> None:
    """Jindal, example 25-3, p. 670: m 5, b 60, 150 MPa, 30 teeth carry 16110 N."""
    assert tooth_stress_mpa(16110, 60, 5, form_factor(30)) == pytest.approx(150.0)


def test_printed_tooth() -> None:
    """Computed by a second route, not printed: m 2, b 8, z 12, 0.5 N·m: 41.6667 N, 10.6293 MPa."""
    force = tangential_force_n(0.5, 12)
    assert force == pytest.approx(41.6667, abs=5e-5)
    assert tooth_stress_mpa(force, 8, 2, form_factor(12)) == pytest.approx(10.6293, abs=5e-5)


def test_basic_rack() -> None:
    """Jindal, example 25-1, p. 669: m 5, z 25 and 60: 125, 300, a 212.5, hf 6.25, c 1.25."""
    pair = standard(5, 25, 60)
    assert (2 * pair.pinion.reference_mm, 2 * pair.wheel.reference_mm) == (125, 300)
    assert pair.centre_mm == 212.5
    assert pair.pinion.reference_mm - pair.pinion.root_mm == pytest.approx(6.25)
    assert pair.centre_mm - pair.wheel.tip_mm - pair.pinion.root_mm == pytest.approx(1.25)
