"""Sizes of Geneva stages against texts on intermittent mechanisms and against the figure itself."""

from __future__ import annotations

from math import cos, degrees, pi, radians, sin, sqrt

import pytest
from mpmath import mp, mpf

from shaftscore.built.geneva import GenevaShape, lip_stress_mpa, pin_stress_mpa


def test_sizes_of_a_wheel_of_four_slots() -> None:
    """Wheel radius 25 mm: axes 35.355 mm apart, crank 25 mm, slot 14.645 mm deep.

    Source: c = R / cos(pi / n), a = c sin(pi / n), depth a + R - c, as in the geometry functions of an openly
    published model of Geneva drives (geneva-drive.scad); here with 50 digits.
    """
    mp.dps = 50
    centre = mpf(25) / mp.cos(mp.pi / 4)
    shape = GenevaShape(4, float(centre), 4.0, 0.1)
    assert shape.wheel_mm == pytest.approx(25.0, abs=1e-12)
    assert shape.crank_mm == pytest.approx(float(centre * mp.sin(mp.pi / 4)), abs=1e-12)
    assert shape.wheel_mm - shape.end_mm == pytest.approx(14.6447, abs=5e-5)


@pytest.mark.parametrize(("slots", "moving", "locked"), [(4, 90, 270), (6, 120, 240), (8, 135, 225)])
def test_angles_in_motion_and_locked(slots: int, moving: float, locked: float) -> None:
    """In motion 180 deg - 360 deg / n, locked 180 deg + 360 deg / n of a turn (texts on mechanisms)."""
    shape = GenevaShape(slots, 60.0, 4.0, 0.1)
    assert 2 * degrees(shape.half_moving_rad) == pytest.approx(moving)
    assert 360 - 2 * degrees(shape.half_moving_rad) == pytest.approx(locked)


def test_the_pin_is_as_far_from_the_wheel_as_its_slot_at_both_ends() -> None:
    """At the entry it is on the circle of the tips, amid the step at the end of the slot: by Pythagoras."""
    shape = GenevaShape(10, 72.0, 4.0, 0.1)
    entry = shape.pin_arm_mm(shape.half_moving_rad)
    assert entry == pytest.approx(sqrt(72.0**2 - shape.crank_mm**2))
    assert entry == pytest.approx(shape.wheel_mm)
    assert shape.pin_arm_mm(0.0) == pytest.approx(shape.end_mm)


def test_stresses_of_pin_and_lip() -> None:
    """A round bar in bending: 10 N at 3 mm on a pin of 4 mm are 30 / (pi 4^3 / 32) = 4.775 MPa (textbook).

    A lip of nearly even thickness is a cantilever 6 F x / (b h^2): with a huge arc it is so at its root.
    """
    assert pin_stress_mpa(10.0, 3.0, 4.0) == pytest.approx(30.0 / (pi * 64 / 32))
    shape = GenevaShape(10, 72.0, 4.0, 0.1)
    at = [2.0 + step * 0.01 for step in range(1, int(100 * (shape.wheel_mm - shape.end_mm - 2.0)))]
    direct = max(6 * 10.0 * (x - 2.0) / (5.0 * shape.lip_thick_mm(x) ** 2) for x in at)
    assert lip_stress_mpa(shape, 10.0, 5.0) == pytest.approx(direct, rel=0.01)


def test_the_corner_of_an_arc_is_on_the_tips_and_on_the_arc() -> None:
    shape = GenevaShape(6, 60.0, 4.0, 0.1)
    at = shape.centre_mm - shape.arc_mm * complex(cos(shape.corner_rad), sin(shape.corner_rad))
    assert abs(at) == pytest.approx(shape.wheel_mm)
    assert abs(at - shape.centre_mm) == pytest.approx(shape.arc_mm)
    assert shape.locked_play_deg == pytest.approx(degrees(0.1 / (60.0 * sin(radians(59.6415)))), rel=1e-4)
