"""Further formats, opened by other libraries: 3MF, SVG, CSV; parts that are keyed, and grooves."""

from __future__ import annotations

import csv
import math
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from shapely.geometry import LineString, Polygon, box

from shaftscore.base.progress import Silent
from shaftscore.judge.report import examine
from shaftscore.make.exporting import ExportResult, FaultyProjectError, export_project
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.plates import GAP_MM, lay_out
from shaftscore.model import Dogs, Print, Project, Rod, Stack, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from tests.core.make.exporting.machines import LIFT_MM, one_sided

SVG = "{http://www.w3.org/2000/svg}"
DOGS = Dogs(count=3, radius_mm=9.0, width_mm=3.0, height_mm=2.0)
STEM = "A1_tea-flap"


def machine(count: int = 3, **stack: object) -> Project:
    """A machine of several lanes on one stack."""
    project = one_sided()
    lanes = [replaced(project.lanes[0], id=f"lane{n}", name=f"Lane {n}", code=None) for n in range(count)]
    return replaced(project, lanes=with_codes(lanes), stacks=(Stack(id="main", **stack),))  # type: ignore[arg-type]


def read_model(path: Path) -> object:
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    return model


def builds(path: Path) -> list[tuple[str, str, tuple[float, ...]]]:
    """Name, part number and place of every build item."""
    model = read_model(path)  # its parts do not outlive it
    items = model.GetBuildItems()  # type: ignore[attr-defined]
    found = []
    while items.MoveNext():
        item = items.GetCurrent()
        at = tuple(item.GetObjectTransform().Fields[3][:])
        found.append((item.GetObjectResource().GetName(), item.GetPartNumber(), at))
    return found


def test_the_plates_hold_every_part_by_name_on_the_bed(tmp_path: Path) -> None:
    project = replaced(machine(4), print=Print(bed_x_mm=150.0, bed_y_mm=150.0))
    export_project(project, tmp_path, ["3mf"])
    placed = builds(tmp_path / "plates_test-machine.3mf")
    assert sorted(name for name, _, _ in placed) == sorted(
        [f"A{n + 1} Lane {n}" for n in range(4)] + ["SPACER spacer of main"] * 3 + ["FIT fit coupon of main"]
    )
    footprints = footprints_of(tmp_path / "plates_test-machine.3mf")
    for number, first in enumerate(footprints):
        plate = first.bounds[0] // 170.0
        bed = box(plate * 170.0, 0.0, plate * 170.0 + 150.0, 150.0)
        assert first.within(bed.buffer(-GAP_MM + 0.01))
        assert all(first.distance(second) > GAP_MM - 0.01 for second in footprints[number + 1 :])
    assert all(part.is_watertight for part in trimesh.load(tmp_path / "plates_test-machine.3mf").dump())


def footprints_of(path: Path) -> list[Polygon]:
    """Boxes about the parts of a file, where they are built."""
    model = read_model(path)
    items = model.GetBuildItems()  # type: ignore[attr-defined]
    found = []
    while items.MoveNext():
        item = items.GetCurrent()
        at = np.array(item.GetObjectTransform().Fields[3][:2])
        mesh = model.GetMeshObjectByID(item.GetObjectResource().GetUniqueResourceID())  # type: ignore[attr-defined]
        corners = at + np.array([vertex.Coordinates[:2] for vertex in mesh.GetVertices()])
        found.append(box(*corners.min(axis=0), *corners.max(axis=0)))
    return found


def test_the_assembly_stacks_the_parts_from_the_bottom(tmp_path: Path) -> None:
    export_project(machine(3, order=("lane2", "lane0", "lane1"), spacer_mm=4.0), tmp_path, ["3mf"])
    placed = builds(tmp_path / "assembled_test-machine.3mf")
    assert [(code, at) for _, code, at in placed] == [
        ("A3", (0.0, 0.0, 0.0)),
        ("SPACER", (0.0, 0.0, 5.0)),
        ("A1", (0.0, 0.0, 9.0)),
        ("SPACER", (0.0, 0.0, 14.0)),
        ("A2", (0.0, 0.0, 18.0)),
    ]


