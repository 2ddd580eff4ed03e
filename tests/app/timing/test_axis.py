from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs, ahead, wrap
from shaftscore.make.drawing.timing.axis import ZOOM_LIMITS, Axis, edge_speed

WHOLE = Axis.whole(176.0, 950.0)

axes = st.builds(
    Axis,
    left=st.floats(0, 300),
    width=st.floats(200, 2000),
    start_deg=st.floats(-720, 720),
    px_per_deg=st.floats(0.5, 80),
)
angles = st.floats(0, 359.99)


def test_the_whole_turn_is_seen_from_minus_10_to_370() -> None:
    assert WHOLE.px_per_deg == 2.5
    assert (WHOLE.deg(176.0), WHOLE.deg(1126.0)) == (-10.0, 370.0)
    assert WHOLE.home == (201.0, 1101.0)
    assert WHOLE.is_whole


@pytest.mark.parametrize(
    ("deg", "places"),
    [
        (100.0, [451.0]),
        (0.0, [201.0, 1101.0]),
        (5.0, [213.5, 1113.5]),
        (355.0, [188.5, 1088.5]),
        (11.0, [228.5]),
        (349.0, [1073.5]),
        (350.0, [176.0, 1076.0]),
        (10.0, [226.0, 1126.0]),
    ],
)
def test_angles_near_the_seam_are_seen_twice(deg: float, places: list[float]) -> None:
    assert list(WHOLE.places(deg)) == pytest.approx(places)


@pytest.mark.parametrize(
    ("start", "length", "seen"),
    [
        (60.0, 12.0, [(351.0, 381.0, False)]),
        (350.0, 20.0, [(176.0, 226.0, False), (1076.0, 1126.0, False)]),
        (330.0, 60.0, [(176.0, 276.0, True), (1026.0, 1126.0, True)]),
        (300.0, 10.0, [(951.0, 976.0, False)]),
        (0.0, 360.0, [(176.0, 201.0, True), (201.0, 1101.0, False), (1101.0, 1126.0, True)]),
    ],
)
def test_a_stretch_is_seen_in_pieces(
    start: float, length: float, seen: list[tuple[float, float, bool]]
) -> None:
    pieces = list(WHOLE.pieces(start, length))
    assert [(piece.left, piece.right, piece.is_cut) for piece in pieces] == [
        (pytest.approx(left), pytest.approx(right), cut) for left, right, cut in seen
    ]


@given(axes, angles, st.floats(0.1, 360), st.integers(-3, 3))
def test_whole_turns_do_not_change_what_is_seen(axis: Axis, start: float, length: float, turns: int) -> None:
    turned = Axis(axis.left, axis.width, axis.start_deg + 360.0 * turns, axis.px_per_deg)
    here = [(piece.left, piece.right) for piece in axis.pieces(start, length) if piece.width > 1e-6]
    there = [(piece.left, piece.right) for piece in turned.pieces(start, length) if piece.width > 1e-6]
    assert there == [(pytest.approx(left, abs=1e-6), pytest.approx(right, abs=1e-6)) for left, right in here]


@given(axes, angles, st.floats(0.1, 360), angles)
def test_turning_everything_turns_the_picture(axis: Axis, start: float, length: float, by: float) -> None:
    turned = Axis(axis.left, axis.width, axis.start_deg + by, axis.px_per_deg)
    here = sum(piece.width for piece in axis.pieces(start, length))
    there = sum(piece.width for piece in turned.pieces(wrap(start + by), length))
    assert there == pytest.approx(here, abs=1e-5)


@given(axes, angles, st.floats(0.1, 359.0), st.floats(0, 1))
def test_what_a_piece_shows_lies_in_its_stretch(
    axis: Axis, start: float, length: float, share: float
) -> None:
    for piece in axis.pieces(start, length):
        deg = wrap(axis.deg(piece.left + share * piece.width))
        assert ahead(start, deg) <= length + 1e-6 or ahead(deg, start) < 1e-6
        assert axis.deg(piece.begin) == pytest.approx(start + piece.turn_deg, abs=1e-6)


@given(axes, st.floats(0, 1), st.floats(0.1, 10))
def test_zoom_keeps_the_angle_under_the_pointer_and_its_bounds(
    axis: Axis, share: float, factor: float
) -> None:
    x = axis.left + share * axis.width
    zoomed = axis.zoomed(factor, x)
    assert zoomed.deg(x) == pytest.approx(axis.deg(x), abs=1e-6)
    assert ZOOM_LIMITS[0] <= zoomed.px_per_deg <= ZOOM_LIMITS[1]


@given(axes, angles)
def test_showing_an_angle_brings_it_into_view_by_the_least_way(axis: Axis, deg: float) -> None:
    shown = axis.showing(deg, 40.0)
    assert shown.places(deg)
    if any(axis.left + 40 <= x <= axis.right - 40 for x in axis.places(deg)):
        assert shown is axis
    assert abs(shown.start_deg - axis.start_deg) <= 180.0 + 40.0 / axis.px_per_deg


@given(axes)
def test_settling_changes_no_picture(axis: Axis) -> None:
    settled = axis.settled()
    assert wrap(settled.start_deg) == pytest.approx(wrap(axis.start_deg), abs=1e-9) or axis.start_deg
    assert settled.home_deg == 0.0
    assert list(settled.places(30.0)) == pytest.approx(list(axis.places(30.0)), abs=1e-6)


@given(axes)
def test_home_turn_holds_the_middle(axis: Axis) -> None:
    middle = axis.start_deg + axis.length_deg / 2
    assert axis.home_deg <= middle < axis.home_deg + 360.0
    left, right = axis.home
    assert axis.left <= left <= right <= axis.right


def test_resizing_keeps_the_whole_turn_whole_and_the_start_of_any_other_view() -> None:
    assert WHOLE.resized(148.0, 760.0) == Axis.whole(148.0, 760.0)
    zoomed = WHOLE.zoomed(4.0, 400.0)
    assert zoomed.resized(148.0, 760.0).start_deg == zoomed.start_deg
    assert zoomed.resized(148.0, 760.0).px_per_deg == zoomed.px_per_deg


@pytest.mark.parametrize(
    ("place", "speed"),
    [
        (500.0, 0.0),
        (124.0, 0.0),
        (100.0, -600.0),
        (80.0, -600.0),
        (112.0, -195.0),
        (988.0, 195.0),
        (1001.0, 600.0),
    ],
)
def test_the_view_scrolls_faster_the_deeper_in_the_margin(place: float, speed: float) -> None:
    assert edge_speed(place, 100.0, 1000.0) == pytest.approx(speed)


def test_arcs_and_pieces_agree_on_a_cut_piece() -> None:
    piece = next(WHOLE.pieces(330.0, 60.0))
    inner = piece.clipped(*WHOLE.home)
    assert inner is not None
    assert Arcs.span(WHOLE.deg(inner.left), WHOLE.deg(inner.right) - WHOLE.deg(inner.left)) == Arcs.span(
        0.0, 30.0
    )
    assert piece.clipped(900.0, 950.0) is None
