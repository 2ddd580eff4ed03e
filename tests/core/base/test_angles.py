"""Intervals on the circle: tables of cases, then properties, then brute force over sampled angles."""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs, ahead, distinct, turn_to, wrap

EMPTY, FULL = Arcs.empty(), Arcs.full()
HALF_DEGREES = [count / 2 for count in range(720)]


def arcs(*spans: tuple[float, float]) -> Arcs:
    return Arcs.of(spans)


# --- single angles ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("deg", "wrapped"),
    [
        (0, 0),
        (359.5, 359.5),
        (360, 0),
        (361, 1),
        (720, 0),
        (1085, 5),
        (-1, 359),
        (-360, 0),
        (-725, 355),
        (-1e-300, 0),
        (-1e-17, 0),
        (-0.0, 0),
    ],
)
def test_wrap(deg: float, wrapped: float) -> None:
    assert wrap(float(deg)) == wrapped
    assert math.copysign(1, wrap(float(deg))) == 1
    assert wrap(np.array([deg], dtype=float)).tolist() == [wrapped]


@given(st.floats(-1e9, 1e9))
@example(-5e-324)
def test_wrap_never_leaves_its_turn_and_never_gives_360(deg: float) -> None:
    assert 0 <= wrap(deg) < 360
    assert wrap(wrap(deg)) == wrap(deg)


@pytest.mark.parametrize(
    ("start", "to", "forward", "shortest"),
    [
        (0, 0, 0, 0),
        (350, 10, 20, 20),
        (10, 350, 340, -20),
        (0, 180, 180, 180),
        (180, 0, 180, 180),
        (-10, 370, 20, 20),
        (90, 89, 359, -1),
    ],
)
def test_ahead_and_turn_to(start: float, to: float, forward: float, shortest: float) -> None:
    assert ahead(float(start), float(to)) == forward
    assert turn_to(float(start), float(to)) == shortest


@given(st.lists(st.sampled_from([0.0, -0.0, 1e-300, 12.5, 12.5 + 2e-15, 360.0, -3.0, math.inf])))
def test_distinct_is_unique_of_numpy(degs: list[float]) -> None:
    values = np.array(degs, dtype=float)
    assert distinct(values).tolist() == np.unique(values).tolist()


def test_ahead_of_arrays() -> None:
    assert ahead(np.array([350.0, 10.0]), np.array([10.0, 350.0])).tolist() == [20, 340]
    assert ahead(350.0, np.array([10.0])).tolist() == [20]
    assert ahead(np.array([350.0]), 10.0).tolist() == [20]


# --- tables ----------------------------------------------------------------------------------------

SETS = {
    "empty": EMPTY,
    "full turn": FULL,
    "part": arcs((10, 20)),
    "through 0": arcs((350, 20)),
    "single angle": arcs((90, 0)),
    "angle 0": arcs((0, 0)),
    "from 0": arcs((0, 30)),
    "up to 360": arcs((330, 30)),
    "all but a point's neighbourhood": arcs((1, 358)),
    "several": arcs((10, 20), (100, 5), (350, 5)),
}


@pytest.mark.parametrize(
    ("built", "spans"),
    [
        (Arcs.span(-10, 20), ((350, 20),)),
        (Arcs.span(370, 20), ((10, 20),)),
        (Arcs.span(1090, 20), ((10, 20),)),
        (Arcs.span(100, 360), ((0, 360),)),
        (Arcs.span(100, 1000), ((0, 360),)),
        (Arcs.between(350, 10), ((350, 20),)),
        (Arcs.between(-10, 370), ((350, 20),)),
        (Arcs.between(90, 90), ((90, 0),)),
        (Arcs.between(0, 360), ((0, 0),)),
        (arcs(), ()),
        (arcs((10, 10), (20, 10)), ((10, 20),)),
        (arcs((20, 10), (10, 10)), ((10, 20),)),
        (arcs((10, 10), (15, 2)), ((10, 10),)),
        (arcs((350, 10), (0, 10)), ((350, 20),)),
        (arcs((340, 30), (5, 10)), ((340, 35),)),
        (arcs((0, 180), (180, 180)), ((0, 360),)),
        (arcs((90, 180), (270, 180)), ((0, 360),)),
        (arcs((300, 200), (100, 0), (10, 5)), ((300, 200),)),
        (arcs((5, 0), (5, 0)), ((5, 0),)),
        (arcs((359, 1), (0, 0)), ((359, 1),)),
    ],
)
def test_building(built: Arcs, spans: tuple[tuple[float, float], ...]) -> None:
    assert built.spans == spans


