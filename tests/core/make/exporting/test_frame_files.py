"""Files of the frame: plates, pillars, knob and crank, drilling templates and the shopping list.

Solids are cut by trimesh, drawings read by ezdxf, paper by pypdf and pypdfium2; areas are sums by hand.
"""

from __future__ import annotations

import csv
import io
import math
import shutil
from functools import reduce
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pypdf
import pypdfium2
import pytest
import trimesh
from shapely import MultiPoint, Point, Polygon
from shapely.geometry.base import BaseGeometry

from shaftscore.judge.report import QUICK, examine
from shaftscore.layout.frame import frame_plan
from shaftscore.layout.frame_plan import BOTH, PlateSide
from shaftscore.make.drawing.paper_sizes import A4, LETTER, PaperSize
from shaftscore.make.drawing.template import OVERLAP_MM, plate_template, tiles_of
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.against import check_folder
from shaftscore.make.manual.template import template_bytes
from shaftscore.make.solids.knob import arm, lobed
from shaftscore.make.solids.plate import plate_part
from shaftscore.model import Bore, CrankSource, Drive, MachineFrame, MotorPlace, Pins, Project, Rod, Stack
from shaftscore.model.base import replaced
from shaftscore.solution import solve
from tests.machines import gate, machine

MOTOR = MotorPlace(
    x_mm=-14.4, y_mm=-39.5, face="below", pilot_mm=8.5, screw_circle_mm=17.0, screws=2, screw_mm=3.0
)
ROD = Rod(across_mm=8.0, thread="M8", below_mm=14.0, above_mm=14.0, clamp_n=300.0)
STACK = Stack(
    id="s",
    name="Main shaft",
    bore=Bore(shape="round", across_mm=8.0),
    spacer_radius_mm=16.0,
    rod=ROD,
    pins=Pins(count=2, radius_mm=11.0, across_mm=3.0),
)


def framed() -> Project:
    """Two gates on a threaded rod, turned by a crank, in a frame of 8 mm plates with a motor's place."""
    lanes = [
        gate(name, 100.0 * k, 100.0 * k + 30, 50.0, code=f"A{k + 1}")
        for k, name in enumerate(("Ginger", "Rose"))
    ]
    drive = Drive(source=CrankSource(kind="crank", radius_mm=60.0, turn="clockwise"))
    made = machine(*lanes, stacks=(STACK,), drive=drive)
    return replaced(made, frame=MachineFrame(plate_mm=8.0, motor=MOTOR))


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("framed")
    export_project(examine(framed(), stage=QUICK), folder, ["stl", "dxf", "csv"], despite_errors=True)
    return folder


def section_of(path: Path, z_mm: float) -> BaseGeometry:
    """Return a level section of a solid."""
    mesh = trimesh.load(path)
    assert mesh.is_watertight
    cut = mesh.section(plane_origin=[0, 0, z_mm], plane_normal=[0, 0, 1])
    loops = [Polygon(np.asarray(loop)[:, :2]) for loop in cut.discrete]
    return reduce(lambda one, other: one.symmetric_difference(other), loops)


def section_area(path: Path, z_mm: float) -> float:
    """Return the area of a level section of a solid, mm²."""
    return float(section_of(path, z_mm).area)


def disc(diameter_mm: float) -> float:
    return math.pi / 4 * diameter_mm**2


def test_plates_have_their_holes_and_seats_on_the_inner_faces(out: Path) -> None:
    """A rod of 8 mm runs in 608 bearings, 22 x 7 mm: seats 7 mm deep of 22.1, holes of 10 mm under them."""
    bottom, top = out / "PLATE-BOTTOM_bottom-plate.stl", out / "PLATE-TOP_top-plate.stl"
    size = trimesh.load(bottom).extents
    assert size[2] == pytest.approx(8.0)
    whole, pillars = size[0] * size[1], 4 * disc(6.6)
    motor = disc(8.5) + 2 * disc(3.4)
    near = {"abs": 0.6}  # chords of round holes
    assert section_area(bottom, 0.5) == pytest.approx(whole - pillars - motor - disc(10.0), **near)
    assert section_area(bottom, 1.5) == pytest.approx(whole - pillars - motor - disc(22.1), **near)
    assert section_area(top, 6.5) == pytest.approx(whole - pillars - disc(22.1), **near)
    assert section_area(top, 7.2) == pytest.approx(whole - pillars - disc(10.0), **near)
    sleeve = out / "PILLAR_pillar-sleeve.stl"
    # Two discs of 5 and a spacer of 6 mm; the bearings' middles are 7.0 - 3.5 mm inside the plates' faces.
    assert trimesh.load(sleeve).extents[2] == pytest.approx(16.0 + 2 * (14.0 - 3.5))
    assert section_area(sleeve, 5.0) == pytest.approx(disc(14.6) - disc(6.6), **near)


