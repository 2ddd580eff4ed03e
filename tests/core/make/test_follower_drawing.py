"""The drawing of followers: shapes against the layout, drags by hand, files read by other libraries."""

from __future__ import annotations

import io
from functools import cache
from xml.etree import ElementTree

import ezdxf
import numpy as np
import pypdfium2
import pytest
import shapely
import svgelements

from shaftscore.layout.followers import FollowerLayout, follower_layout
from shaftscore.make.drawing.follower import (
    FollowerDrawing,
    dragged,
    follower_drawing,
)
from shaftscore.make.drawing.follower_scene import follower_sheet
from shaftscore.make.drawing.saved import scene_bytes
from shaftscore.solution import solve
from tests.follower_machine import follower_machine


@cache
def laid_out(name: str) -> FollowerLayout:
    project = follower_machine()
    made = follower_layout(project, solve(project).lanes[name])
    assert made is not None
    return made


@cache
def drawn(name: str, deg: float = 220.0) -> FollowerDrawing:
    return follower_drawing(follower_machine(), laid_out(name), deg)


@pytest.mark.parametrize("name", ["slide", "lever", "straight"])
def test_the_roller_touches_the_disc_and_the_lever_holds_it(name: str) -> None:
    """In the station frame: the disc's rim is at the roller, both turned to the cursor's angle."""
    shapes = drawn(name).top
    disc = next(shape.corners for shape in shapes if shape.kind == "disc")
    roller = next(shape.corners for shape in shapes if shape.kind == "roller")
    rim, edge = (shapely.LinearRing(np.column_stack([one.real, one.imag])) for one in (disc, roller))
    assert rim.distance(edge) < 0.06
    assert shapely.Polygon(rim).intersection(shapely.Polygon(edge)).area < 0.1
    assert drawn(name).refused == ()


def test_dimensions_are_those_of_the_records() -> None:
    found = {one.field: one.value_mm for one in drawn("lever").top_dimensions}
    assert found == {"parts.arm_mm": 60.0, "parts.output_arm_mm": 120.0, "follower.pivot_distance_mm": 76.0}
    for one in drawn("lever").top_dimensions:
        assert abs(one.end - one.start) == pytest.approx(one.value_mm)


def test_heights_from_the_side_are_true() -> None:
    """Second disc: disc and roller from 11 to 16 mm, washer 1, lever 17 to 22; third's coupler 34."""
    boxes = {
        (shape.kind, shape.name): (shape.corners.imag.min(), shape.corners.imag.max())
        for shape in drawn("lever").side
    }
    assert boxes["disc", "A2"] == (11.0, 16.0)
    assert boxes["roller", "roller"] == (11.0, 16.0)
    assert boxes["part", "lever"] == (17.0, 22.0)
    straight = next(shape for shape in drawn("straight").side if shape.kind == "link")
    assert straight.corners.imag.min() == 34.0


def test_points_that_are_dragged_give_lengths() -> None:
    """Along the lever: its projection; the pivot: its distances from roller and axis; rounded to the step."""
    layout, points = laid_out("lever"), drawn("lever").points
    along = (points["output"] - points["pivot"]) / 120.0
    there = points["pivot"] + 80.2 * along + 5j * along
    assert dragged(layout, 220.0, "output", there, 0.5) == {"parts.output_arm_mm": 80.0}
    assert dragged(layout, 220.0, "hook", there, 0.1) == {"parts.spring_hook_mm": pytest.approx(80.2)}
    moved = dragged(layout, 220.0, "pivot", 46.5 - 64.0j, 0.5)
    assert moved["follower.arm_mm"] == 64.0
    assert moved["follower.pivot_distance_mm"] == pytest.approx(np.hypot(46.5, 64.0), abs=0.25)
    slide = dragged(laid_out("slide"), 0.0, "output", 46.5 + 71.1 + 3j, 0.5)
    assert slide == {"parts.arm_mm": 71.0}


@pytest.mark.parametrize("name", ["slide", "straight"])
def test_files_are_at_full_size(name: str) -> None:
    """Read back by ezdxf and an XML reader: the disc is as wide in the file as it is in the machine."""
    sheet = follower_sheet(drawn(name))
    disc = next(shape.corners for shape in drawn(name).top if shape.kind == "disc")
    wide = np.ptp(disc.real)
    document = ezdxf.read(io.StringIO(scene_bytes(sheet, "a", "dxf").decode()))
    assert document.units == ezdxf.units.MM
    polyline = next(iter(document.modelspace().query('LWPOLYLINE[layer=="disc"]')))
    assert np.ptp([x for x, *_ in polyline.get_points()]) == pytest.approx(wide)
    root = ElementTree.fromstring(scene_bytes(sheet, "a <b>", "svg"))
    left, top, across, down = (float(value) for value in root.attrib["viewBox"].split())
    assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(across)
    drawn_disc = next(one for one in root.iter() if one.attrib.get("class") == "disc")
    low, _, high, _ = svgelements.Path(drawn_disc.attrib["d"]).bbox()
    assert high - low == pytest.approx(wide, abs=1e-3)
    assert left <= low
    assert high <= left + across
    assert down > 0 > top
    page = pypdfium2.PdfDocument(scene_bytes(sheet, "a", "pdf"))[0]
    assert page.get_width() * 25.4 / 72 == pytest.approx(across, abs=0.01)
    widths = [box[2] - box[0] for one in page.get_objects() if (box := one.get_bounds())]
    assert min(abs(one * 25.4 / 72 - wide) for one in widths) < 0.6  # the reader adds the width of the line
    with pytest.raises(ValueError, match="svg, dxf, pdf, not as png"):
        scene_bytes(sheet, "a", "png")


def test_the_sheet_has_all_dimensions_and_views_apart() -> None:
    drawing = drawn("lever")
    texts = [text.text for text in follower_sheet(drawing).texts]
    assert {"60.0", "120.0", "76.0"} <= set(texts)
    both = (*drawing.top_dimensions, *drawing.side_dimensions)
    assert len(texts) == len(both)
    discs = [path.corners.imag for path in follower_sheet(drawing).paths if path.name == "disc"]
    assert discs[1].max() < discs[0].min()