@pytest.mark.parametrize(
    ("name", "length", "inside", "outside"),
    [
        ("empty", 0, [], [0, 90, 359.9]),
        ("full turn", 360, [0, 90, 359.9, 360, -5], []),
        ("part", 20, [10, 20, 30, 370, -335], [9.9, 30.1, 0, 200]),
        ("through 0", 20, [350, 0, 360, 10, -10, 355], [349.9, 10.1, 180]),
        ("single angle", 0, [90, 450, -270], [89.9, 90.1]),
        ("angle 0", 0, [0, 360, -360], [0.1, 359.9]),
        ("from 0", 30, [0, 30, 360], [359.9, 30.1]),
        ("up to 360", 30, [330, 0, 360, 359], [0.1, 329.9]),
        ("several", 30, [10, 30, 102, 352], [31, 99, 356, 0]),
    ],
)
def test_length_and_membership(name: str, length: float, inside: list[float], outside: list[float]) -> None:
    found = SETS[name]
    assert found.length == length
    assert all(found.contains(angle) for angle in inside)
    assert not any(found.contains(angle) for angle in outside)


@pytest.mark.parametrize("name", SETS)
def test_what_empty_and_full_do_with_any_set(name: str) -> None:
    found = SETS[name]
    assert found | EMPTY == found == found & FULL
    assert found & EMPTY == EMPTY
    assert found | FULL == FULL
    assert found & found == found == found | found
    assert found.shift(360) == found == found.shift(-720)
    assert FULL.covers(found)
    assert found.covers(EMPTY)
    assert found.is_empty == (name == "empty")
    assert found.is_full == (name == "full turn")


@pytest.mark.parametrize(
    ("found", "complement"),
    [
        (EMPTY, FULL),
        (FULL, EMPTY),
        (arcs((10, 20)), arcs((30, 340))),
        (arcs((350, 20)), arcs((10, 340))),
        (arcs((0, 30)), arcs((30, 330))),
        (arcs((90, 0)), FULL),
        (arcs((10, 20), (100, 10)), arcs((30, 70), (110, 260))),
        (arcs((10, 20), (100, 0)), arcs((30, 340))),
        (arcs((300, 359)), arcs((299, 1))),
    ],
)
def test_complement(found: Arcs, complement: Arcs) -> None:
    assert ~found == complement


@pytest.mark.parametrize(
    ("first", "second", "common"),
    [
        (arcs((10, 20)), arcs((20, 20)), arcs((20, 10))),
        (arcs((10, 20)), arcs((30, 20)), arcs((30, 0))),
        (arcs((10, 20)), arcs((40, 20)), EMPTY),
        (arcs((350, 20)), arcs((0, 5)), arcs((0, 5))),
        (arcs((350, 20)), arcs((340, 15)), arcs((350, 5))),
        (arcs((180, 270)), arcs((0, 270)), arcs((0, 90), (180, 90))),
        (arcs((0, 270)), arcs((180, 270)), arcs((0, 90), (180, 90))),
        (arcs((0, 180)), arcs((180, 180)), arcs((0, 0), (180, 0))),
        (arcs((90, 0)), arcs((80, 20)), arcs((90, 0))),
    ],
)
def test_intersection(first: Arcs, second: Arcs, common: Arcs) -> None:
    assert first & second == common == second & first


@pytest.mark.parametrize(
    ("first", "second", "gap"),
    [
        (arcs((10, 20)), arcs((40, 20)), 10),
        (arcs((40, 20)), arcs((10, 20)), 10),
        (arcs((350, 5)), arcs((5, 5)), 10),
        (arcs((10, 20)), arcs((30, 20)), 0),
        (arcs((10, 20)), arcs((15, 5)), 0),
        (arcs((350, 20)), arcs((0, 0)), 0),
        (FULL, arcs((15, 5)), 0),
        (arcs((0, 0)), arcs((180, 0)), 180),
        (arcs((0, 0)), arcs((181, 0)), 179),
        (arcs((10, 5), (100, 5)), arcs((50, 5), (120, 5)), 15),
    ],
)
def test_gap(first: Arcs, second: Arcs, gap: float) -> None:
    assert first.gap(second) == gap


