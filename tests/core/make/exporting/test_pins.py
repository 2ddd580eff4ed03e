"""Holes for pins go through every disc and spacer, in every format, where the program says.

Places by hand: two pins on a circle of 13 mm beside the zero mark's line, at 90 and 270 degrees; holes of
3 + 2 * 0.1 mm. Files are opened by trimesh and ezdxf.
"""

from __future__ import annotations

import csv
from itertools import pairwise
from pathlib import Path

import ezdxf
import numpy as np
import pytest
import trimesh
from shapely import Point, Polygon

from shaftscore.base.progress import Silent
from shaftscore.judge.report import examine
from shaftscore.make.exporting import export_project
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.proof import Judge
from shaftscore.make.proof.prove import DiscProof
from shaftscore.make.proof.reading import read_stl
from shaftscore.make.solids import disc_part, part_mesh, printed, spacer_part
from shaftscore.make.solids.revision import disc_hash
from shaftscore.model import Dogs, Pins, Print, Project, Stack
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from shaftscore.stack import dog_paths
from shaftscore.stack.pins import pin_dog_web_mm, pin_paths, pin_places, pin_web_mm
from tests.core.make.exporting.machines import one_sided

PINS = Pins(count=2, radius_mm=13.0, across_mm=3.0)
PLACES = (13j, -13j)


def pinned(pins: Pins | None = PINS, dogs: Dogs | None = None, **printer: float) -> Project:
    project = one_sided(base_radius_mm=30.0, printing=Print(**printer))
    lanes = [replaced(project.lanes[0], id=f"lane{n}", station_deg=120.0 * n, code=None) for n in range(2)]
    stack = Stack(id="main", pins=pins, dogs=dogs, spacer_radius_mm=18.0)
    return replaced(project, lanes=with_codes(lanes), stacks=(stack,))


def test_every_file_has_the_holes_and_is_proved(tmp_path: Path) -> None:
    project = pinned(hole_mm=0.15)
    result = export_project(project, tmp_path / "out", ("3mf", "stl", "dxf", "svg", "csv"))
    assert result.proofs
    assert all(isinstance(proof, DiscProof) and not proof.faults for proof in result.proofs)
    stls = sorted(result.out.glob("*.stl"))
    assert [path.name.split("_")[0] for path in stls] == ["A1", "A2", "FIT", "SPACER"]
    for path in (stls[0], stls[1], stls[3]):
        section = trimesh.load(path).section(plane_origin=(0, 0, 2.5), plane_normal=(0, 0, 1))
        rings = section.to_2D(to_2D=np.eye(4))[0].polygons_closed
        inside = sorted(rings, key=lambda ring: ring.area)[:-1]
        holes = sorted(inside, key=lambda hole: hole.centroid.y)
        middles = [complex(*hole.centroid.coords[0]) for hole in holes]
        assert middles == pytest.approx([-13j, 0j, 13j], abs=0.01)
        for hole in (holes[0], holes[2]):
            assert np.sqrt(hole.area / np.pi) == pytest.approx(1.5 + 0.1 + 0.15, abs=0.003)
    for path in sorted(result.out.glob("[AS]*.dxf")):
        lines = ezdxf.readfile(path).modelspace().query('LWPOLYLINE[layer=="cut"]')
        assert len(lines) == 4  # contour, bore and two holes
        for place in PLACES:
            (hole,) = [
                line
                for line in lines
                if all(abs(abs(complex(x, y) - place) - 1.6) < 1e-6 for x, y in line.get_points("xy"))
            ]
            assert [abs(bulge) for (bulge,) in hole.get_points("b")] == [1.0, 1.0]
    rows = list(csv.DictReader((result.out / "parts_list.csv").read_text("utf-8").splitlines()))
    (row,) = [row for row in rows if row["what"] == "pin"]
    assert (row["count"], row["size"]) == ("2", "diameter 3 mm, 16 mm or longer")


