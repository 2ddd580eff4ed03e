"""Sizes of gears with counted teeth, by hand and by texts on gears."""

from __future__ import annotations

from math import acos, cos, degrees, pi, sin, sqrt, tan

import pytest

from shaftscore.built.counted import CountedShape, counted_shape


def _shape(counted: int = 2, core_mm: float = 5.0) -> CountedShape:
    return counted_shape((20, 20), counted, 2.0, 0.2, core_mm)


def test_step_and_rest_of_eight_teeth_of_24_on_16() -> None:
    """Driven by 180 deg within 120 deg of the driver, at rest over 240 deg: by counting teeth."""
    shape = counted_shape((24, 16), 8, 1.5, 0.2, 5.0)
    assert degrees(shape.engaged_rad) == pytest.approx(120.0)
    assert shape.arcs == 2
    assert degrees(shape.engaged_rad) * 24 / 16 == pytest.approx(180.0)


def test_the_last_tooth_leaves_where_the_path_of_contact_ends() -> None:
    """The end of contact is where the tip circle cuts the line of action (ISO 21771, from memory).

    From the pitch point it is sqrt(ra^2 - rb^2) - rb tan(a) along the line, and the tooth has turned by that
    over the base radius; on the working circle its front is half a tooth ahead of its middle.
    """
    shape = _shape()
    pinion = shape.pair.pinion
    base, angle = 20.0 * cos(pi / 9), pi / 9  # the wheels touch at their reference circles
    beyond = (sqrt(pinion.tip_mm**2 - base**2) - base * tan(angle)) / base
    half_tooth = (2 * pi * 20.0 / 20 - 0.2) / 4 / 20.0  # a quarter of pitch and backlash, over the radius
    assert shape.last_tooth_rad == pytest.approx(beyond - half_tooth)
    assert shape.pushed_tooth_rad == pytest.approx(beyond + half_tooth)


def test_horns_and_arcs_by_the_law_of_cosines() -> None:
    """Arcs of the locking plate meet its tips 25 deg from the line of centres, if there is room for horns."""
    shape = _shape()
    assert shape.centre_mm == 40.0
    corner = shape.arc_mm * complex(cos(shape.corner_rad), sin(shape.corner_rad))
    assert abs(corner - 40.0) == pytest.approx(shape.plate_tip_mm)
    width = 2 * shape.plate_tip_mm * (pi / 10 - acos((40.0 - corner.real) / shape.plate_tip_mm))
    assert width >= 1.2 - 1e-9
    assert degrees(shape.corner_rad) == pytest.approx(25.0) or width == pytest.approx(1.2)
    assert shape.core_mm >= 5.0


def test_many_arcs_have_no_room_for_horns_and_a_thick_rod_takes_the_tips() -> None:
    assert not counted_shape((20, 60), 1, 0.3, 0.1, 3.0).has_lock
    assert _shape(core_mm=16.0).core_mm == pytest.approx(16.0)
    assert _shape(core_mm=40.0 - _shape().neck_mm).has_lock is False
