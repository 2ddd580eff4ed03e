"""What is said of a held block, word for word."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Lane, Project
from shaftscore_app.timing.drag import Drag, DragHabits, Pointer, Press
from shaftscore_app.timing.tags import spoken_block, spoken_lane, spoken_place, status_text, tag_of
from tests.app.timing.machines import block, gate, index_of, machine, two_gates


def held_at(start: float) -> tuple[Drag, Report]:
    """Drag Mint's opening, which begins at 200, to another start."""
    project = two_gates()
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    drag = Drag(project, Press(ref, Grip.WHOLE, 200.0, 10.0))
    held = drag.move(Pointer(start, 10.0, 50.0, 2.5))
    assert held is not None
    return drag, examine(held.edited.project if held.edited else project, stage=QUICK)


def test_the_worst_clash_comes_first_and_then_the_cure() -> None:
    drag, report = held_at(72.0)
    assert drag.held is not None
    (overlap,) = [finding for finding in report.findings if finding.rule == "overlap"]
    assert overlap.value is not None
    tag = tag_of(report, drag.held)
    assert tag.severity is Severity.ERROR
    assert tag.text == f"{overlap.value:.1f}° overlap with Assam"
    assert tag.cure.startswith("free from ")
    cured = float(tag.cure.removeprefix("free from ").removesuffix("°"))
    ref = BlockRef("mint", index_of(report.project, "mint", "open"))
    after = examine(apply_edit(report.project, "place_block", ref=ref, start_deg=cured).project, stage=QUICK)
    assert not after.findings


def test_a_short_gap_is_no_overlap() -> None:
    drag, report = held_at(84.0)
    assert drag.held is not None
    (finding,) = [found for found in report.findings if found.rule == "overlap"]
    assert finding.facts["how"] == "gap"
    assert tag_of(report, drag.held).text == f"only {finding.value:.1f}° from Assam"


def test_of_a_group_the_worst_clash_of_any_is_told() -> None:
    project = machine(gate("A", 20.0), gate("B", 100.0), gate("C", 200.0))
    refs = [BlockRef(lane, index_of(project, lane, "open")) for lane in ("a", "b")]
    drag = Drag(project, Press(refs[0], Grip.WHOLE, 25.0, 10.0, tuple(refs)), DragHabits(snapping=False))
    held = drag.move(Pointer(120.0, 10.0, 20.0, 2.5))
    assert held is not None
    assert held.edited is not None
    report = examine(held.edited.project, stage=QUICK)
    (overlap,) = [finding for finding in report.findings if finding.rule == "overlap"]
    assert overlap.lanes == ("b", "c")
    tag = tag_of(report, held)
    assert tag.severity is Severity.ERROR
    assert tag.text == f"B: {overlap.value:.1f}° overlap with C"


def test_clean_names_the_smallest_margin() -> None:
    drag, report = held_at(110.0)
    assert drag.held is not None
    assert report.margin is not None
    assert tag_of(report, drag.held).text == f"clean, {report.margin.smallest_deg:.1f}° margin to Assam"


@pytest.mark.parametrize(
    ("zones", "cure"),
    [
        (Arcs.span(100.04, 50.0), "free from 100.1°"),
        (Arcs.span(300.0, 80.0), "free up to 20.0°"),
        (Arcs.empty(), "No free place at this level"),
        (Arcs.span(60.0, 30.0), ""),
    ],
)
def test_free_zones_say_the_nearest_free_end(zones: Arcs, cure: str) -> None:
    drag, report = held_at(72.0)
    assert drag.held is not None
    assert tag_of(report, replace(drag.held, zones=zones)).cure == cure


def test_the_status_bar_says_where_and_how_far() -> None:
    drag, report = held_at(207.5)
    assert drag.held is not None
    # 30 degrees a step; 10 s a turn.
    project = report.project
    assert status_text(project, drag.held) == (
        "Mint open  207.5° to 219.5°, 12.0° · step 7.92 to 8.32 · 5.76 to 6.10 s, 0.33 s · moved +7.5°"
    )
    assert status_text(project, drag.held, 2).startswith("2 locked, stay · Mint open")
    assert status_text(project, drag.held, 1).startswith("1 locked, stays · Mint open")
    said = "1 locked, stays · 2 have no such level and keep theirs · Mint open"
    assert status_text(project, replace(drag.held, keeping=2), 1).startswith(said)
    assert "1 has no such level and keeps its own" in status_text(project, replace(drag.held, keeping=1))


def test_a_block_is_read_with_what_is_wrong_with_it() -> None:
    _, report = held_at(72.0)
    ref = BlockRef("mint", index_of(report.project, "mint", "open"))
    (overlap,) = report.findings
    assert spoken_block(report, ref, selected=True) == (
        "Mint, open, 10 millimetres, from 72 to 84 degrees, 12 degrees, block 1 of 2, selected. "
        f"Error: overlap with Assam by {overlap.value:.1f} degrees."
    )


def stops() -> Project:
    lane = Lane(
        id="x",
        name="Shaker",
        code="B2",
        levels={"rest": 0.0, "tap": 3.0},
        blocks=(block("tap", 264, 264, locked=True), block("rest", 292, 600)),
    )
    return machine(lane)


def test_locked_stop_and_wrapping_are_read_where_true() -> None:
    report = examine(stops(), stage=QUICK)
    assert spoken_block(report, BlockRef("x", 0), selected=False) == (
        "Shaker, tap, 3 millimetres, from 264 to 264 degrees, 0 degrees, block 1 of 2, "
        "locked, momentary stop."
    )
    assert spoken_block(report, BlockRef("x", 1), selected=False) == (
        "Shaker, rest, 0 millimetres, from 292 to 240 degrees, 308 degrees, block 2 of 2, wraps through 360."
    )
    assert spoken_lane(report, "x") == "Lane B2 Shaker. rest 0 millimetres, tap 3 millimetres. 2 blocks."


def test_while_keys_move_a_block_its_place_is_spoken() -> None:
    _, report = held_at(150.0)
    ref = BlockRef("mint", index_of(report.project, "mint", "open"))
    assert spoken_place(report, ref) == "150 degrees, clean"
    _, report = held_at(72.0)
    ref = BlockRef("mint", index_of(report.project, "mint", "open"))
    (overlap,) = report.findings
    assert spoken_place(report, ref) == f"72 degrees, overlap {overlap.value:.1f} degrees"


def test_what_is_refused_is_said() -> None:
    project = machine(gate("Assam", 60.0))
    ref = BlockRef("assam", index_of(project, "assam", "open"))
    drag = Drag(project, Press(ref, Grip.WHOLE, 60.0, 10.0))
    held = drag.move(Pointer(80.0, 10.0, 50.0, 2.5))
    assert held is not None
    tag = tag_of(
        examine(project, stage=QUICK), replace(held, refused="Assam open is locked; unlock it first")
    )
    assert (tag.severity, tag.text) == (Severity.NOTE, "Assam open is locked; unlock it first")
