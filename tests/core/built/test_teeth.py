"""Outlines of wheels against a simulated rack and by rolling two of them, and pins laid in their spaces."""

from __future__ import annotations

from dataclasses import replace
from math import cos, degrees, pi, radians, tan

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Point, Polygon

from shaftscore.built.gears import SpurPair, SpurWheel, centre_for, share_shift, shift_for
from shaftscore.built.teeth import meshing_pair, wheel_outline

CHORD_MM = 0.001


def pair_of(
    module: float, teeth: tuple[int, int], backlash: float, centre: float | None, internal: bool
) -> SpurPair:
    own, mate = SpurWheel(module, teeth[0]), SpurWheel(module, teeth[1], internal=internal)
    total = 0.0 if centre is None else shift_for(own, mate, centre, backlash)
    if centre is None and not internal:
        total = max(0.0, 1 - teeth[0] * np.sin(radians(20)) ** 2 / 2)
    shifts = share_shift(*teeth, total, internal=internal)
    own, mate = (replace(one, shift=shift) for one, shift in zip((own, mate), shifts, strict=True))
    return meshing_pair(own, mate, centre_for(own, mate, backlash) if centre is None else centre)


def rack_cut(wheel: SpurWheel, reach: float) -> Polygon:
    """Cut a blank with the basic rack of ISO 53, rolled past it in small steps; its tip is rounded."""
    module = wheel.module_mm
    below, above, half = 1.25 * module, 2.0 * module, pi * module / 4
    slope, rounding = tan(radians(20)), 0.38 * module
    sharp = Polygon(
        [
            (-half - above * slope, above),
            (-half + below * slope, -below),
            (half - below * slope, -below),
            (half + above * slope, above),
        ]
    )
    tooth = sharp.buffer(-rounding).buffer(rounding, quad_segs=64)  # rounded at its tip (its top is far away)
    blank = Point(0, 0).buffer(wheel.tip_mm, quad_segs=512)
    for step in np.linspace(-reach, reach, 241):
        placed = affinity.translate(tooth, step, wheel.reference_mm + wheel.shift * module)
        blank = blank.difference(affinity.rotate(placed, degrees(step / wheel.reference_mm), origin=(0, 0)))
    return blank


@pytest.mark.parametrize(("teeth", "shift"), [(8, 0.0), (10, 0.415111), (20, 0.0), (24, -0.4), (14, 0.9)])
def test_a_space_is_what_the_rack_leaves(teeth: int, shift: float) -> None:
    """Also where the rack cuts under the tooth (8 teeth), and where it is shifted far out."""
    wheel = SpurWheel(2.0, teeth, shift, tip_cut=0.3)
    cut = rack_cut(wheel, 9.0)
    space = pi / teeth  # the cut space is on +y; ours is half a pitch from +x
    made = affinity.rotate(Polygon(wheel_outline(wheel, CHORD_MM)), 90 - degrees(space), origin=(0, 0))
    sector = Polygon([(0, 0), *[(60 * np.cos(pi / 2 + a), 60 * np.sin(pi / 2 + a)) for a in (-space, space)]])
    ours, theirs = made.intersection(sector), cut.intersection(sector)
    assert ours.difference(theirs.buffer(0.004)).is_empty
    assert theirs.difference(ours.buffer(0.004)).is_empty


MESHES = [
    (2.0, (18, 36), 0.1, None, False),
    (2.0, (8, 30), 0.12, None, False),
    (3.0, (12, 24), 0.1, 56.5, False),
    (1.0, (20, 40), 0.15, 31.0, False),
    (2.0, (17, 60), 0.1, None, True),
    (1.5, (12, 40), 0.2, None, True),
    (2.0, (15, 50), 0.1, 36.0, True),
    (1.0, (8, 30), 0.1, None, True),
    (2.0, (10, 40), 0.1, None, True),
]


@pytest.mark.parametrize(("module", "teeth", "backlash", "centre", "internal"), MESHES)
def test_two_wheels_roll_on_one_another(
    module: float, teeth: tuple[int, int], backlash: float, centre: float | None, internal: bool
) -> None:
    """Over one pitch the pinion can turn by the backlash, and not by 0.02 mm more; nothing overlaps."""
    pair = pair_of(module, teeth, backlash, centre, internal)
    own, mate = (
        Polygon(wheel_outline(pair.pinion, CHORD_MM)),
        Polygon(wheel_outline(pair.wheel, CHORD_MM, pair.pinion)),
    )
    if internal:
        mate = Point(0, 0).buffer(pair.wheel.reference_mm + 10 * module).difference(mate)
        mate = affinity.translate(mate, -pair.centre_mm, 0)
        hub, way = (-pair.centre_mm, 0), 1
    else:
        mate = affinity.translate(
            affinity.rotate(mate, 180 + 180 / teeth[1], origin=(0, 0)), pair.centre_mm, 0
        )
        hub, way = (pair.centre_mm, 0), -1
    free = degrees(backlash / 2 / pair.working_radii_mm[0])
    more = degrees((backlash / 2 + 0.01) / pair.working_radii_mm[0])
    for share in (0.0, 0.23, 0.5, 0.77, 1.0):
        turn = 360 / teeth[0] * share
        placed = affinity.rotate(mate, way * turn * teeth[0] / teeth[1], origin=hub)
        assert pair.contact_ratio > 1.05
        for side in (1, -1):
            clear = affinity.rotate(own, turn + side * free, origin=(0, 0))
            assert clear.intersection(placed.buffer(-0.003)).area == 0
            assert affinity.rotate(own, turn + side * more, origin=(0, 0)).intersection(placed).area > 0


@pytest.mark.parametrize(
    ("wheel", "pin"),
    [
        (SpurWheel(2.0, 20, 0.2), 3.6),
        (SpurWheel(1.5, 17, 0.1), 2.6),
        (SpurWheel(2.0, 40, 0.0, internal=True), 3.4),
        (SpurWheel(2.0, 41, 0.2, internal=True), 3.6),
    ],
)
def test_pins_touch_both_flanks(wheel: SpurWheel, pin: float) -> None:
    """A pin laid in a space at the radius that the size over pins says touches the outline and no more."""
    outline = Polygon(wheel_outline(wheel, CHORD_MM, SpurWheel(2.0, 17)))
    across = 1.0 if wheel.teeth % 2 == 0 else cos(pi / 2 / wheel.teeth)
    middle = (wheel.over_pins_mm(pin) + (pin if wheel.internal else -pin)) / 2 / across
    angle = 0.0 if wheel.internal else pi / wheel.teeth
    at = Point(middle * np.cos(angle), middle * np.sin(angle))
    assert outline.boundary.distance(at) == pytest.approx(pin / 2, abs=0.002)


def test_wheels_that_cannot_mesh_are_refused() -> None:
    with pytest.raises(ValueError, match="base circles overlap"):
        SpurPair(SpurWheel(2.0, 20), SpurWheel(2.0, 20), 37.0)
    with pytest.raises(ValueError, match="the difference must be larger"):
        pair_of(2.0, (30, 34), 0.1, None, True)
    with pytest.raises(ValueError, match="no room for its pinion"):
        SpurPair(SpurWheel(2.0, 20), SpurWheel(2.0, 20, internal=True), 5.0)