@pytest.mark.parametrize("side", BOTH)
def test_engraved_names_are_beside_holes_and_on_the_plate(side: PlateSide) -> None:
    """Strokes are 0.8 mm wide and keep 0.4 mm from holes and edges; a name is next to its own hole."""
    plan = frame_plan(solve(framed()))
    assert plan is not None
    part = plate_part(framed(), plan, side)
    assert part.marks.missing == ()
    holes = {
        hole.name: Point(hole.at.real, hole.at.imag).buffer(hole.reach_mm) for hole in plan.of_plate(side)
    }
    edge = Polygon(part.outline).exterior
    for name, strokes in part.marks.groups.items():
        text = MultiPoint([(corner.real, corner.imag) for stroke in strokes for corner in stroke]).convex_hull
        assert Polygon(part.outline).contains(text)
        assert min(text.distance(one) for one in (edge, *holes.values())) > 0.4 + 0.4
        if name.startswith("name of "):
            own = holes[name.removeprefix("name of ")]
            assert text.distance(own) < 6.0
            assert abs(text.distance(own) - min(text.distance(one) for one in holes.values())) < 1.0


def test_the_crank_arm_reaches_its_handle(out: Path) -> None:
    mesh = trimesh.load(out / "KNOB_crank-arm.stl")
    end = 3.3 + 6.0
    assert mesh.bounds[1][0] == pytest.approx(60.0 + end, abs=0.01)
    assert -mesh.bounds[0][0] == pytest.approx(4.0 + STACK.fit_clearance_mm + 6.0, abs=0.01)
    section = section_of(out / "KNOB_crank-arm.stl", 5.0)
    assert [section.contains(Point(x, 0)) for x in (0.0, 30.0, 60.0)] == [False, True, False]


def test_outlines_of_arm_and_knob_against_hulls_and_circles() -> None:
    hull = (
        MultiPoint([(0, 0)])
        .buffer(12, quad_segs=720)
        .union(Point(60, 0).buffer(9, quad_segs=720))
        .convex_hull
    )
    assert arm(12.0, 9.0, 60.0).area == pytest.approx(hull.area, rel=1e-5)
    radii = np.hypot(*lobed(20.0).flattened(0.001).T)
    assert radii.max() == pytest.approx(20.0, abs=0.005)
    assert radii.min() > 16.0
    assert Polygon(lobed(20.0).flattened(0.001)).is_valid


def test_template_holes_in_table_and_drawing_are_the_same(out: Path) -> None:
    """By another library: each row of the table has its circle, and the name stands beside it."""
    drawing = ezdxf.readfile(out / "drill_template_bottom.dxf")
    assert not drawing.audit().has_errors
    assert drawing.units == 4
    space = drawing.modelspace()
    texts = {text.dxf.layer: [] for text in space.query("TEXT")}
    for text in space.query("TEXT"):
        texts[text.dxf.layer].append((text.dxf.text, text.dxf.insert))
    circles = {
        (round(c.dxf.center.x, 1), round(c.dxf.center.y, 1), round(2 * c.dxf.radius, 2))
        for c in space.query("CIRCLE")
    }
    rows: dict[float, list[tuple[float, str]]] = {}
    for said, at in texts["TABLE"]:
        rows.setdefault(round(at.y, 3), []).append((at.x, said))
    table = [[said for _, said in sorted(row)] for row in rows.values() if len(row) == 5][1:]
    assert {row[0] for row in table} == {"S", "M", "M1", "M2", "F1", "F2", "F3", "F4"}
    names = dict(texts["HOLE"])
    for name, *figures, _ in table:
        x, y, across = (float(one.replace("−", "-")) for one in figures)
        assert (x, y, across) in circles
        assert math.dist((x, y), (names[name].x, names[name].y)) < across / 2 + 12.0
    assert (-14.4, -39.5, 8.5) in circles
    outline = next(iter(space.query('LWPOLYLINE[layer=="OUTLINE"]')))
    corners = np.array([point[:2] for point in outline.get_points()])
    size = trimesh.load(out / "PLATE-BOTTOM_bottom-plate.stl").extents
    assert np.ptp(corners, axis=0) == pytest.approx(size[:2], abs=0.01)


