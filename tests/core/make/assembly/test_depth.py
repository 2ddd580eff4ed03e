"""How deep bodies go into one another: areas, layers and moving bodies with a known answer."""

from __future__ import annotations

from dataclasses import replace
from math import asin, ceil, degrees, sqrt

import numpy as np
import pytest
import trimesh
from shapely import Point, Polygon, affinity, box

from shaftscore.layout import standing, turning
from shaftscore.make.assembly.body import PrinterChanges, prism, read_body
from shaftscore.make.assembly.depth import SharedLayer, deeper_than, inscribed_mm, layers_mm
from shaftscore.make.assembly.meeting import MeetingPair, Penetration
from shaftscore.make.assembly.placed import PlacedBody
from shaftscore.make.proof.reading.solid import SolidPart

SQUARE = box(0, 0, 10, 10)
LIMIT_MM = 0.02


def round_body(x: float, y: float, radius: float) -> Polygon:
    return Point(x, y).buffer(radius, quad_segs=200)


@pytest.mark.parametrize(
    ("first", "second", "depth_mm"),
    [
        (SQUARE, box(9.7, 2, 20, 8), 0.3),
        (SQUARE, box(8, 8, 20, 20), 2.0),
        (SQUARE, box(10, 0, 20, 10), 0.0),
        (round_body(0, 0, 10), round_body(14.69, 0, 5), 0.31),
        (round_body(0, 0, 30), box(29.98, -20, 60, 20), 0.02),
        (SQUARE, box(-5, 4, 15, 4.5), 0.5),
        (SQUARE, box(9.9, 0, 12, 3).union(box(7, 6, 12, 7)), 1.0),
    ],
    ids=["side", "corner", "touching", "lens", "dip", "bar across", "two pieces"],
)
def test_depth_of_what_two_areas_share(first: Polygon, second: Polygon, depth_mm: float) -> None:
    shared = first.intersection(second)
    assert inscribed_mm(shared) == pytest.approx(depth_mm, abs=0.002)
    assert deeper_than(shared, max(0.0, depth_mm - 0.003)) == (depth_mm > 0)
    assert not deeper_than(shared, depth_mm + 0.003)


def test_edges_that_coincide_within_the_chord_error_share_no_depth() -> None:
    coarse, fine = (Point(0, 0).buffer(30, quad_segs=segments) for segments in (35, 67))
    assert inscribed_mm(coarse.symmetric_difference(fine)) < 0.01


@pytest.mark.parametrize(
    ("layers", "depth_mm"),
    [
        ([(0, 1, SQUARE)], 1.0),
        ([(0, 1, SQUARE), (1, 2.5, box(5, 0, 15, 10))], 2.5),
        ([(0, 1, SQUARE), (1, 2.5, box(9, 0, 15, 10))], 1.5),
        ([(0, 1, SQUARE), (1.2, 2.5, SQUARE)], 1.3),
        ([(0, 40, SQUARE)], 10.0),
        ([(0, 1, box(0, 0, 2, 2)), (1, 2, box(5, 5, 7, 7))], 1.0),
        ([], 0.0),
    ],
)
def test_depth_of_layers(layers: list[tuple[float, float, Polygon]], depth_mm: float) -> None:
    assert layers_mm([SharedLayer(*layer) for layer in layers]) == pytest.approx(depth_mm, abs=0.002)


ARM, HALF, PIN = 50.0, 4.0, 3.0
"""A bar with a round end turns about the axis and sweeps over a round pin that stands at 90°."""


def swept(far_mm: float, pin_from_mm: float = 2.0, *, turned_over: bool = False) -> Penetration | None:
    outline = box(0, -HALF, ARM - HALF, HALF).union(Point(ARM - HALF, 0).buffer(HALF, quad_segs=40))
    bar, pin = prism(outline, 0, 5), prism(Point(0, 0).buffer(PIN, quad_segs=40), 0, 20)
    lever = PlacedBody("lever", "L", bar, 0.0, turning(1))
    if turned_over:
        lever = PlacedBody("lever", "L", bar.turned_over(), 5.0, turning(1))
    post = PlacedBody("post", "P", pin, pin_from_mm, standing(far_mm * 1j))
    there, back = (
        MeetingPair(*pair, np.arange(0.0, 360.0)).penetration(LIMIT_MM)
        for pair in ((lever, post), (post, lever))
    )
    assert (there is None) == (back is None)
    if there is not None and back is not None:
        assert there == replace(back, depth_mm=pytest.approx(back.depth_mm, abs=1e-6))
    return there


