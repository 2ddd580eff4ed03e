"""Marks stay on the face, clear of one another, and point the right way."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from core.solids.marks import MARGIN_MM, Face, Marks, face_marks, mark_depth
from core.solids.rings import Ring


def lobe(least: float, most: float, at_deg: float) -> Ring:
    angle = np.radians(np.arange(0.0, 360.0, 0.5))
    radius = least + (most - least) * (1 + np.cos(angle - np.radians(at_deg))) / 2
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])


def face_of(ring: Ring, inner: float = 5.0) -> Face:
    return Face(inner_mm=inner, edge=ring, margin_mm=MARGIN_MM + 0.4, width_mm=0.8)


def area_of(marks: Marks) -> list[Polygon]:
    lines = [LineString([(p.real, p.imag) for p in stroke]) for stroke in marks.strokes]
    return [line.buffer(marks.width_mm / 2) for line in lines]


@given(
    least=st.floats(8.0, 40.0),
    rise=st.floats(0.0, 25.0),
    at=st.floats(0.0, 359.0),
    code=st.from_regex(r"\A[A-Z]{1,2}[0-9]{1,2}\Z"),
    direction=st.sampled_from([1, -1]),
)
def test_marks_never_reach_the_bore_or_the_edge(
    least: float, rise: float, at: float, code: str, direction: int
) -> None:
    ring = lobe(least, least + rise, at)
    marks = face_marks(code, direction, face_of(ring), 5.0)
    if not marks.strokes:
        return
    drawn = unary_union(area_of(marks))
    room = Polygon(ring).buffer(-MARGIN_MM - 0.35).difference(Point(0, 0).buffer(4.95))
    assert drawn.difference(room).area < 1e-3


@given(least=st.floats(8.0, 40.0), rise=st.floats(0.0, 25.0), at=st.floats(0.0, 359.0))
def test_marks_do_not_run_into_one_another(least: float, rise: float, at: float) -> None:
    face = face_of(lobe(least, least + rise, at))
    marks = face_marks("W88", 1, face, 5.0)
    missing = dict.fromkeys(marks.missing, 0)
    counts = [
        missing.get("zero mark", 1),
        missing.get("code", 5),
        missing.get("arrow of turn", 2),
        missing.get("word TOP", 4),
    ]
    areas, groups = area_of(marks), []
    for count in counts:
        groups.append(unary_union(areas[:count]))
        areas = areas[count:]
    drawn = [group for group in groups if not group.is_empty]
    for number, first in enumerate(drawn):
        for second in drawn[number + 1 :]:
            assert first.distance(second) > 0.3


def test_a_wide_face_carries_everything_in_its_place() -> None:
    marks = face_marks("B7", 1, face_of(lobe(30.0, 36.0, 20.0)), 5.0)
    assert marks.missing == ()
    zero = marks.strokes[0]
    assert np.all(zero.imag == 0)
    assert zero.real.min() > 5.0
    code = np.concatenate(marks.strokes[1:4])
    assert code.imag.min() > 5.0
    assert np.ptp(code.imag) == pytest.approx(8.0)
    word = np.concatenate(marks.strokes[-4:])
    assert word.real.max() < -5.0


@pytest.mark.parametrize("direction", [1, -1])
def test_the_arrow_points_the_way_the_stack_turns(direction: int) -> None:
    marks = face_marks("A1", direction, face_of(lobe(30.0, 30.0, 0.0)), 5.0)
    arc, head = marks.strokes[-6], marks.strokes[-5]
    turned = np.angle(arc[-1] / arc[0])
    assert np.sign(turned) == direction
    assert head[1] == arc[-1]
    behind = (head[0] + head[2]) / 2
    assert np.sign(np.angle(head[1] / behind)) == direction


def test_on_a_small_disc_the_code_moves_to_where_the_face_is_widest() -> None:
    narrow = lobe(9.0, 20.0, 200.0)
    marks = face_marks("A1", 1, face_of(narrow), 5.0)
    assert "code" not in marks.missing
    code = np.concatenate(marks.strokes[1:4])
    assert abs(np.degrees(np.angle(code.mean() * np.exp(-1j * np.radians(200.0))))) < 60
    assert np.abs(code).max() > 11.0


def test_a_disc_without_room_says_what_is_missing() -> None:
    marks = face_marks("A1", 1, face_of(lobe(6.5, 6.5, 0.0)), 5.0)
    assert marks.missing == ("zero mark", "code", "arrow of turn", "word TOP")


@given(st.floats(0.2, 20.0))
def test_marks_are_less_than_half_as_deep_as_the_disc(thickness: float) -> None:
    assert 0 < mark_depth(thickness) < thickness / 2