def test_a_hole_that_is_missing_or_off_is_a_fault(tmp_path: Path) -> None:
    """The proof holds every hole against the program: a file of other pins does not pass for it."""

    order = gather(examine(pinned()), ("stl",), Silent(), False)
    item = order.items[0]
    for other in (None, replaced(PINS, radius_mm=13.05), replaced(PINS, across_mm=3.1)):
        project = pinned(other)
        profile = solve(project).lanes["lane0"].profile
        assert profile is not None
        path = tmp_path / f"{item.stem}.stl"
        body = part_mesh(printed(disc_part(project, project.lanes[0], profile)))
        path.write_bytes(stl_bytes(body, item.part.code))
        verdict = Judge().judge(read_stl(path, item.part.code, 1), (item.task("stl"),))
        assert verdict.faults, other


@pytest.mark.parametrize("count", [2, 3, 4, 5])
def test_webs_are_what_shapely_measures(count: int) -> None:
    pins = Pins(count=count, radius_mm=10.0, across_mm=3.0, clearance_mm=0.2)
    dogs = Dogs(count=3, radius_mm=13.0, width_mm=2.0, height_mm=2.0)
    holes = [Polygon(path.flattened(1e-4)) for path in pin_paths(pins, 0.2)]
    pockets = [Polygon(path.flattened(1e-4)) for path in dog_paths(dogs, 0.3)]
    apart = min(a.distance(b) for n, a in enumerate(holes) for b in holes[:n])
    assert pin_web_mm(pins) == pytest.approx(apart, abs=1e-3)
    beside = min(hole.distance(pocket) for hole in holes for pocket in pockets)
    if beside > 0:
        assert pin_dog_web_mm(pins, dogs, 0.3) == pytest.approx(beside, abs=1e-3)
    else:
        assert pin_dog_web_mm(pins, dogs, 0.3) <= 1e-6
    assert all(abs(abs(place) - 10.0) < 1e-9 for place in pin_places(pins))
    assert not any(Polygon(path.flattened(1e-3)).intersects(Point(10, 0)) for path in pin_paths(pins, 0.2))


def test_marks_keep_off_the_holes() -> None:
    project = pinned(Pins(count=4, radius_mm=14.0, across_mm=4.0))
    profile = solve(project).lanes["lane0"].profile
    assert profile is not None
    part = disc_part(project, project.lanes[0], profile)
    assert not part.marks.missing
    places = np.array(pin_places(Pins(count=4, radius_mm=14.0, across_mm=4.0)))
    for stroke in part.marks.strokes:
        fine = np.concatenate([np.linspace(a, b, 50) for a, b in pairwise(stroke)])
        clear = np.abs(fine[:, None] - places[None, :]).min() - 2.1 - part.marks.width_mm / 2
        assert clear > 0.4


def test_hashes_change_with_pins_and_dogs_clearance_alone_where_they_are_given() -> None:
    """Parts without pins keep the revision that they had."""

    def hashed(project: Project) -> str:
        profile = solve(project).lanes["lane0"].profile
        assert profile is not None
        return disc_hash(project, project.lanes[0], profile)

    dogs = Dogs(radius_mm=9.0, width_mm=3.0, height_mm=2.0)
    own = replaced(dogs, clearance_mm=0.1)
    same = replaced(dogs, clearance_mm=0.2)
    wider = replaced(PINS, clearance_mm=0.2)
    assert hashed(pinned(None, dogs)) == hashed(pinned(None, same)) != hashed(pinned(None, own))
    assert len({hashed(pinned(pins)) for pins in (None, PINS, wider)}) == 3


def test_a_spacer_weighs_less_by_its_holes() -> None:
    with_pins, without = (part_mesh(spacer_part(p, p.stacks[0], 1)).volume for p in (pinned(), pinned(None)))
    assert without - with_pins == pytest.approx(2 * np.pi * 1.6**2 * 6.0, rel=2e-3)
