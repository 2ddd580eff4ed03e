"""Play and clearance against limits, inverse, and the true shapes turned in their bores."""

from __future__ import annotations

from math import asin, atan2, cos, degrees, hypot, pi, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq
from shapely import affinity
from shapely.geometry import Polygon
from shapely.prepared import prep

from shaftscore.built.fits import (
    DogMate,
    FlatMate,
    Mate,
    PinMate,
    PolygonMate,
    RoundMate,
    drawn_clearance_mm,
    effective_clearance_mm,
)

MATES = (
    DogMate(1, 12.0),
    DogMate(3, 12.0),
    PinMate(18.0),
    PolygonMate(6, 10.0),
    PolygonMate(4, 8.0),
    FlatMate(8.0, 7.0),
)


@pytest.mark.parametrize("mate", MATES, ids=repr)
def test_no_clearance_leaves_no_play_and_more_leaves_more(mate: Mate) -> None:
    play = mate.play_deg(np.array([-0.1, 0.0, 0.05, 0.1, 0.2]))
    assert play[:2] == pytest.approx(0.0, abs=1e-9)
    assert np.all(np.diff(play[1:]) > 0)


@pytest.mark.parametrize("mate", MATES, ids=repr)
@given(clearance=st.floats(1e-3, 0.3))
def test_clearance_for_the_play_gives_it_back(mate: Mate, clearance: float) -> None:
    assert mate.clearance_mm(float(mate.play_deg(clearance))) == pytest.approx(clearance, rel=1e-6)


def test_hexagon_of_the_first_sample() -> None:
    """machine.md: bores of 10.4 mm on a hexagon of 10 mm let each disc turn by ±4.2°."""
    assert float(PolygonMate(6, 10.0).play_deg(0.2)) == pytest.approx(4.25, abs=0.05)


def test_where_a_part_turns_freely() -> None:
    hexagon = PolygonMate(6, 10.0)
    least = 5.0 * (1 / cos(pi / 6) - 1)  # the bore's half width reaches the rod's corner
    assert np.isinf(hexagon.play_deg(np.array([0.999 * least, 1.001 * least]))).tolist() == [False, True]
    assert float(hexagon.play_deg(least * (1 - 1e-12))) == pytest.approx(30.0, abs=1e-3)
    flat = FlatMate(8.0, 7.0)  # the flat is 3 from the axis, the corner 4: a shift of c, a gap of c
    assert np.isinf(flat.play_deg(np.array([0.499, 0.501]))).tolist() == [False, True]
    assert np.all(np.isinf(RoundMate().play_deg(np.array([0.0, 0.2]))))


@pytest.mark.parametrize(
    ("mate", "play"),
    [(PolygonMate(6, 10.0), 30.0), (FlatMate(8.0, 7.0), 41.5), (RoundMate(), 1.0), (PinMate(9.0), -0.1)],
)
def test_impossible_plays_are_refused(mate: Mate, play: float) -> None:
    with pytest.raises(ValueError, match=str(abs(play))):
        mate.clearance_mm(play)


def _ngon(sides: int, across: float) -> Polygon:
    radius = across / 2 / cos(pi / sides)
    return Polygon(
        [(radius * cos(2 * pi * k / sides), radius * sin(2 * pi * k / sides)) for k in range(sides)]
    )


def _d_shape(radius: float, height: float) -> Polygon:
    """A circle of chords, cut off at the height y."""
    end = asin(height / radius)
    angles = np.linspace(pi - end, 2 * pi + end, 4001)
    return Polygon(np.column_stack([radius * np.cos(angles), radius * np.sin(angles)]))


def _greatest_turn(rod: Polygon, bore: Polygon, shifts: list[tuple[float, float]]) -> float:
    """Return the greatest angle at which the rod, turned and shifted, still lies in its bore, degrees."""
    room = prep(bore.buffer(2e-6))  # chords of circles lie this far within them

    def inside(angle: float) -> bool:
        turned = affinity.rotate(rod, angle, origin=(0, 0))
        return any(room.contains(affinity.translate(turned, *shift)) for shift in shifts)

    low, high = 0.0, 29.0
    for _ in range(16):
        middle = (low + high) / 2
        low, high = (middle, high) if inside(middle) else (low, middle)
    return low


