from __future__ import annotations

import pytest

from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.frame import Frame, Region
from shaftscore.make.drawing.timing.hits import BlockHit, Grip, hit_block
from shaftscore.make.drawing.timing.rows import Shown, lay_out
from shaftscore.make.drawing.timing.shapes import shapes_of
from shaftscore.make.drawing.timing.strips import Strip
from shaftscore.model import Lane
from tests.app.timing.machines import block, gate, machine

AXIS = Axis.whole(0.0, 950.0)
STRIP = Strip(0.0, 44.0, 10.0)
LANE = Lane(
    id="x",
    levels={"low": 0.0, "high": 10.0},
    blocks=(
        block("high", 60, 72),
        block("high", 100, 108),
        block("low", 180, 180),
        block("low", 340, 400),
    ),
)
SHAPES = shapes_of(LANE)


def hit(x: float, y: float) -> tuple[int, Grip] | None:
    found = hit_block(AXIS, STRIP, SHAPES, x, y)
    return (found.shape.index, found.grip) if found else None


@pytest.mark.parametrize(
    ("x", "grip"),
    [
        (171.9, None),
        (172.0, Grip.START),
        (181.0, Grip.START),
        (181.1, Grip.WHOLE),
        (190.0, Grip.WHOLE),
        (198.9, Grip.WHOLE),
        (199.0, Grip.END),
        (208.0, Grip.END),
        (208.1, None),
    ],
)
def test_edge_zones_reach_6_px_in_and_3_px_out(x: float, grip: Grip | None) -> None:
    assert hit(x, 12.0) == (None if grip is None else (0, grip))


@pytest.mark.parametrize(
    ("x", "grip"),
    [
        (268.9, None),
        (269.0, Grip.START),
        (274.9, Grip.START),
        (275.0, Grip.WHOLE),
        (295.0, Grip.WHOLE),
        (295.1, Grip.END),
        (301.0, Grip.END),
        (301.1, None),
    ],
)
def test_a_narrow_block_has_edge_zones_outside_only(x: float, grip: Grip | None) -> None:
    assert hit(x, 12.0) == (None if grip is None else (1, grip))


@pytest.mark.parametrize(
    ("x", "found"), [(466.9, False), (467.0, True), (475.0, True), (483.0, True), (483.1, False)]
)
def test_a_momentary_stop_is_hit_within_16_px(x: float, found: bool) -> None:
    assert hit(x, 30.0) == ((2, Grip.WHOLE) if found else None)


def test_the_height_decides_between_levels() -> None:
    assert hit(190.0, 2.9) is None
    assert hit(190.0, 3.0) == (0, Grip.WHOLE)
    assert hit(190.0, 23.1) is None


def test_a_block_through_360_is_hit_in_both_parts() -> None:
    first = hit_block(AXIS, STRIP, SHAPES, 60.0, 30.0)
    second = hit_block(AXIS, STRIP, SHAPES, 920.0, 30.0)
    assert isinstance(first, BlockHit)
    assert isinstance(second, BlockHit)
    assert (first.shape.index, first.turn_deg, first.grip) == (3, -360.0, Grip.WHOLE)
    assert (second.shape.index, second.turn_deg, second.grip) == (3, 0.0, Grip.WHOLE)
    assert hit(124.0, 30.0) == (3, Grip.END)
    assert hit(876.0, 30.0) == (3, Grip.START)


def test_an_edge_wins_over_the_body_of_an_overlapping_block() -> None:
    lane = Lane(id="x", levels={"a": 0.0}, blocks=(block("a", 60, 100), block("a", 90, 140)))
    found = hit_block(AXIS, Strip(0.0, 44.0, 0.0), shapes_of(lane), AXIS.x(90.0), 30.0)
    assert found is not None
    assert (found.shape.index, found.grip) == (1, Grip.START)


@pytest.mark.parametrize(
    ("x", "y", "region"),
    [
        (10, 10, Region.CORNER),
        (500, 10, Region.DEGREES),
        (500, 30, Region.STEPS),
        (500, 50, Region.SECONDS),
        (500, 70, Region.RAIL),
        (1200, 70, Region.CURSOR),
        (10, 80, Region.HEADERS),
        (500, 80, Region.STRIPS),
        (1200, 80, Region.READOUTS),
        (500, 595, Region.OVERVIEW),
    ],
)
def test_regions(x: float, y: float, region: Region) -> None:
    left, right = Frame.widths(1258.0, 1.0)
    rows = lay_out(machine(gate("A", 10), gate("B", 40)), Shown())
    frame = Frame(1258.0, 600.0, Axis.whole(left, 1258.0 - left - right), rows, 0.0, 1.0)
    assert frame.region(x, y) is region
    assert (frame.axis.left, frame.axis.right) == (176.0, 1166.0)


def test_a_narrow_diagram_has_narrow_headers_and_readouts() -> None:
    assert Frame.widths(1258.0, 1.0) == (176.0, 92.0)
    assert Frame.widths(974.0, 1.0) == (148.0, 78.0)
    assert Frame.widths(1258.0, 2.0) == (296.0, 156.0)


def test_scrolled_lanes_are_found_where_they_are_seen() -> None:
    rows = lay_out(machine(*(gate(f"L{index}", 20.0 * index) for index in range(10))), Shown())
    frame = Frame(1258.0, 300.0, Axis.whole(176.0, 990.0), rows, 100.0, 1.0)
    row = frame.row_at(76.0)
    assert row is not None
    assert (row.lane_id, frame.top_of(row)) == ("l1", 40.0)
    assert frame.row_at(75.0) is None
    assert frame.row_at(284.0) is None
    assert frame.greatest_scroll == 20.0 + 440.0 - 208.0
    border = frame.border_at(84.0)
    assert border is row