def test_two_stacks_stand_side_by_side(tmp_path: Path) -> None:
    project = machine(2)
    lanes = (project.lanes[0], replaced(project.lanes[1], stack="upper"))
    project = replaced(project, lanes=lanes, stacks=(Stack(id="main"), Stack(id="upper", turns=3)))
    export_project(project, tmp_path, ["3mf"])
    first, second = (at for _, _, at in builds(tmp_path / "assembled_test-machine.3mf"))
    assert first == (0.0, 0.0, 0.0)
    assert second[0] > 2 * (24.0 + LIFT_MM)


def test_3mf_is_a_package_of_the_specification_in_millimetres(tmp_path: Path) -> None:
    """Core specification 1.4.0 (3MF Consortium): content type, start part, name space, unit."""
    export_project(one_sided(), tmp_path, ["3mf"])
    with zipfile.ZipFile(tmp_path / "plates_test-machine.3mf") as package:
        types = package.read("[Content_Types].xml").decode()
        relations = package.read("_rels/.rels").decode()
        model = etree.fromstring(package.read("3D/3dmodel.model"))
    assert "application/vnd.ms-package.3dmanufacturing-3dmodel+xml" in types
    assert "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel" in relations
    assert model.tag == "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}model"
    assert model.get("unit") == "millimeter"
    titles = [entry.text for entry in model if entry.get("name") == "Title"]
    assert titles == ["Test machine"]


def test_a_part_larger_than_the_bed_is_named(tmp_path: Path) -> None:
    project = replaced(one_sided(), print=Print(bed_x_mm=50.0, bed_y_mm=220.0))
    result = export_project(project, tmp_path, ["3mf"], despite_errors=True)
    assert any("is larger than the printer's 50 x 220 x 220 mm" in note for note in result.notes)


@given(
    sizes=st.lists(st.tuples(st.floats(5.0, 100.0), st.floats(5.0, 100.0)), min_size=1, max_size=30),
    bed=st.tuples(st.floats(120.0, 300.0), st.floats(120.0, 300.0)),
)
def test_rectangles_on_plates_keep_their_distance(
    sizes: list[tuple[float, float]], bed: tuple[float, float]
) -> None:
    spots = lay_out(sizes, bed)
    boxes = []
    for spot, size in zip(spots, sizes, strict=True):
        wide, high = size[::-1] if spot.turned else size
        boxes.append((spot.plate, box(spot.x_mm, spot.y_mm, spot.x_mm + wide, spot.y_mm + high)))
    for number, (plate, first) in enumerate(boxes):
        assert first.within(box(0, 0, *bed).buffer(1e-6))
        for other, second in boxes[number + 1 :]:
            assert plate != other or first.distance(second) > GAP_MM - 1e-6
    assert {plate for plate, _ in boxes} == set(range(max(plate for plate, _ in boxes) + 1))


def test_quarter_turns_save_plates() -> None:
    """By hand, 5 mm about each: three bars of 180 x 30 mm take 110 mm of a bed of 190 mm; a fourth, given as
    30 x 180 mm, goes above them where the bed is 145 mm long, and else has a plate of its own, turned.
    """
    bars = [(180.0, 30.0)] * 3 + [(30.0, 180.0)]
    assert [(spot.plate, spot.turned) for spot in lay_out(bars, (190.0, 110.0))] == [(0, False)] * 3 + [
        (1, True)
    ]
    assert [(spot.plate, spot.turned) for spot in lay_out(bars, (190.0, 145.0))] == [(0, False)] * 3 + [
        (0, True)
    ]
    assert not any(spot.turned for spot in lay_out([(40.0, 60.0), (60.0, 40.0)], (120.0, 120.0)))
    (filling,) = lay_out([(100.0, 219.0)], (220.0, 110.0))
    assert (filling.turned, filling.x_mm, filling.y_mm) == (True, 0.5, 5.0)


