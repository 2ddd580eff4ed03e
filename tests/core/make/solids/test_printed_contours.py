"""Contours in a printer's file, against shapely's own offsets: moved exactly, and refused where lost."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from shapely import Polygon, hausdorff_distance

from shaftscore.base.progress import Silent
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import examine
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.exporting.gather import gather
from shaftscore.make.files.threemf import on_plates
from shaftscore.make.proof import Judge
from shaftscore.make.proof.reading.contents import FileContents
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.solids import disc_part, printed
from shaftscore.model import Disc, Print, Project, TranslatingRoller
from shaftscore.model.base import replaced
from shaftscore.model.codes import with_codes
from shaftscore.solution import solve
from shaftscore.stack.walls import contour_walls
from tests.core.make.exporting.machines import one_sided
from tests.machines import gate, machine

FINELY = 300
"""Sides of a quarter of a circle."""


def small(contour_mm: float, roller_mm: float = 5.0, closure: str = "spring") -> Project:
    """A disc whose sharpest crest is rounder than a corner by 0.002 mm, under a roller of 5 mm."""
    roller = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=roller_mm,
        closure=closure,  # type: ignore[arg-type]
    )
    disc = Disc(base_radius_mm=8.66, thickness_mm=2.0, edge_chamfer_mm=0.0, groove_depth_mm=1.0)
    lane = gate("A", 0, 40, 40.0, levels={"closed": 0.0, "open": 4.0}, disc=disc, follower=roller)
    return machine(*with_codes([lane]), print=Print(contour_mm=contour_mm))


@cache
def profile_of(roller_mm: float = 5.0, closure: str = "spring") -> Profile:
    profile = solve(small(0.0, roller_mm, closure)).lanes["a"].profile
    assert profile is not None
    return profile


def moved(polygon: Polygon, by_mm: float) -> Polygon:
    return polygon.buffer(by_mm, quad_segs=FINELY)


@pytest.mark.parametrize("by_mm", [3.0, -0.2])
def test_a_contour_is_moved_exactly(by_mm: float) -> None:
    """Within the chord error of 0.002 mm, however sharp a crest is: 3 mm are 1,200 times its radius."""
    project = replaced(small(by_mm), stacks=one_sided().stacks)
    own = printed(disc_part(project, project.lanes[0], profile_of())).outline
    exact = moved(Polygon(profile_of().outline(2e-4)), by_mm)
    assert hausdorff_distance(Polygon(own).exterior, exact.exterior) < 0.0035


@pytest.mark.parametrize(
    ("roller_mm", "by_mm"), [(5.0, -0.1), (5.0, -0.4), (5.0, -2.0), (5.0, 4.0), (5.0, 16.0), (0.5, 3.0)]
)
def test_a_contour_is_lost_where_moving_it_there_and_back_changes_it(roller_mm: float, by_mm: float) -> None:
    """What a printer makes of a file is its outline moved back: a crest or a hollow may not return."""
    drawn = Polygon(profile_of(roller_mm).outline(2e-4))
    again = moved(moved(drawn, by_mm), -by_mm)
    off_mm = hausdorff_distance(drawn.exterior, again.exterior)
    assert not 0.0015 < off_mm < 0.003  # too near the limit to tell
    assert bool(list(contour_walls(profile_of(roller_mm), by_mm))) == (off_mm > 0.002)


def test_a_groove_has_two_flanks_that_a_correction_may_take_away() -> None:
    """Its outer flank is sharp where the path is hollow, and moves inward; no flank is lost to 0.3 mm."""
    profile = profile_of(5.0, "groove")
    for by_mm in (0.3, -0.05):
        assert [wall.part for wall in contour_walls(profile, by_mm)] == []
    ways = {"inner": 1, "outer": -1}
    for flank, way in ways.items():
        own = Polygon(profile.outline(flank=flank, grown_mm=0.3))  # type: ignore[arg-type]
        exact = moved(Polygon(profile.outline(2e-4, flank)), way * 0.3)  # type: ignore[arg-type]
        assert hausdorff_distance(own.exterior, exact.exterior) < 0.0035


def test_a_lost_contour_is_an_error_whose_cure_is_written() -> None:
    """The crest's radius is 0.0024 mm; at 0.2 mm the follower loses 0.0014 mm, at 0.3 mm 0.0032 mm."""
    project = small(-0.3)
    (finding,) = [one for one in examine(project).findings if one.rule == "bad-part"]
    text = "Least radius of the contour, corrected for the printer, is −0.3 mm; the part cannot be made."
    assert words(finding, project).what == text
    assert finding.value == pytest.approx(0.0024 - 0.3, abs=1e-4)
    assert finding.cure is not None
    assert finding.cure.sentence == "Contour offset −0.2 mm."
    cured = apply_edit(project, finding.cure.edit or "", **finding.cure.arguments).project
    report = examine(cured, cures=False)
    assert not any(one.rule == "bad-part" for one in report.findings)
    order = gather(report, ("stl",), Silent(), True)
    (item,) = [one for one in order.items if one.part.kind == "disc"]
    body = SolidPart(item.body.corners[item.body.triangles], "A1")
    verdict = Judge().judge(FileContents("A1.stl", {"A1": body}), (item.task("stl"),))
    assert verdict.proofs
    assert verdict.faults == ()


def test_plates_leave_room_for_what_a_correction_adds() -> None:
    """Five millimetres between parts, as their bodies are in the file."""
    base = one_sided(printing=Print(contour_mm=3.0, bed_x_mm=400.0))
    lanes = [replaced(base.lanes[0], id=f"lane{n}", station_deg=120.0 * n, code=None) for n in range(3)]
    report = examine(replaced(base, lanes=with_codes(lanes)), cures=False)
    assert not report.count(Severity.ERROR)
    boxes = []
    for build in on_plates(gather(report, ("3mf",), Silent(), False)):
        plan = build.item.body.corners[:, :2] + np.array(build.at[:2])
        boxes.append((plan.min(axis=0), plan.max(axis=0)))
    assert len(boxes) == 6  # three discs, two spacers and a coupon
    for number, (low, high) in enumerate(boxes):
        for other_low, other_high in boxes[:number]:
            assert max((low - other_high).max(), (other_low - high).max()) >= 5.0 - 1e-4
