"""Parts over the bed in pieces: they fit, meet, hold one another and lose nothing, by another library."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely import Polygon, affinity, union_all

from shaftscore.make.exporting import check_folder, export_project
from shaftscore.make.files.names import file_stem, is_code, is_export_name
from shaftscore.make.solids.bed import file_size_mm
from shaftscore.make.solids.feet import with_feet
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.make.solids.solid import part_mesh
from shaftscore.make.solids.split import pieces_of
from shaftscore.model import Print, Project, Rod, replaced
from shaftscore.model.parts import MachineFrame
from shaftscore.stack.paths import circle, polygon
from tests.core.make.exporting.machines import one_sided


def project(bed: float = 220.0) -> Project:
    return replaced(one_sided(), print=Print(bed_x_mm=bed, bed_y_mm=bed))


def plate(wide: float, deep: float, kind: Any = "plate", bed: float = 220.0) -> MadePart:
    """A plate about the origin with a hole of 30 mm and its seat off the middle, and holes in its corners."""
    x, y = wide / 2, deep / 2
    corners = [complex(a * (x - 8), b * max(y - 8, 0)) for a in (1, -1) for b in (1, -1)]
    across, middle = min(30.0, deep / 3), complex(0.15 * wide, 0.1 * deep)
    return plain_part(
        project(bed),
        PlainPart(
            kind=kind,
            code="PLATE-TOP",
            label="top plate",
            thickness_mm=6.0,
            contour=polygon((complex(-x, -y), complex(x, -y), complex(x, y), complex(-x, y))),
            holes=(circle(across / 2, middle), *(circle(2.0, corner) for corner in dict.fromkeys(corners))),
            sunk=(("seat", circle(across / 2 + 2.0, middle), (3.0, 6.0)),),
        ),
    )


def area(part: MadePart) -> Any:
    """Return what a piece covers in plan, with its holes filled."""
    return Polygon(part.outline)


@pytest.mark.parametrize(
    ("wide", "deep", "count"), [(400.0, 180.0, 2), (180.0, 400.0, 2), (400.0, 300.0, 4), (500.0, 14.0, 3)]
)
def test_pieces_fit_meet_and_hold_one_another(wide: float, deep: float, count: int) -> None:
    whole = plate(wide, deep)
    pieces = pieces_of(project(), whole)
    assert [piece.code for piece in pieces] == [f"PLATE-TOP-{number}" for number in range(1, count + 1)]
    assert all(max(file_size_mm(piece)[:2]) <= 220.0 for piece in pieces)
    assert sorted(len(piece.holes) for piece in pieces) == sorted(
        sum(area(piece).contains(Polygon(hole.flattened(0.01))) for hole in whole.holes) for piece in pieces
    )
    assert sum(len(piece.holes) for piece in pieces) == len(whole.holes)
    assert sum(len(piece.sunk) for piece in pieces) == 1
    together = union_all([area(piece) for piece in pieces])
    assert area(whole).contains(together.buffer(-1e-6))
    assert together.area > 0.995 * area(whole).area
    joined = 0
    for one, other in combinations(pieces, 2):
        first, second = area(one), area(other)
        assert first.intersection(second).area < 1e-6
        if first.distance(second) < 1e-6 and first.buffer(0.01).intersection(second).area > 0.05:
            joined += 1
            way = np.sign(np.subtract(second.centroid.coords[0], first.centroid.coords[0]))
            across = np.abs(np.subtract(second.centroid.coords[0], first.centroid.coords[0]))
            apart = way * 0.4 * (across == across.max())  # 0.4 mm is more than what the clearance gives
            assert first.intersection(affinity.translate(second, *apart)).area > 0.05
            aside = 0.2 * (across != across.max())
            assert first.intersection(affinity.translate(second, *aside)).area > 0.05
    assert joined >= count - 1
    assert f"split into {count} pieces with keyed joints" in pieces[0].notes[0]
    assert "x 6 mm is larger than the printer's 220 x 220 x 220 mm" in pieces[0].notes[0]


def test_keys_have_their_clearance_and_bodies_are_closed() -> None:
    """0.1 mm on every side of a key but at its root, where the pieces meet."""
    first, second = pieces_of(project(), plate(400.0, 180.0))
    left, right = area(first), area(second)
    cut = right.bounds[0]
    keys = left.intersection(Polygon([(cut + 1, -200), (300, -200), (300, 200), (cut + 1, 200)]))
    assert (
        len(keys.geoms) == 4
    )  # by hand: one for about 40 mm of 180 mm: 4.5, an even count by rounding to even
    assert all(key.distance(right) == pytest.approx(0.1, abs=1e-6) for key in keys.geoms)
    for piece in (first, second):
        body = part_mesh(with_feet(piece, 0.3))
        assert body.volume == pytest.approx(6.0 * area(piece).area, rel=0.05)


def test_what_cannot_be_split_says_so_with_its_cure() -> None:
    """A hub has teeth or a fit; on a bed of 30 mm the hole of 30 mm leaves no place for a joint."""
    for part, bed, why in (
        (plate(400.0, 180.0, "hub"), 220.0, "a hub is made in one piece"),
        (plate(400.0, 60.0, bed=40.0), 40.0, "no place for a joint"),
    ):
        (whole,) = pieces_of(project(bed), part)
        assert whole.code == "PLATE-TOP"
        assert why in whole.notes[0]
        assert "a larger bed, or a smaller part, is needed" in whole.notes[0]


def test_a_part_that_fits_stays_whole() -> None:
    part = plate(215.0, 100.0)
    assert pieces_of(project(), part) == (part,)


def test_plates_over_the_bed_are_exported_and_proved_in_pieces(tmp_path: Path) -> None:
    base = one_sided()
    stack = replaced(base.stacks[0], rod=Rod(across_mm=8.0, below_mm=15.0, above_mm=15.0))
    frame, bed = MachineFrame(margin_mm=40.0), Print(bed_x_mm=110.0, bed_y_mm=110.0)
    project = replaced(base, stacks=(stack,), frame=frame, print=bed)
    result = export_project(project, tmp_path, ["stl", "dxf"])
    codes = [part["code"] for part in result.manifest["parts"]]  # type: ignore[attr-defined]
    assert [code for code in codes if code.startswith("PLATE-TOP")] == [f"PLATE-TOP-{n}" for n in range(1, 5)]
    assert sum("split into 4 pieces" in note for note in result.notes) == 2
    for machine in (project, None):
        assert check_folder(machine, tmp_path).faults == ()


def test_pieces_of_a_link_have_names_that_an_export_takes() -> None:
    """A coupler of 340 mm is longer than a bed of 220 mm."""
    link = replace(plate(340.0, 20.0, kind="lever"), code="A3-G-1", label="coupler of Straight")
    pieces = pieces_of(project(), link)
    assert [piece.code for piece in pieces] == ["A3-G-1-1", "A3-G-1-2"]
    for piece in pieces:
        assert is_code(piece.code)
        assert is_export_name(f"{file_stem(piece.code, piece.label)}.stl")