def test_a_rectangle_too_large_for_the_bed_has_a_plate_of_its_own() -> None:
    spots = lay_out([(50.0, 50.0), (500.0, 50.0), (40.0, 40.0)], (200.0, 200.0))
    assert len({spots[0].plate, spots[1].plate}) == 2
    assert spots[2].plate == spots[0].plate


def test_svg_is_drawn_at_its_true_size(tmp_path: Path) -> None:
    """SVG 1.1, section 7.10: 96 user units are an inch; width in mm over a viewBox in mm is 1 : 1."""
    export_project(one_sided(), tmp_path, ["svg"])
    drawing = etree.parse(tmp_path / f"{STEM}.svg").getroot()
    left, top, wide, high = (float(word) for word in drawing.get("viewBox").split())
    assert (drawing.get("width"), drawing.get("height")) == (f"{wide:g}mm", f"{high:g}mm")
    assert left == top == -wide / 2
    groups = {group.get("id"): group for group in drawing.iter(f"{SVG}g")}
    assert set(groups) == {"cut", "mark", "step", "centre", "scale"}
    bar = groups["scale"][0].get("d")
    start, end = (np.array(word[1:].split(), float) for word in _words(bar))
    assert end - start == pytest.approx([50.0, 0.0])


def _words(path: str) -> list[str]:
    return path.replace("L", "|L").replace("A", "|A").replace("Z", "").replace(" |", "|").split("|")


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_svg_arcs_turn_the_way_the_drawing_does(tmp_path: Path, turn: str) -> None:
    """The contour's area from arcs as SVG defines them: sweep 1 turns towards +y, which is down."""
    export_project(one_sided(turn), tmp_path, ["svg", "stl"])  # type: ignore[arg-type]
    drawing = etree.parse(tmp_path / f"{STEM}.svg").getroot()
    (cut,) = [group for group in drawing.iter(f"{SVG}g") if group.get("id") == "cut"]
    area = _svg_area(cut[0].get("d"))
    mesh = trimesh.load(tmp_path / f"{STEM}.stl")
    section = mesh.section([0, 0, 1], [0, 0, 2.5]).to_2D(to_2D=np.eye(4))[0]
    expected = max(ring.area for ring in section.polygons_closed)
    assert area == pytest.approx(-expected, rel=1e-4)


def _svg_area(data: str) -> float:
    """Signed area in SVG's own axes (y down)."""
    area, here, first = 0.0, 0j, 0j
    for word in _words(data):
        numbers = [float(n) for n in word[1:].split()]
        there = complex(*numbers[-2:])
        if word[0] == "M":
            here = first = there
            continue
        area += (here.conjugate() * there).imag / 2
        if word[0] == "A":
            radius, large, sweep = numbers[0], numbers[3], numbers[4]
            half = math.asin(min(1.0, abs(there - here) / 2 / radius))
            angle = 2 * (math.pi - half if large else half)
            area += (1 if sweep else -1) * radius**2 * (angle - math.sin(angle)) / 2
        here = there
    assert abs(first - here) < 1e-9 or data.endswith("Z")
    return area + (here.conjugate() * first).imag / 2


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_tables_hold_motion_and_profile_a_degree(tmp_path: Path) -> None:
    export_project(one_sided(), tmp_path, ["csv"])
    rows = rows_of(tmp_path / f"{STEM}.csv")
    assert [float(row["theta_deg"]) for row in rows] == list(range(360))
    assert float(rows[200]["s_mm"]) == LIFT_MM
    assert math.hypot(float(rows[50]["profile_x_mm"]), float(rows[50]["profile_y_mm"])) == pytest.approx(24.0)


