from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.judge.findings import Severity
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.signs import Sign, joined, spread, worst
from shaftscore.make.drawing.timing.ticks import (
    degree_step,
    degree_ticks,
    second_step,
    second_ticks,
    step_cells,
    step_number,
)

WHOLE = Axis.whole(0.0, 950.0)


@pytest.mark.parametrize(
    ("px_per_deg", "step"),
    [
        (0.5, 90.0),
        (0.54, 90.0),
        (1.06, 90.0),
        (1.07, 45.0),
        (1.6, 30.0),
        (2.6, 30.0),
        (4.8, 10.0),
        (9.6, 5.0),
        (24.0, 2.0),
        (48.0, 1.0),
        (80.0, 1.0),
    ],
)
def test_degree_labels_are_the_finest_that_leave_48_px(px_per_deg: float, step: float) -> None:
    assert degree_step(px_per_deg) == step


def test_the_degree_ruler_marks_thirds_and_sixths() -> None:
    ticks = list(degree_ticks(WHOLE))
    assert [tick.text for tick in ticks if tick.text] == [f"{deg}°" for deg in range(0, 361, 30)]
    first = [(round(WHOLE.deg(tick.x), 6), tick.rank) for tick in ticks[:9]]
    assert first == [(-10, 1), (-5, 2), (0, 0), (5, 2), (10, 1), (15, 2), (20, 1), (25, 2), (30, 0)]


def test_ruler_texts_are_of_the_turn_wherever_the_view_starts() -> None:
    axis = Axis(0.0, 400.0, 320.0, 5.0)
    assert [tick.text for tick in degree_ticks(axis) if tick.text] == [
        "320°", "330°", "340°", "350°", "0°", "10°", "20°", "30°", "40°",
    ]  # fmt: skip
    home = Axis(0.0, 400.0, 300.0, 5.0)
    assert home.home_deg == 0.0
    assert "360°" in [tick.text for tick in degree_ticks(home)]


def test_steps_alternate_and_wrap() -> None:
    cells = [
        (cell.number, cell.name, round(cell.piece.left), round(cell.piece.right))
        for cell in step_cells(WHOLE, (0.0, 120.0, 240.0), ("one", "two"))
    ]
    assert cells == [
        (1, "one", 25, 325),
        (1, "one", 925, 950),
        (2, "two", 325, 625),
        (3, "", 0, 25),
        (3, "", 625, 925),
    ]


@pytest.mark.parametrize(
    ("starts", "deg", "number"),
    [
        (tuple(30.0 * n for n in range(12)), 290.0, 10 + 2 / 3),
        (tuple(30.0 * n for n in range(12)), 139.5, 5.65),
        (tuple(30.0 * n for n in range(12)), 0.0, 1.0),
        ((10.0, 100.0, 200.0), 5.0, 3 + 165 / 170),
        ((10.0, 100.0, 200.0), 55.0, 1.5),
        ((10.0,), 190.0, 1.5),
    ],
)
def test_an_angle_in_steps(starts: tuple[float, ...], deg: float, number: float) -> None:
    assert step_number(starts, deg) == pytest.approx(number)


@given(st.integers(0, 719), st.lists(st.integers(0, 719), min_size=1, max_size=20, unique=True))
def test_step_numbers_lie_in_their_step(half: int, halves: list[int]) -> None:
    rising = tuple(sorted(number / 2 for number in halves))
    deg = half / 2
    begun = [start for start in rising if start <= deg]
    assert math.floor(step_number(rising, deg)) == (len(begun) or len(rising))


@pytest.mark.parametrize(
    ("px_per_second", "step"),
    [(94.0, 1.0), (48.0, 1.0), (47.0, 2.0), (20.0, 5.0), (480.0, 0.1), (470.0, 0.2), (4.0, 20.0)],
)
def test_seconds_are_marked_by_1_2_or_5(px_per_second: float, step: float) -> None:
    assert second_step(px_per_second) == pytest.approx(step)


def test_the_time_restarts_with_the_turn() -> None:
    ticks = list(second_ticks(WHOLE, 10.0))
    texts = {tick.text: tick.x for tick in ticks if tick.text}
    assert list(texts) == [f"{second} s" for second in range(10)]
    assert texts["4 s"] == pytest.approx(WHOLE.x(144.0))
    assert sum(tick.rank == 1 for tick in ticks) == 10


def test_signs_are_spread_so_that_none_lies_over_a_count() -> None:
    """Counts of one and two figures ask for 7 and 14 px beside the 12 px of a sign."""
    note = Severity.NOTE
    signs = (Sign(100.0, note, ("a",) * 12), Sign(113.0, note, ("b", "c")), Sign(140.0, note, ("d",)))
    assert [sign.x for sign in spread(signs, 0.0, 1000.0)] == [100.0, 126.0, 145.0]
    assert [sign.x for sign in spread(signs, 0.0, 150.0)] == [93.0, 119.0, 138.0]
    apart = (Sign(100.0, note, ("a",)), Sign(112.0, note, ("b",)))
    assert spread(apart, 0.0, 1000.0) == apart


def test_signs_closer_than_12_px_are_one_with_the_worst_severity() -> None:
    error, warning, note = Severity.ERROR, Severity.WARNING, Severity.NOTE
    signs = joined([(100.0, note, "a"), (130.0, warning, "b"), (111.9, error, "c"), (142.0, note, "d")])
    assert [(sign.x, sign.severity, sign.things) for sign in signs] == [
        (pytest.approx(105.95), error, ("a", "c")),
        (130.0, warning, ("b",)),
        (142.0, note, ("d",)),
    ]
    assert len(joined([(100.0, note, "a"), (112.0, error, "c")], u=1.1)) == 1


def test_the_worst_severity() -> None:
    assert worst([Severity.NOTE, Severity.WARNING]) is Severity.WARNING
    assert worst([]) is None
