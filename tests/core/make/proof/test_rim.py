"""Files read back into rim edges: whole bodies only, in their place, each edge with its material left."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest

from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.proof import ExpectedPart, PartShape, ReadRim, RimError, read_dxf, read_stl
from shaftscore.make.proof.compare import ReadPart
from shaftscore.make.solids.rings import wall
from shaftscore.make.solids.solid import Mesh


def prism(corners: int = 30, radius: float = 10.0, height: float = 5.0) -> Mesh:
    angle = 2 * np.pi * np.arange(corners) / corners
    ring = radius * np.column_stack([np.cos(angle), np.sin(angle)])
    low, high = (np.column_stack([ring, np.full(corners, z)]) for z in (0.0, height))
    fan = np.array([[0, k, k + 1] for k in range(1, corners - 1)])
    return Mesh(
        np.concatenate([low, high]), np.concatenate([wall(ring, ring, 0), fan[:, ::-1], fan + corners])
    )


def written(path: Path, mesh: Mesh) -> Path:
    path.write_bytes(stl_bytes(mesh, "A1"))
    return path


def solid(path: Path) -> ReadPart:
    return read_stl(path, "A1").parts["A1"]


def upright(path: Path, low_mm: float, high_mm: float) -> ReadRim:
    return solid(path).rim(low_mm, high_mm, grooved=False)


def cut_lines(path: Path) -> ReadRim:
    return read_dxf(path, "A1").parts["A1"].rim(0.0, 0.0, grooved=False)


PLAIN = ExpectedPart(
    PartShape(thickness_mm=5.0, chamfer_mm=0.0, contour=prism().corners[:30, :2], holes=()), drawn=False
)


def test_a_prism_gives_each_edge_once_counterclockwise(tmp_path: Path) -> None:
    rim = upright(written(tmp_path / "a.stl", prism()), 1.0, 4.0)
    assert (len(rim.start), rim.height_mm) == (30, 5.0)
    assert np.all((np.conj(rim.start) * rim.end).imag > 0)
    middle = (rim.start + rim.end) / 2
    np.testing.assert_allclose(rim.normal, middle / np.abs(middle), atol=1e-6)
    assert len(rim.facing(True).start) == 30
    assert len(rim.facing(False).start) == 0


def test_walls_outside_the_heights_do_not_count(tmp_path: Path) -> None:
    assert len(upright(written(tmp_path / "a.stl", prism()), 5.0, 9.0).start) == 0


def test_an_open_body_is_refused(tmp_path: Path) -> None:
    whole = prism()
    with pytest.raises(RimError, match=r"a\.stl: the body is not closed: \d+ edges"):
        solid(written(tmp_path / "a.stl", Mesh(whole.corners, whole.triangles[:-1]))).structure(PLAIN)


def test_a_body_with_a_triangle_the_wrong_way_round_is_refused(tmp_path: Path) -> None:
    whole = prism()
    turned = np.concatenate([whole.triangles[:1, ::-1], whole.triangles[1:]])
    with pytest.raises(RimError, match="not closed"):
        solid(written(tmp_path / "a.stl", Mesh(whole.corners, turned))).structure(PLAIN)


def test_a_body_that_does_not_stand_on_the_ground_is_a_fault(tmp_path: Path) -> None:
    whole = prism()
    assert solid(written(tmp_path / "a.stl", whole)).structure(PLAIN) == []
    raised = Mesh(whole.corners + np.array([0, 0, 2.0]), whole.triangles)
    first = solid(written(tmp_path / "b.stl", raised)).structure(PLAIN)[0]
    assert first.what.startswith("its bottom is at z = 2.000 mm, not at 0.000 mm")
    assert (first.by, first.limit, first.unit) == (2.0, 0.01, "mm")


@pytest.mark.parametrize(
    "data", [b"", b"solid a\nendsolid a\n", bytes(84), bytes(80) + b"\x02\0\0\0" + bytes(50)]
)
def test_other_files_are_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "a.stl").write_bytes(data)
    with pytest.raises(RimError, match="no binary STL file"):
        solid(tmp_path / "a.stl")


def drawing(path: Path, unit: int = 4, layer: str = "cut", close: bool = True) -> Path:
    document = ezdxf.new(units=unit)
    square = [(9.0, -9.0), (-9.0, -9.0), (-9.0, 9.0), (9.0, 9.0)]
    document.modelspace().add_lwpolyline(square, close=close, dxfattribs={"layer": layer})
    document.modelspace().add_circle((0, 0), 4.0, dxfattribs={"layer": layer})
    document.saveas(path)
    return path


def test_a_drawing_gives_contour_and_hole_with_the_material_between(tmp_path: Path) -> None:
    rim = cut_lines(drawing(tmp_path / "a.dxf"))
    out = rim.facing(True)
    assert len(out.start) == 4
    assert np.all((np.conj(out.start) * out.end).imag > 0)
    hole = rim.facing(False)
    np.testing.assert_allclose(np.abs(hole.start), 4.0, atol=1e-3)
    assert np.all((np.conj(hole.start) * hole.end).imag < 0)


@pytest.mark.parametrize(
    ("unit", "layer", "message"),
    [(1, "cut", "its unit is 1, not millimetres"), (4, "other", "no closed line on its layer cut")],
)
def test_a_drawing_in_inches_or_without_a_contour_is_refused(
    tmp_path: Path, unit: int, layer: str, message: str
) -> None:
    with pytest.raises(RimError, match=message):
        cut_lines(drawing(tmp_path / "a.dxf", unit, layer))


def test_arcs_of_a_drawing_are_followed_either_way_round(tmp_path: Path) -> None:
    turned = [
        (9.0, 0.0, 0.0),
        (9.0, 9.0, 0.0),
        (-9.0, 9.0, 0.0),
        (-9.0, 0.0, 0.0),
        (-3.0, 0.0, -1.0),
        (3.0, 0.0, 0.0),
    ]
    for number, corners in enumerate((turned, [(x, y, -b) for x, y, b in _reversed(turned)])):
        document = ezdxf.new(units=4)
        document.modelspace().add_lwpolyline(corners, format="xyb", close=True, dxfattribs={"layer": "cut"})
        document.saveas(tmp_path / f"{number}.dxf")
        rim = cut_lines(tmp_path / f"{number}.dxf")
        area = float((np.conj(rim.start) * rim.end).imag.sum()) / 2
        assert area == pytest.approx(18 * 9 - np.pi * 9 / 2, abs=1e-2)


def _reversed(corners: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    """The same line the other way round: a bulge belongs to the edge after its corner."""
    back = corners[::-1]
    return [(x, y, back[(place + 1) % len(back)][2]) for place, (x, y, _) in enumerate(back)]


@pytest.mark.parametrize(("thick_mm", "heights"), [(0.02, [0.01]), (0.5, [0.25])])
def test_a_part_as_thin_as_its_limits_is_looked_at_in_its_middle(
    thick_mm: float, heights: list[float]
) -> None:
    ring = prism().corners[:30, :2]
    shape = PartShape(thickness_mm=thick_mm, chamfer_mm=0.0, contour=ring, holes=())
    assert [area.place for area in ExpectedPart(shape, drawn=False).areas] == pytest.approx(heights)