def test_the_parts_list_names_what_is_printed_and_what_is_bought(tmp_path: Path) -> None:
    result = export_project(machine(3, spacer_mm=4.0), tmp_path, ["csv"])
    rows = rows_of(tmp_path / "parts_list.csv")
    assert [(row["code"], row["what"], row["count"]) for row in rows] == [
        ("A1", "disc", "1"),
        ("A2", "disc", "1"),
        ("A3", "disc", "1"),
        ("SPACER", "spacer", "2"),
        ("FIT", "fit coupon", "1"),
        ("", "shaft", "1"),
        ("A1", "roller", "1"),
        ("A2", "roller", "1"),
        ("A3", "roller", "1"),
        ("", "build plate", "1"),
        ("", "build plate", "1"),
    ]
    assert rows[5]["size"] == "hexagon, across flats 8 mm, 33 mm or longer"
    revisions = {part["code"]: part["revision"] for part in result.manifest["parts"]}  # type: ignore[attr-defined]
    assert {row["code"]: row["revision"] for row in rows[:5]} == revisions


def test_a_stated_rod_reaches_through_both_bearings(tmp_path: Path) -> None:
    """By hand: three discs of 5 mm and two spacers of 4 mm are 23 mm; 20 + 23 + 15 mm, and 10 mm for ends."""
    for rod, size in (
        (Rod(across_mm=8.0, below_mm=20.0, above_mm=15.0), "hexagon, across flats 8 mm, h11"),
        (Rod(shape="round", across_mm=7.5, below_mm=20.0, above_mm=15.0), "diameter 7.5 mm, h9"),
        (Rod(shape="round", across_mm=8.0, thread="M8", below_mm=20.0, above_mm=15.0), "threaded rod M8"),
    ):
        project = machine(3, spacer_mm=4.0)
        stated = replaced(project, stacks=(replaced(project.stacks[0], rod=rod),))
        export_project(stated, tmp_path, ["csv"], despite_errors=True)
        (row,) = [row for row in rows_of(tmp_path / "parts_list.csv") if row["what"] == "shaft"]
        assert (row["size"], row["material"]) == (f"{size}, 68 mm or longer", "steel")


def meshes(out: Path) -> dict[str, trimesh.Trimesh]:
    return {path.stem.split("_")[0]: trimesh.load(path) for path in sorted(out.glob("*.stl"))}


def test_parts_with_dogs_fit_one_another_as_they_are_stacked(tmp_path: Path) -> None:
    export_project(machine(2, dogs=DOGS, spacer_mm=5.0), tmp_path, ["stl"])
    found = meshes(tmp_path)
    disc, spacer = found["A1"], found["SPACER"]
    assert disc.is_watertight
    assert spacer.is_watertight
    assert disc.bounds[1][2] == pytest.approx(7.0)
    pegs = polygon_at(disc, 6.0)
    pockets = polygon_at(spacer, 1.0)
    assert pegs.area == pytest.approx(3 * math.pi * 1.5**2 + 3.0 * 3.0, rel=2e-3)
    assert pegs.intersection(pockets).area < 1e-6
    assert pegs.distance(pockets) == pytest.approx(0.2, abs=5e-3)
    for height in (5.05, 5.5, 6.95):
        assert polygon_at(disc, height).intersection(polygon_at(spacer, height - 5.0)).area < 1e-6
    assert polygon_at(spacer, 2.3).intersection(polygon_at(disc, 6.0)).area > 10.0


def polygon_at(mesh: trimesh.Trimesh, height: float) -> Polygon:
    section = mesh.section([0, 0, 1], [0, 0, height]).to_2D(to_2D=np.eye(4))[0]
    area = Polygon()
    for ring in sorted(section.polygons_closed, key=lambda ring: -ring.area):
        area = area.symmetric_difference(ring)
    return area