@pytest.mark.parametrize("pair", [(EMPTY, FULL), (FULL, EMPTY), (EMPTY, EMPTY)])
def test_nothing_has_no_distance(pair: tuple[Arcs, Arcs]) -> None:
    with pytest.raises(ValueError, match="empty set"):
        pair[0].gap(pair[1])


@pytest.mark.parametrize(
    ("found", "before", "after", "grown"),
    [
        (EMPTY, 5, 5, EMPTY),
        (FULL, -5, -5, FULL),
        (arcs((10, 20)), 5, 1, arcs((5, 26))),
        (arcs((10, 20)), 15, 0, arcs((355, 35))),
        (arcs((10, 20)), -5, -5, arcs((15, 10))),
        (arcs((10, 20)), -10, -10, arcs((20, 0))),
        (arcs((10, 20)), -15, -10, EMPTY),
        (arcs((350, 20)), 1, 2, arcs((349, 23))),
        (arcs((10, 20), (40, 5)), 5, 5, arcs((5, 45))),
        (arcs((1, 358)), 1, 1, FULL),
        (arcs((0, 0)), 180, 180, FULL),
    ],
)
def test_grow(found: Arcs, before: float, after: float, grown: Arcs) -> None:
    assert found.grow(before, after) == grown


def test_growing_both_sides_alike_needs_one_number() -> None:
    assert arcs((10, 20)).grow(5) == arcs((5, 30))


@pytest.mark.parametrize(
    ("outer", "inner", "covers"),
    [
        (arcs((10, 20)), arcs((10, 20)), True),
        (arcs((10, 20)), arcs((15, 5), (20, 10)), True),
        (arcs((10, 20)), arcs((15, 20)), False),
        (arcs((350, 20)), arcs((355, 10)), True),
        (arcs((350, 20)), arcs((0, 11)), False),
        (arcs((10, 20)), FULL, False),
        (EMPTY, arcs((1, 0)), False),
        (arcs((0, 200)), arcs((100, 200)), False),
        (arcs((10, 20)), arcs((9.9999999999, 20)), True),
    ],
)
def test_covers(outer: Arcs, inner: Arcs, covers: bool) -> None:
    assert outer.covers(inner) is covers


@pytest.mark.parametrize(
    ("found", "start", "middle", "end"),
    [
        (arcs((10, 20)), 10, 20, 30),
        (arcs((350, 30)), 350, 5, 20),
        (arcs((330, 30)), 330, 345, 0),
        (FULL, 0, 180, 360),
        (arcs((7, 0)), 7, 7, 7),
    ],
)
def test_ends_and_middle_of_one_stretch(found: Arcs, start: float, middle: float, end: float) -> None:
    assert (found.start, found.middle, found.end) == (start, middle, end)


@pytest.mark.parametrize("found", [EMPTY, arcs((0, 1), (5, 1))])
def test_ends_need_one_stretch(found: Arcs) -> None:
    for name in ("start", "middle", "end"):
        with pytest.raises(ValueError, match="one stretch, got"):
            getattr(found, name)


def test_a_length_is_not_negative() -> None:
    with pytest.raises(ValueError, match="at least 0 degrees, got -1"):
        Arcs.span(0, -1)


def test_iteration_gives_each_stretch() -> None:
    found = arcs((350, 20), (100, 5))
    assert list(found) == [arcs((100, 5)), arcs((350, 20))]
    assert arcs(*(part.spans[0] for part in found)) == found


# --- properties: whole degrees, so that arithmetic is exact ----------------------------------------

spans = st.tuples(st.integers(-400, 800), st.integers(0, 400))
sets = st.lists(spans, max_size=5).map(lambda found: arcs(*found))
turns = st.integers(-1000, 1000)


@given(sets)
def test_spans_are_sorted_apart_and_in_their_turn(found: Arcs) -> None:
    for start, length in found.spans:
        assert 0 <= start < 360
        assert 0 <= length <= 360
    if not found.is_full:
        following = [*found.spans[1:], *((start + 360, 0) for start, _ in found.spans[:1])]
        assert all(
            start + length < after for (start, length), (after, _) in zip(found.spans, following, strict=True)
        )