@pytest.mark.parametrize(("size", "wide"), [(A4, 210.0), (LETTER, 215.9)])
def test_template_on_paper_is_of_full_size(size: PaperSize, wide: float) -> None:
    plan = frame_plan(solve(framed()))
    assert plan is not None
    data = template_bytes(framed(), plan, size)
    pages = pypdf.PdfReader(io.BytesIO(data)).pages
    first = " ".join(pages[0].extract_text().split())
    assert "PLATE-BOTTOM" in first
    assert "−14.4" in first
    assert "Print at 100 %" in first
    assert any("PLATE-TOP" in page.extract_text() for page in pages)
    document = pypdfium2.PdfDocument(data)
    scale = 8.0
    image = np.asarray(document[1].render(scale=scale).to_pil().convert("L"))
    mm = wide / image.shape[1]
    corner = image[round(20 / mm) : round(34 / mm), image.shape[1] // 2 :] < 100  # between head and tile
    longest = max(_longest_run(row) for row in corner)
    places = {name: _place_of(document[1].get_textpage(), name) for name in ("F1", "F2", "F3")}
    document.close()
    # Names stand beside their holes in the same way, so that their distances are those of the holes.
    named = {hole.name: hole.at for hole in plan.holes}
    for name in ("F2", "F3"):
        assert places[name] - places["F1"] == pytest.approx(named[name] - named["F1"], abs=0.3)
    assert all(15.0 < at.real < wide - 15.0 and 23.0 < at.imag < 285.0 for at in places.values())
    assert longest * mm == pytest.approx(50.0, abs=0.6)  # 0.35 mm is the line's own width


def _place_of(page: pypdfium2.PdfTextPage, text: str) -> complex:
    """Return the lower left corner of a text on a page, mm from the page's."""
    index, _ = page.search(text).get_next()
    left, bottom, _, _ = page.get_charbox(index)
    return complex(left, bottom) * 25.4 / 72


def _longest_run(row: np.ndarray) -> int:
    ends = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return max((int(end - start) for start, end in pairwise(ends) if row[start]), default=0)


def test_tiles_cover_all_and_share_their_marks() -> None:
    plan = frame_plan(solve(framed()))
    assert plan is not None
    template = plate_template(plan, "bottom")
    wide, high = 60.0, 70.0
    tiles = tiles_of(template, wide, high)
    assert len(tiles) > 4
    for hole in plan.of_plate("bottom"):
        inside = [
            tile
            for tile in tiles
            if tile.low.real <= hole.at.real <= tile.low.real + wide
            and tile.low.imag <= hole.at.imag <= tile.low.imag + high
        ]
        assert inside
        assert any(text.text == hole.name for tile in tiles for text in tile.scene.texts)
    for tile in tiles:
        for line in tile.scene.paths:
            for point in line.corners.tolist():
                assert -1e-6 <= point.real - tile.low.real <= wide + 1e-6
                assert -1e-6 <= point.imag - tile.low.imag <= high + 1e-6
    by_place = {(tile.column, tile.row): tile for tile in tiles}
    left, right = by_place[1, 1], by_place[2, 1]
    assert right.low.real - left.low.real == pytest.approx(wide - OVERLAP_MM)
    marks = [
        {
            tuple(line.corners.tolist())
            for line in tile.scene.paths
            if line.name == "join" and len(set(line.corners.imag.tolist())) == 1
        }
        for tile in (left, right)
    ]
    assert len(marks[0] & marks[1]) >= 2


def test_shopping_list_has_rod_nuts_bearings_pillars_and_pins_with_lengths(out: Path) -> None:
    rows = list(csv.DictReader(io.StringIO((out / "parts_list.csv").read_text(encoding="utf-8"))))
    sizes = {(row["part"], row["what"]): (row["count"], row["size"]) for row in rows}
    # Plates' outer faces: 16 + 2 * (14 - 3.5) + 2 * 8 = 53 mm; then 12 mm for the crank arm.
    assert sizes["shaft of Main shaft", "shaft"] == ("1", "threaded rod M8, 65 mm long")
    assert sizes["clamp of Main shaft", "nut"] == ("2", "M8, ISO 4032")
    assert sizes["clamp of Main shaft", "washer"] == ("2", "8 mm, ISO 7089")
    assert sizes["bearings of Main shaft", "ball bearing"] == ("2", "608, 8 × 22 × 7 mm")
    assert ("bearings of Main shaft", "bearing sleeve") not in sizes
    assert sizes["pins of Main shaft", "pin"] == ("2", "diameter 3 mm, 16 mm or longer")
    assert sizes["pillars", "threaded rod"] == ("4", "M6, 72 mm long")
    assert sizes["motor", "screw"] == ("2", "M3, 11 mm or longer")
    assert sizes["crank", "handle"][0] == "1"
    plate = next(row for row in rows if row["code"] == "PLATE-TOP")
    assert plate["material"] == "PLA"


def test_an_export_with_templates_is_checked_and_a_changed_one_is_found(out: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(out, copy, ignore=shutil.ignore_patterns("A*", "FIT*", "SPACER*"))
    found = check_folder(None, copy)
    assert {"drill_template_bottom.dxf", "drill_template_top.dxf"} <= set(found.left_out)
    faulty = {fault.file for fault in found.found}
    assert not any(name.startswith(("drill", "PLATE", "PILLAR", "KNOB")) for name in faulty)
    template = copy / "drill_template_top.dxf"
    template.write_bytes(template.read_bytes().replace(b"F1", b"F9", 1))
    changed = [fault.text for fault in check_folder(None, copy).found if fault.file.startswith("drill")]
    assert len(changed) == 1
    assert changed[0].startswith("drill_template_top.dxf: changed since export")
