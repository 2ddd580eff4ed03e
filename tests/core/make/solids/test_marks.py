"""Marks stay on the face, clear of one another, and point the right way."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import unary_union

from shaftscore.make.solids.dogged import dog_shapes
from shaftscore.make.solids.face import MARGIN_MM, Face
from shaftscore.make.solids.marks import Marks, Wording, dot_row, face_marks
from shaftscore.make.solids.rings import Ring
from shaftscore.model import Bore, Dogs, Print, Stack
from shaftscore.stack import bore_path, mark_depth
from tests.core.make.exporting.machines import one_sided


def lobe(least: float, most: float, at_deg: float) -> Ring:
    angle = np.radians(np.arange(0.0, 360.0, 0.5))
    radius = least + (most - least) * (1 + np.cos(angle - np.radians(at_deg))) / 2
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])


def face_of(ring: Ring, inner: float = 5.0) -> list[Face]:
    return [Face(inner, ring, MARGIN_MM + 0.4, 0.8, np.zeros(0, np.complex128))]


def marks_on(code: str, direction: int, faces: list[Face]) -> Marks:
    return face_marks(Wording(code, "R3F2", direction), faces, 5.0)


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
    marks = marks_on(code, direction, face_of(ring))
    if not marks.strokes:
        return
    drawn = unary_union(area_of(marks))
    room = Polygon(ring).buffer(-MARGIN_MM - 0.35).difference(Point(0, 0).buffer(4.95))
    assert drawn.difference(room).area < 1e-3


@given(least=st.floats(8.0, 40.0), rise=st.floats(0.0, 25.0), at=st.floats(0.0, 359.0))
def test_marks_do_not_run_into_one_another(least: float, rise: float, at: float) -> None:
    marks = marks_on("W88", 1, face_of(lobe(least, least + rise, at)))
    groups = [unary_union(area_of(replace(marks, groups={"one": group}))) for group in marks.groups.values()]
    drawn = [group for group in groups if not group.is_empty]
    for number, first in enumerate(drawn):
        for second in drawn[number + 1 :]:
            assert first.distance(second) > 0.3


def test_a_wide_face_carries_everything_in_its_place() -> None:
    marks = marks_on("B7", 1, face_of(lobe(30.0, 36.0, 20.0)))
    assert marks.missing == ()
    (zero,) = marks.groups["zero mark"]
    assert np.all(zero.imag == 0)
    assert zero.real.min() > 5.0
    code = np.concatenate(marks.groups["code"])
    assert code.imag.min() > 5.0
    assert np.ptp(code.imag) == pytest.approx(8.0)
    word = np.concatenate(marks.groups["word TOP"])
    assert word.real.max() < -5.0


@pytest.mark.parametrize("direction", [1, -1])
def test_the_arrow_points_the_way_the_stack_turns(direction: int) -> None:
    marks = marks_on("A1", direction, face_of(lobe(30.0, 30.0, 0.0)))
    arc, head = marks.groups["arrow of turn"]
    turned = np.angle(arc[-1] / arc[0])
    assert np.sign(turned) == direction
    assert head[1] == arc[-1]
    behind = (head[0] + head[2]) / 2
    assert np.sign(np.angle(head[1] / behind)) == direction


def test_on_a_small_disc_the_code_moves_to_where_the_face_is_widest() -> None:
    narrow = lobe(9.0, 20.0, 200.0)
    marks = marks_on("A1", 1, face_of(narrow))
    assert "code" not in marks.missing
    code = np.concatenate(marks.groups["code"])
    assert abs(np.degrees(np.angle(code.mean() * np.exp(-1j * np.radians(200.0))))) < 60
    assert np.abs(code).max() > 11.0


def test_a_disc_without_room_says_what_is_missing() -> None:
    marks = marks_on("A1", 1, face_of(lobe(6.5, 6.5, 0.0)))
    assert marks.missing == ("zero mark", "row of dots", "code", "arrow of turn", "word TOP", "revision")


@given(st.floats(0.2, 20.0))
def test_marks_are_less_than_half_as_deep_as_the_disc(thickness: float) -> None:
    assert 0 < mark_depth(thickness) < thickness / 2


@pytest.mark.parametrize(
    ("code", "row"),
    [
        ("A1", "1 1"),
        ("B2", "10 10"),
        ("Z99", "11010 1100011"),
        ("AA5", "11011 101"),
        ("ZZ10", "1010111110 1010"),
    ],
)
def test_the_row_of_dots_is_the_code_in_binary(code: str, row: str) -> None:
    assert dot_row(code) == row


def test_dots_start_at_the_zero_mark_and_are_told_apart_by_touch() -> None:
    marks = marks_on("B5", 1, face_of(lobe(30.0, 34.0, 90.0)))
    dots = [
        unary_union(area_of(replace(marks, groups={"one": (dot,)}))) for dot in marks.groups["row of dots"]
    ]
    sizes = [np.ptp(dot.bounds[::2]) for dot in dots]
    assert [size > 1.2 for size in sizes] == [True, False, True, False, True]
    angles = [np.degrees(np.arctan2(dot.centroid.y, dot.centroid.x)) for dot in dots]
    steps = np.diff([0.0, *angles])
    assert np.all(steps > 0)
    assert steps[2] == pytest.approx(2 * steps[1], rel=1e-3)
    assert min(first.distance(second) for first, second in pairwise(dots)) > 0.7


def test_with_dogs_the_marks_keep_off_them() -> None:
    stack = Stack(
        id="main",
        dogs=Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0),
        bore=Bore(shape="round", across_mm=8.0),
    )
    project = one_sided()
    shapes = dog_shapes(project, stack, "A1")
    assert shapes is not None
    for least in (12.5, 16.0, 30.0):
        faces = Face.choices((bore_path(stack.bore, 0.2),), shapes, lobe(least, least + 6.0, 120.0), 0.4, 0.8)
        marks = marks_on("A1", 1, faces)
        assert "code" not in marks.missing
        assert ("zero mark" in marks.groups) == (least > 14)
        drawn = unary_union(area_of(marks))
        for pocket in shapes.pockets:
            assert drawn.distance(Polygon(pocket.flattened(1e-3))) > 0.7


def test_marks_keep_off_pegs_that_a_correction_makes_larger() -> None:
    """Pegs of 1.53 mm are 5.33 mm wide once a printer's file draws contours 1.9 mm larger."""
    dogs = Dogs(count=6, radius_mm=11.11, width_mm=1.53, height_mm=0.81)
    stack = Stack(id="main", dogs=dogs, bore=Bore(shape="round", across_mm=5.0))
    shapes = dog_shapes(one_sided(printing=Print(contour_mm=1.9)), stack, "A1")
    assert shapes is not None
    for least in (16.0, 30.0):
        marks = marks_on(
            "A1", 1, Face.choices((bore_path(stack.bore, 0.2),), shapes, lobe(least, least, 0), 0.4, 0.8)
        )
        drawn = unary_union(area_of(marks))
        assert marks.groups["code"] or least < 20
        assert min(drawn.distance(Polygon(peg.flattened(1e-3))) for peg in shapes.printer_pegs) > 0.5
