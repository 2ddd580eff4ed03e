from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.make.drawing.timing.rows import Shown, fitting_factor, lay_out
from shaftscore.make.drawing.timing.shapes import levels_of, nearest_level, own_letter, shapes_of
from shaftscore.make.drawing.timing.strips import Detail, Strip, default_height, detail_of
from shaftscore.model import Lane
from tests.app.timing.machines import block, gate, machine


@pytest.mark.parametrize(
    ("levels", "height"), [(1, 44.0), (2, 44.0), (3, 64.0), (4, 80.0), (5, 96.0), (6, 112.0), (9, 112.0)]
)
def test_strips_grow_with_their_levels(levels: int, height: float) -> None:
    assert default_height(levels, 40) == height
    assert default_height(levels, 41) == 24.0


@pytest.mark.parametrize(
    ("height", "detail", "body", "level_10", "level_0"),
    [
        (44.0, Detail.FULL, 16.0, 105.0, 125.0),
        (40.0, Detail.FULL, 16.0, 105.0, 121.0),
        (39.0, Detail.SHORT, 14.0, 103.0, 124.0),
        (24.0, Detail.SHORT, 14.0, 103.0, 109.0),
        (23.0, Detail.THIN, 6.0, 102.0, 116.0),
    ],
)
def test_full_travel_fills_the_strip(
    height: float, detail: Detail, body: float, level_10: float, level_0: float
) -> None:
    strip = Strip(100.0, height, 10.0)
    assert detail_of(height) is detail is strip.detail
    assert strip.body == body
    assert (strip.y(10.0), strip.y(0.0)) == (level_10, level_0)
    assert strip.floor == level_0 + body


@given(st.floats(16, 240), st.floats(0.8, 2), st.floats(0.1, 500), st.floats(-0.5, 1.5))
def test_output_and_height_are_inverse(height: float, u: float, highest: float, share: float) -> None:
    strip = Strip(50.0, height * u, highest, u)
    assert strip.output(strip.y(share * highest)) == pytest.approx(share * highest, abs=1e-6 * highest)


def test_a_lane_without_travel_has_all_at_the_bottom() -> None:
    strip = Strip(0.0, 44.0, 0.0)
    assert strip.y(0.0) == 25.0


def test_rows_stand_by_group_in_order_of_appearance() -> None:
    lanes = (
        gate("A", 10, group="One"),
        gate("B", 40, group=""),
        gate("C", 70, group="Two"),
        gate("D", 100, group="One"),
    )
    rows = lay_out(machine(*lanes), Shown()).rows
    assert [(row.group, row.lane_id) for row in rows] == [
        ("One", None),
        ("One", "a"),
        ("One", "d"),
        ("", "b"),
        ("Two", None),
        ("Two", "c"),
    ]
    assert [row.top for row in rows] == [0.0, 20.0, 64.0, 108.0, 152.0, 172.0]
    assert rows[0].lanes == ("a", "d")


def test_a_closed_group_keeps_its_row_and_hides_its_lanes() -> None:
    rows = lay_out(machine(gate("A", 10, group="One"), gate("B", 40, group="Two")), Shown(closed={"One"}))
    assert rows.of_lane("a") is None
    assert rows.lane_ids == ("b",)
    assert rows.rows[0].closed
    assert rows.height == 20.0 + 20.0 + 44.0


def test_rows_are_found_by_height() -> None:
    rows = lay_out(machine(gate("A", 10), gate("B", 40)), Shown({"a": 60.0}))
    assert [
        getattr(rows.at(y), "lane_id", "none") for y in (-1.0, 0.0, 19.9, 20.0, 79.9, 80.0, 123.9, 124.0)
    ] == [
        "none",
        None,
        None,
        "a",
        "a",
        "b",
        "b",
        "none",
    ]
    assert [row.lane_id for row in rows.between(30.0, 80.0)] == ["a"]
    assert [row.lane_id for row in rows.between(30.0, 80.5)] == ["a", "b"]


def test_strips_are_lowered_until_all_fit_but_not_those_the_person_sized() -> None:
    project = machine(*(gate(f"Lane{index}", 30.0 * index) for index in range(8)))
    assert fitting_factor(project, Shown(), 1.0, 1000.0) == 1.0
    factor = fitting_factor(project, Shown({"lane0": 60.0}), 1.0, 300.0)
    rows = lay_out(project, Shown({"lane0": 60.0}), 1.0, factor)
    assert 280.0 <= rows.height <= 300.0
    row = rows.of_lane("lane0")
    assert row is not None
    assert row.height == 60.0


def test_where_nothing_fits_the_lanes_keep_their_height() -> None:
    project = machine(*(gate(f"Lane{index}", 30.0 * index) for index in range(8)))
    assert fitting_factor(project, Shown(), 1.0, 120.0) == 1.0


def test_levels_are_ranked_by_output_and_letters_belong_to_one_level() -> None:
    lane = Lane(id="x", levels={"tray": 16.0, "shut": 0.0, "cup": 8.0, "Top": 20.0}, guarded=("cup",))
    assert [(level.name, level.rank, level.guarded) for level in levels_of(lane)] == [
        ("shut", 0, False),
        ("cup", 1, True),
        ("tray", 2, False),
        ("Top", 3, False),
    ]
    assert [own_letter(lane, name) for name in ("shut", "cup", "tray")] == ["s", "c", None]
    assert nearest_level(lane, 11.9).name == "cup"
    assert nearest_level(lane, 12.1).name == "tray"


def test_a_stack_that_turns_three_times_shows_every_block_three_times() -> None:
    lane = Lane(id="x", levels={"a": 0.0, "b": 5.0}, blocks=(block("a", 30, 60), block("b", 300, 420)))
    found = [(shape.index, shape.copy, shape.start_deg, shape.length_deg) for shape in shapes_of(lane, 3)]
    assert found == [
        (0, 0, 10.0, 10.0),
        (1, 0, 100.0, 40.0),
        (0, 1, 130.0, 10.0),
        (1, 1, 220.0, 40.0),
        (0, 2, 250.0, 10.0),
        (1, 2, 340.0, 40.0),
    ]
    assert {shape.own_length_deg for shape in shapes_of(lane, 3)} == {30.0, 120.0}
