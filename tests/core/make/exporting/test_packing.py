"""Plates packed by true outlines: fewer where boxes waste room, gaps kept, all on the bed, by shapely."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely import Point, Polygon, affinity, box
from shapely.ops import unary_union

from shaftscore.make.files.packing import packed
from shaftscore.make.files.plates import GAP_MM, Spot, lay_out

BED = (220.0, 220.0)


def sizes(outlines: list[Polygon]) -> list[tuple[float, float]]:
    return [(one.bounds[2] - one.bounds[0], one.bounds[3] - one.bounds[1]) for one in outlines]


def placed(outline: Polygon, spot: Spot) -> Polygon:
    turned = affinity.rotate(outline, 90, origin=(0, 0)) if spot.turned else outline
    return affinity.translate(turned, spot.x_mm - turned.bounds[0], spot.y_mm - turned.bounds[1])


DISCS = [Point(10, 20).buffer(49.0) for _ in range(4)] + [box(-12, -12, 12, 12)]
"""Four discs of 98 mm leave room for a square of 24 mm between them, of which boxes know nothing."""

HOOKS = [unary_union([box(0, 0, 150, 30), box(0, 0, 30, 150)]) for _ in range(4)]
"""Angles that lie within one another: of boxes there is one on a plate."""


@pytest.mark.parametrize(("outlines", "most"), [(DISCS, 1), (HOOKS, 2)])
def test_what_boxes_need_more_plates_for_is_packed_within_the_gaps(
    outlines: list[Polygon], most: int
) -> None:
    boxes = 1 + max(spot.plate for spot in lay_out(sizes(outlines), BED))
    spots = packed(outlines, BED, boxes)
    assert spots is not None
    assert 1 + max(spot.plate for spot in spots) <= most < boxes
    lying = [(spot.plate, placed(one, spot)) for one, spot in zip(outlines, spots, strict=True)]
    bed = box(GAP_MM, GAP_MM, BED[0] - GAP_MM, BED[1] - GAP_MM).buffer(1e-6)
    assert all(bed.covers(one) for _, one in lying)
    for (plate, one), (other_plate, other) in combinations(lying, 2):
        assert plate != other_plate or one.distance(other) >= GAP_MM - 1e-2


def test_where_boxes_do_as_well_nothing_is_packed() -> None:
    assert packed(DISCS[:4], BED, 1) is None


def test_a_part_as_large_as_the_bed_has_a_plate_of_its_own() -> None:
    spots = packed([*DISCS, box(0, 0, 214, 100)], BED, 3)
    assert spots is not None
    assert [spot.plate for spot in spots] == [1, 1, 1, 1, 1, 0]
    assert (spots[-1].x_mm, spots[-1].y_mm) == (3.0, 60.0)
