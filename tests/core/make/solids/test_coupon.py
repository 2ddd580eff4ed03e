"""The fit coupon: a closed plate whose holes and pockets are those of the stack at steps of clearance."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from shapely.geometry import LineString, Polygon

from shaftscore.edits import set_stack
from shaftscore.make.solids import CLEARANCES_MM, coupon_part, part_mesh, printed
from shaftscore.model import Bore, Dogs, Print, Project, Stack
from shaftscore.model.base import replaced
from tests.core.make.exporting.machines import one_sided

DOGS = Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0)
BORES = {
    "round": Bore(shape="round", across_mm=8.0),
    "d": Bore(shape="d", across_mm=6.0, flat_mm=5.0),
    "hex": Bore(shape="hex", across_mm=8.0),
    "square": Bore(shape="square", across_mm=3.0),
}


def machine(dogs: Dogs | None = None, bore: Bore | None = None, **printing: float) -> Project:
    stack = Stack(id="main", dogs=dogs, bore=bore or Bore())
    return replaced(one_sided(), stacks=(stack,), print=Print(**printing))


def polygon(path) -> Polygon:
    return Polygon(path.flattened(1e-4))


@pytest.mark.parametrize("shape", BORES)
@pytest.mark.parametrize("dogs", [None, DOGS], ids=["plain", "dogs"])
def test_holes_grow_step_by_step_and_nothing_runs_into_anything(shape: str, dogs: Dogs | None) -> None:
    project = machine(dogs, BORES[shape])
    part = coupon_part(project, project.stacks[0])
    plate = polygon(part.contour)
    holes = [polygon(hole) for hole in part.holes]
    pockets = [polygon(pocket) for pocket in part.dogs.pockets] if part.dogs else []
    pegs = [polygon(peg) for peg in part.dogs.pegs] if part.dogs else []
    half = part.marks.width_mm / 2
    strokes = [LineString([(p.real, p.imag) for p in stroke]).buffer(half) for stroke in part.marks.strokes]
    assert len(holes) == len(CLEARANCES_MM)
    assert [hole.area for hole in holes] == sorted(hole.area for hole in holes)
    assert all(thing.within(plate.buffer(-0.9)) for thing in (*holes, *pockets, *pegs, *strokes))
    assert all(first.distance(second) > 1.4 for first, second in combinations(holes + pegs, 2))
    assert all(first.distance(second) > 1.4 for first in holes for second in pockets)
    assert all(first.distance(second) > 0.5 for first in strokes for second in holes + pegs)
    assert (len(pockets), len(pegs), part.count) == ((8, 1, 2) if dogs else (0, 0, 1))


def test_the_plate_is_closed_and_weighs_what_it_should() -> None:
    project = machine(DOGS)
    part = coupon_part(project, project.stacks[0])
    mesh = part_mesh(printed(part))
    dogs = part.dogs
    assert dogs is not None
    marks = Polygon()
    for stroke in part.marks.strokes:
        marks = marks.union(LineString([(p.real, p.imag) for p in stroke]).buffer(part.marks.width_mm / 2, 2))
    expected = (
        polygon(part.contour).area * part.thickness_mm
        - sum(2 * math.sqrt(3) * (4.0 + clearance) ** 2 for clearance in CLEARANCES_MM) * part.thickness_mm
        - sum(polygon(pocket).area for pocket in dogs.pockets) * dogs.depth_mm
        + polygon(dogs.pegs[0]).area * dogs.height_mm
        - marks.area * part.marks.depth_mm
    )
    assert mesh.volume == pytest.approx(expected, rel=2e-4)
    assert mesh.corners[:, 2].max() == pytest.approx(part.thickness_mm + DOGS.height_mm)


def test_the_printers_correction_of_holes_is_in_the_printed_one() -> None:
    plain, corrected = machine(), machine(hole_mm=0.1)
    first, second = (printed(coupon_part(p, p.stacks[0])) for p in (plain, corrected))
    for one, two in zip(first.holes, second.holes, strict=True):
        wide = [np.ptp(hole.flattened(1e-4)[:, 0]) for hole in (one, two)]
        assert wide[1] - wide[0] == pytest.approx(0.2)


def test_choosing_a_clearance_does_not_make_the_coupon_new_but_another_bore_does() -> None:
    project = machine(DOGS)
    before = coupon_part(project, project.stacks[0])
    chosen = set_stack(project, "main", fit_clearance_mm=0.3).project
    assert chosen.stacks[0].fit_clearance_mm == 0.3
    assert coupon_part(chosen, chosen.stacks[0]).hash == before.hash
    other = set_stack(project, "main", bore=Bore(shape="round", across_mm=8.0)).project
    assert coupon_part(other, other.stacks[0]).revision != before.revision


def test_every_clearance_is_written_as_two_digits() -> None:
    assert [f"{round(100 * clearance):02d}" for clearance in CLEARANCES_MM][:3] == ["05", "10", "15"]
    assert all(0 < clearance < 1 for clearance in CLEARANCES_MM)