def test_a_bar_that_turns_into_a_pin_is_found_where_it_first_touches() -> None:
    found = swept(40.0)
    assert found is not None
    # its long side is LIMIT_MM in the pin where 40 mm x sin(angle) = HALF + PIN - LIMIT_MM
    assert found.first_deg == ceil(90 - degrees(asin((HALF + PIN - LIMIT_MM) / 40.0)))
    assert found.depth_mm == pytest.approx(3.0, abs=0.002)  # from z = 2, where the pin begins, to z = 5
    assert not found.always
    assert swept(40.0, turned_over=True) == found


def test_the_end_of_a_bar_is_deepest_in_a_pin_where_it_points_at_it() -> None:
    found = swept(ARM + 1)
    assert found is not None
    assert found.depth_mm == pytest.approx(PIN - 1, abs=0.002)
    assert found.worst_deg == 90


def test_a_pin_above_the_bar_is_not_in_it() -> None:
    assert swept(40.0, 5.0) is None
    assert swept(40.0, 4.99) is None
    deeper = swept(40.0, 4.9)
    assert deeper is not None
    assert deeper.depth_mm == pytest.approx(0.1, abs=0.002)


def chamfered() -> PlacedBody:
    """A block of 20 x 20 x 10 mm whose top edges are cut off at 45°, 1 mm wide."""
    corners = [(x, y, z) for z in (0, 9) for x in (-10, 10) for y in (-10, 10)]
    corners += [(x, y, 10) for x in (-9, 9) for y in (-9, 9)]
    mesh = trimesh.convex.convex_hull(np.array(corners, float))
    body = read_body(SolidPart(np.asarray(mesh.triangles), "block"), PrinterChanges())
    assert body.levels_mm == pytest.approx((0, 9, 10))
    assert body.leans == (False, True)
    return PlacedBody("block", "B", body, 0.0, standing())


@pytest.mark.parametrize("by_mm", [0.8, 0.05])
def test_a_ball_in_the_wedge_beside_a_chamfer_bounds_the_depth(by_mm: float) -> None:
    other = PlacedBody("other", "O", prism(box(10 - by_mm, -8, 30, 8), 9, 12), 0.0, standing())
    found = MeetingPair(chamfered(), other, np.zeros(1)).penetration(LIMIT_MM)
    assert found is not None
    wedge = by_mm * (2 - sqrt(2))  # twice the radius of the circle in a right triangle with legs by_mm
    assert 0.7 * wedge <= found.depth_mm <= wedge
    assert found.always


def test_a_body_that_passes_over_the_chamfer_is_free() -> None:
    other = PlacedBody("other", "O", prism(box(9.97, -8, 30, 8), 9, 12), 0.0, standing())
    assert MeetingPair(chamfered(), other, np.zeros(1)).penetration(LIMIT_MM) is None


def test_what_a_printer_changes_is_taken_back() -> None:
    """A disc with a groove: hole 0.1 mm, flanks and rim 0.05 mm off their places, then all of it larger."""
    rim, outer, inner, hole = (round_body(0, 0, radius) for radius in (34.05, 29.95, 20.05, 5.1))
    file = affinity.scale(rim.difference(outer).union(inner.difference(hole)), 1.02, 1.02, origin=(0, 0))
    found = PrinterChanges(hole_mm=0.1, contour_mm=0.05, scale=1.02).taken_back(file)
    rim, outer, inner, hole = (round_body(0, 0, radius) for radius in (34, 30, 20, 5))
    wanted = rim.difference(outer).union(inner.difference(hole))
    assert inscribed_mm(found.symmetric_difference(wanted)) < 0.005