@given(sets, sets, turns)
def test_turning_everything_gives_the_same_answer(first: Arcs, second: Arcs, by: int) -> None:
    a, b = first.shift(by), second.shift(by)
    assert a | b == (first | second).shift(by)
    assert a & b == (first & second).shift(by)
    assert ~a == (~first).shift(by)
    assert a.grow(3, -2) == first.grow(3, -2).shift(by)
    assert a.covers(b) == first.covers(second)
    assert a.length == first.length
    assert a.shift(-by) == first
    if not (first.is_empty or second.is_empty):
        assert a.gap(b) == first.gap(second)


@given(sets, sets)
def test_laws_of_sets(first: Arcs, second: Arcs) -> None:
    assert first | second == second | first
    assert first & second == second & first
    assert (first | second).covers(first)
    assert first.covers(first & second)
    assert first & (first | second) == first
    assert (first | second).length + (first & second).length == first.length + second.length
    assert (~first).length == 360 - first.length


@given(sets, sets, sets)
def test_laws_of_three_sets(a: Arcs, b: Arcs, c: Arcs) -> None:
    assert (a | b) | c == a | (b | c)
    assert (a & b) & c == a & (b & c)
    assert a & (b | c) == (a & b) | (a & c)


@given(sets)
def test_the_complement_shares_only_ends(found: Arcs) -> None:
    assert (found & ~found).length == 0
    assert (found | ~found).is_full


# --- brute force -----------------------------------------------------------------------------------


def members(found: list[tuple[int, int]]) -> set[float]:
    """Return the half degrees that lie in any of the stretches, straight from the definition."""
    return {
        angle
        for angle in HALF_DEGREES
        for start, length in found
        if (angle - start) % 360 <= min(length, 360)
    }


def sampled(found: Arcs) -> set[float]:
    return {angle for angle in HALF_DEGREES if found.contains(angle)}


lists = st.lists(spans, max_size=4)


@given(lists, lists)
@settings(max_examples=40)
def test_membership_of_union_and_intersection(
    first: list[tuple[int, int]], second: list[tuple[int, int]]
) -> None:
    a, b = arcs(*first), arcs(*second)
    assert sampled(a) == members(first)
    assert sampled(a | b) == members(first) | members(second)
    assert sampled(a & b) == members(first) & members(second)


@given(lists)
@settings(max_examples=40)
def test_membership_of_the_complement(found: list[tuple[int, int]]) -> None:
    """Ends are shared, so compare where no end can lie: half way between whole degrees."""
    between = {angle for angle in HALF_DEGREES if angle % 1}
    assert sampled(~arcs(*found)) & between == between - members(found)


@given(lists, st.integers(0, 60), st.integers(0, 60))
@settings(max_examples=40)
def test_membership_of_a_grown_set(found: list[tuple[int, int]], before: int, after: int) -> None:
    grown = [(start - before, length + before + after) for start, length in found]
    assert sampled(arcs(*found).grow(before, after)) == members(grown)


@given(lists, lists)
@settings(max_examples=40)
def test_gap_is_the_least_distance_of_members(
    first: list[tuple[int, int]], second: list[tuple[int, int]]
) -> None:
    a, b = members(first), members(second)
    if a and b:
        least = min(min((x - y) % 360, (y - x) % 360) for x, y in product(a, b))
        assert arcs(*first).gap(arcs(*second)) == least


# --- properties: any floats, to the tolerance of angles --------------------------------------------

real_spans = st.tuples(st.floats(-1e3, 1e3), st.floats(0, 400))
real_sets = st.lists(real_spans, max_size=4).map(lambda found: arcs(*found))


@given(real_sets, st.floats(-1e3, 1e3), st.floats(0, 360, exclude_max=True))
def test_membership_turns_with_the_set(found: Arcs, by: float, angle: float) -> None:
    ends = [end for start, length in found.spans for end in (start, start + length)]
    if all(abs(turn_to(end, angle)) > 1e-6 for end in ends):
        assert found.shift(by).contains(angle + by) == found.contains(angle)


@given(real_sets)
def test_ends_of_real_stretches_are_members(found: Arcs) -> None:
    for part in found:
        assert found.contains(part.start)
        assert found.contains(part.end)
        assert found.contains(part.middle)


@given(st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_ahead_and_turn_to_agree(start: float, to: float) -> None:
    shortest = turn_to(start, to)
    assert -180 < shortest <= 180
    assert abs(turn_to(wrap(start + shortest), wrap(to))) < 1e-9
