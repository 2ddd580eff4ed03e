"""Bodies that stand on a part or are cut to a depth: in solids, in drawings, in the recorded shape."""

from __future__ import annotations

import io
import math
from dataclasses import replace

import ezdxf
import pytest
import trimesh

from shaftscore.make.files.dxf import dxf_bytes
from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.proof import ExpectedPart, shape_of
from shaftscore.make.proof.compare import compare
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.shape import read_shape, recorded_shape
from shaftscore.make.solids import MadePart, part_mesh, printed
from shaftscore.make.solids.part import PlainPart, plain_part
from shaftscore.model import Print, Project, Shaft
from shaftscore.stack.paths import circle, polygon

PLATE = polygon((-30 - 20j, 30 - 20j, 30 + 20j, -30 + 20j))
BOSS, SEAT = circle(10.0), circle(5.0, 18 + 0j)


def _project(**changes: float) -> Project:
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=5.0),
        print=Print(**changes),
    )


def _part(project: Project) -> MadePart:
    """Make a plate of 60 x 40 x 6 mm with a boss 8 mm high, a hole through it, a seat 4 mm deep below."""
    return plain_part(
        project,
        PlainPart(
            kind="plate",
            code="PLATE-TOP",
            label="top plate",
            thickness_mm=6.0,
            contour=PLATE,
            holes=(circle(3.0),),
            raised=(("boss", BOSS, (6.0, 14.0)),),
            sunk=(("seat", SEAT, (0.0, 4.0)),),
        ),
    )


def test_volume_is_that_of_the_plate_the_boss_and_what_is_cut() -> None:
    """Areas times heights, by the closed forms of rectangle and circle."""
    right = 60 * 40 * 6 + math.pi * (100 * 8 - 9 * 14 - 25 * 4)
    mesh = part_mesh(_part(_project()))
    assert mesh.volume == pytest.approx(right, rel=2e-4)
    assert trimesh.Trimesh(mesh.corners, mesh.triangles).is_watertight


def test_corrections_move_boss_outward_and_widen_the_seat() -> None:
    """0.2 mm outward on contour and boss, 0.1 mm on hole and seat; then 2 % larger in plan."""
    part = printed(_part(_project(contour_mm=0.2, hole_mm=0.1, shrinkage_percent=2.0)))
    rounded_corners = (4 - math.pi) * 0.2**2
    drawn = (60.4 * 40.4 - rounded_corners) * 6 + math.pi * (10.2**2 * 8 - 3.1**2 * 14 - 5.1**2 * 4)
    assert part_mesh(part).volume == pytest.approx(drawn / 0.98**2, rel=2e-4)


@pytest.mark.parametrize("shrinkage", [0.0, 1.5])
def test_written_body_is_read_as_what_it_should_be(shrinkage: float) -> None:
    """A boss 0.3 mm too high, a seat that is not there: each is found in the file."""
    part = _part(_project(shrinkage_percent=shrinkage))
    expected = ExpectedPart(shape_of(part, "printed"), drawn=False)
    assert _faults(part, expected) == []
    boss = part.raised[0]
    assert (
        "top is at z = 14.300 mm" in _faults(replace(part, raised=(replace(boss, top_mm=14.3),)), expected)[0]
    )
    assert any("seat" in fault or "z = 4.000" in fault for fault in _faults(replace(part, sunk=()), expected))
    shifted = replace(boss, printer_path=boss.path.shifted(0.1 + 0j))
    assert any("near its boss" in fault for fault in _faults(replace(part, raised=(shifted,)), expected))


def _faults(part: MadePart, expected: ExpectedPart) -> list[str]:
    data = stl_bytes(part_mesh(printed(part)), part.code)
    mesh = trimesh.load(io.BytesIO(data), file_type="stl")
    read = SolidPart(mesh.triangles.astype(float), "a.stl")
    return [fault.what for fault in compare("a.stl", part.code, read, expected)]


def test_drawing_has_each_edge_on_the_layer_step() -> None:
    """The boss has radius 10 about the axis, the seat radius 5 about x = 18."""
    document = ezdxf.read(io.StringIO(dxf_bytes(_part(_project())).decode()))
    lines = [line for line in document.modelspace() if line.dxf.layer == "step"]
    spans = sorted((min(x for x, *_ in line), max(x for x, *_ in line)) for line in lines)
    assert spans == [pytest.approx((-10, 10)), pytest.approx((13, 23))]


def test_recorded_shape_is_read_back() -> None:
    """Names, heights and outlines of both bodies, and the height of the whole part."""
    shape = shape_of(_part(_project()), "printed")
    read = read_shape(recorded_shape(shape), "manifest")
    assert read.top_mm == 14.0
    assert read.peg_mm == 0.0
    assert [(body.name, body.bottom_mm, body.top_mm) for body in (*read.raised, *read.sunk)] == [
        ("boss", 6.0, 14.0),
        ("seat", 0.0, 4.0),
    ]