@pytest.mark.parametrize(("sides", "across", "clearance"), [(6, 10.0, 0.2), (6, 8.0, 0.05), (4, 8.0, 0.3)])
def test_polygon_turned_in_its_bore(sides: int, across: float, clearance: float) -> None:
    shifts = [(r * cos(a), r * sin(a)) for r in (0.0, clearance / 3) for a in np.linspace(0, 2 * pi, 12)]
    found = _greatest_turn(_ngon(sides, across), _ngon(sides, across + 2 * clearance), shifts)
    assert float(PolygonMate(sides, across).play_deg(clearance)) == pytest.approx(found, abs=1e-3)


@pytest.mark.parametrize(("across", "flat", "clearance"), [(8.0, 7.0, 0.1), (10.0, 7.5, 0.2)])
def test_d_rod_turned_in_its_bore(across: float, flat: float, clearance: float) -> None:
    radius, height = across / 2, flat - across / 2
    bore = _d_shape(radius + clearance, height + clearance)
    shifts = [(x, -y) for x in (-0.02, 0.0, 0.02) for y in np.linspace(clearance, 0, 21)]
    found = _greatest_turn(_d_shape(radius, height), bore, shifts)
    assert float(FlatMate(across, flat).play_deg(clearance)) == pytest.approx(found, abs=2e-3)


@pytest.mark.parametrize(("count", "expected"), [(2, 1.0), (3, 1.0), (4, 1.0)])
def test_pins_allow_no_more_than_the_least_turn_over_all_shifts(count: int, expected: float) -> None:
    """Holes about pins: a disc turned by θ and shifted by t fits while |t + rθ tangent| <= c at each pin."""
    radius, clearance = 18.0, 0.1
    tangents = [np.array([-sin(2 * pi * k / count), cos(2 * pi * k / count)]) for k in range(count)]
    shifts = [np.array([x, y]) for x in np.linspace(-0.1, 0.1, 21) for y in np.linspace(-0.1, 0.1, 21)]

    def slack(turn: float) -> float:
        return max(clearance - max(hypot(*(t + radius * turn * v)) for v in tangents) for t in shifts)

    greatest = brentq(slack, 0.0, 0.05)
    assert float(PinMate(radius).play_deg(clearance)) == pytest.approx(degrees(greatest) * expected, rel=1e-9)


def test_one_dog_turns_twice_as_far_because_the_disc_may_shift_with_it() -> None:
    """A disc that may shift by c, and a dog with c to each side, move apart by 2c at the radius."""
    assert degrees(atan2(2 * 0.1, 12.0)) == pytest.approx(float(DogMate(1, 12.0).play_deg(0.1)), rel=1e-3)


def test_clearance_of_an_undersized_rod_and_of_drawn_machines() -> None:
    assert effective_clearance_mm(0.1, 0.09) == pytest.approx(0.145)
    drawn = drawn_clearance_mm(0.02, 0.03, np.array([0.0, 1.0, -1.0]))
    assert drawn == pytest.approx([0.02, 0.05, 0.0])


@given(
    clearance=st.floats(0.01, 0.3),
    sides=st.sampled_from([4, 6]),
    across=st.floats(5.0, 20.0),
    scale=st.floats(0.5, 3.0),
)
def test_a_scaled_fit_has_the_same_play(clearance: float, sides: int, across: float, scale: float) -> None:
    first = PolygonMate(sides, across).play_deg(clearance)
    second = PolygonMate(sides, across * scale).play_deg(clearance * scale)
    assert float(first) == pytest.approx(float(second), abs=1e-6)


def test_small_clearances_turn_a_polygon_by_the_slope_of_its_formula() -> None:
    """By d(cos(a - x)) = sin(a) dx: delta = 2c / (s tan(180°/n))."""
    assert radians(float(PolygonMate(6, 10.0).play_deg(1e-5))) == pytest.approx(
        2e-6 / np.tan(pi / 6), rel=1e-4
    )