@pytest.mark.parametrize(
    ("stack", "wall"),
    [
        # The long dog's pocket ends at hypot(11, 1.5) + 1.5 + 0.2 = 12.8 mm.
        ({"dogs": Dogs(radius_mm=11.0, width_mm=3.0, height_mm=2.0)}, "wall of the spacer is −0.8 mm"),
        ({"dogs": DOGS, "spacer_mm": 2.0}, "floor over the spacer’s pockets is −0.2 mm"),
        ({"dogs": Dogs(radius_mm=9.0, width_mm=3.0, height_mm=4.9)}, "floor over the pockets is −0.1 mm"),
    ],
)
def test_a_part_that_cannot_hold_its_dogs_is_one_message(
    tmp_path: Path, stack: dict[str, object], wall: str
) -> None:
    """The check reports it and the export stops there; making the part anyway fails with the same words."""
    project = machine(2, **stack)
    with pytest.raises(FaultyProjectError, match=rf"nothing was written: Bad part(: .*{wall}| \(Lane 0\))"):
        export_project(project, tmp_path / "out", ["stl"])
    assert not (tmp_path / "out").exists()
    with pytest.raises(FaultyProjectError, match=wall):
        gather(examine(project), ("stl",), Silent(), despite_errors=False)


def test_a_spacer_that_cannot_be_made_is_left_out_on_request(tmp_path: Path) -> None:
    project = machine(2, dogs=DOGS, spacer_mm=2.0)
    result = export_project(project, tmp_path, ["stl"], despite_errors=True)
    assert "SPACER_spacer-of-main.stl" not in result.files
    said = "spacer of main: floor over the spacer’s pockets is −0.2 mm; the part cannot be made"
    assert said in result.notes


def test_a_lane_without_blocks_is_left_out_and_named(tmp_path: Path) -> None:
    """The check warns of it; the other discs are written."""
    project = machine(2)
    empty = replaced(project.lanes[1], blocks=(), name="Lamp")
    result = export_project(
        replaced(project, lanes=with_codes((project.lanes[0], empty))), tmp_path, ["stl", "pdf"]
    )
    assert result.notes == ("no disc for Lamp: the lane has no block",)
    assert [proof.part for proof in result.proofs] == ["A1"]


def grooved(**disc: object) -> Project:
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    return one_sided(follower=roller, base_radius_mm=26.0, **{"thickness_mm": 8.0, **disc})


def groove_export(tmp_path: Path) -> ExportResult:
    return export_project(grooved(), tmp_path)


def test_a_groove_holds_its_roller_on_both_flanks(tmp_path: Path) -> None:
    result = groove_export(tmp_path)
    assert all(not proof.faults for proof in result.proofs)
    mesh = trimesh.load(tmp_path / f"{STEM}.stl")
    assert mesh.is_watertight
    floor, top = polygon_at(mesh, 2.5), polygon_at(mesh, 5.5)
    cut = floor.difference(top.buffer(1e-5)).geoms
    groove = max(cut, key=lambda one: one.area)  # not the code on the rim
    width = groove.buffer(-5.0).area / (groove.length / 2)
    assert groove.area / (groove.length / 2) == pytest.approx(10.2, rel=0.01)
    assert 0.1 < width < 0.3
    assert away(floor).distance(groove) == pytest.approx(4.0, abs=0.01)


def test_a_grooves_mouth_and_rim_are_chamfered_like_any_running_edge(tmp_path: Path) -> None:
    export_project(grooved(edge_chamfer_mm=0.5), tmp_path, ["stl"])
    mesh = trimesh.load(tmp_path / f"{STEM}.stl")
    (rim, hub), (rim_face, hub_face) = (
        sorted(polygon_at(mesh, z).geoms, key=lambda ring: -ring.length)[:2] for z in (7.2, 7.999)
    )
    for wide, narrow in ((rim, rim_face), (hub, hub_face)):
        assert away(wide).distance(away(narrow)) == pytest.approx(0.499, abs=0.01)
    assert Polygon(rim_face.interiors[0]).exterior.distance(Polygon(rim.interiors[0]).exterior) == (
        pytest.approx(0.499, abs=0.01)
    )
    assert away(polygon_at(mesh, 0.001)).distance(away(rim)) == pytest.approx(0.499, abs=0.01)


def away(part: Polygon) -> LineString:
    """The contour on the side that has neither tick nor code."""
    return part.exterior.intersection(box(-200.0, -200.0, -1.0, 200.0))
