"""What a move beside a dragged edge needs: set so, it keeps its limits, and a little shorter it does not."""

from __future__ import annotations

import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Block, Disc, Lane, Project, replaced
from shaftscore_app.timing.needs import need_text, shortest_beside
from tests.app.timing.machines import block, index_of, machine, two_gates


def given(base_mm: float = 15.0) -> Project:
    """Two gates on discs of a given radius."""
    project = two_gates()
    lanes = tuple(replaced(lane, disc=Disc(base_radius_mm=base_mm)) for lane in project.lanes)
    return replaced(project, lanes=lanes)


def shape_rules(project: Project) -> set[str]:
    report = examine(project, stage=QUICK, lanes={"mint"})
    return {found.rule for found in report.findings} & {"pressure-angle", "undercut", "sharp-crest"}


@pytest.mark.parametrize(("grip", "edge", "way"), [(Grip.START, "start_deg", 1), (Grip.END, "end_deg", -1)])
def test_the_need_is_what_the_limits_ask_for(grip: Grip, edge: str, way: int) -> None:
    project = given()
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    report = examine(project, stage=QUICK)
    needed = shortest_beside(report, ref, grip)
    assert needed is not None
    assert needed != pytest.approx(24.0)
    for more, is_clean in ((0.0, True), (-0.2, False)):
        # Both moves are made long enough, but the one beside the edge is as long as is tried.
        beside = needed + more
        other = 140.0
        rise, fall = (beside, other) if way > 0 else (other, beside)
        blocks = (block("open", 200.0, 212.0), block("closed", 212.0 + fall, 200.0 - rise + 360.0))
        lane = replaced(project.lane("mint"), blocks=blocks)
        tried = replaced(project, lanes=(project.lane("assam"), lane))
        assert (not shape_rules(tried)) is is_clean, edge


def test_has_and_needs_are_said() -> None:
    project = given()
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    report = examine(project, stage=QUICK)
    needed = shortest_beside(report, ref, Grip.END)
    moved = apply_edit(project, "stretch_block", ref=ref, end_deg=215.0, neighbours="stay").project
    after = examine(moved, report, stage=QUICK)
    assert need_text(after, ref, Grip.END, needed) == f"move 21.0°, at least {needed:.1f}°"
    assert need_text(after, ref, Grip.END, None) == ""
    short = apply_edit(project, "stretch_block", ref=ref, end_deg=235.99, neighbours="stay").project
    assert need_text(examine(short, stage=QUICK), ref, Grip.END, 20.0) == "move 0.0°, at least 20.0°"


def test_a_whole_block_a_rest_and_a_lane_without_a_disc_need_nothing() -> None:
    project = given()
    report = examine(project, stage=QUICK)
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    assert shortest_beside(report, ref, Grip.WHOLE) is None
    rest = Lane(id="rest", levels={"on": 0.0}, blocks=(Block(level="on", start_deg=0.0, end_deg=90.0),))
    assert shortest_beside(_only(rest), BlockRef("rest", 0), Grip.END) is None
    steps = Lane(
        id="steps",
        kind="index",
        levels={"on": 0.0, "next": 10.0},
        blocks=(block("on", 0, 90), block("next", 270, 300)),
    )
    assert shortest_beside(_only(steps), BlockRef("steps", 0), Grip.END) is None


def _only(lane: Lane) -> Report:
    return examine(machine(lane), stage=QUICK)
