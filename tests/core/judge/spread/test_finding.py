"""The finding of thin margins: its words and its cure."""

from __future__ import annotations

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import words
from shaftscore.judge.report import examine, report_json
from shaftscore.model import Flow, Gate, Magazine, Project, Supply, Tolerances, replaced
from tests.core.judge.spread.machines import machine, only
from tests.machines import at, exclusive, gate, within
from tests.samples import sample


def thin(**more: object) -> Project:
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_deg=2.0)
    lanes = (gate("A", 100, 120), gate("B", 146.4, 166.4))
    return machine(*lanes, rules=(rule,), tolerances=only(disc_angle_deg=0.6), **more)


def test_a_thin_margin_is_told_with_its_cure() -> None:
    project = thin()
    report = examine(project)
    (finding,) = report.findings
    assert (finding.rule, str(finding.severity)) == ("thin-margin", "warning")
    assert report.spread is not None
    assert finding.value == pytest.approx(1 - report.spread.chance)
    said = words(finding, project)
    share = (1 - report.spread.chance) * 100
    assert report.spread.causes[0].cause == "disc-angle"
    costs = project.lane(report.spread.costs[0].lane).label
    assert said.title == "Thin margin"
    assert said.what == (
        f"Works as drawn, but about {share:.1f} % of built machines would fail; errors of the printed angles "
        f"contribute most, at {costs} most of all."
    )
    shift = "earlier" if costs == "A" else "later"
    angle = report.spread.needed_disc_angle_deg or 0.0
    assert said.cure == f"Disc angle within {int(angle * 100) / 100:.2f}°, or {costs} open 0.5° {shift}."


def test_the_cure_cures() -> None:
    project = thin()
    (finding,) = examine(project).findings
    cure = finding.cure
    assert cure is not None
    assert cure.edit == "place_block"
    after = examine(apply_edit(project, cure.edit, **cure.arguments).project)
    assert not after.findings
    assert after.spread is not None
    assert after.spread.chance >= 0.99


def test_where_nothing_may_move_the_disc_angle_cures() -> None:
    project = thin()
    for lane_id in ("a", "b"):
        for block in project.lane(lane_id).blocks:
            ref = _ref(project, lane_id, block)
            project = apply_edit(project, "set_locked", refs=(ref,), locked=True).project
    (finding,) = examine(project).findings
    cure = finding.cure
    assert cure is not None
    assert cure.edit == "set_tolerances"
    assert words(finding, project).cure.startswith("Disc angle within 0.")
    assert not examine(apply_edit(project, cure.edit, **cure.arguments).project).findings


def _ref(project: Project, lane_id: str, block: object) -> object:
    from shaftscore.edits import BlockRef

    return BlockRef(lane_id, [*project.lane(lane_id).blocks].index(block))  # type: ignore[arg-type]


def test_a_broken_rule_is_no_thin_margin() -> None:
    rule = exclusive(within("a", 5, 10), within("b", 5, 10), gap_deg=2.0)
    report = examine(machine(gate("A", 100, 120), gate("B", 140, 160), rules=(rule,)))
    assert [finding.rule for finding in report.findings] == ["overlap"]
    assert report.spread is not None
    assert report.spread.chance == 0.0


def test_in_a_hurry_the_last_chance_stands_in() -> None:
    first = examine(thin())
    assert first.chance is not None
    moved = apply_edit(first.project, "set_tolerances", disc_angle_deg=0.0).project
    hurried = examine(moved, first, late=False)
    assert hurried.chance is not None
    assert hurried.spread is first.spread
    assert hurried.chance.project is first.project
    assert [finding.rule for finding in hurried.findings] == ["thin-margin"]
    after = examine(moved, hurried)
    assert not after.findings
    assert after.chance is not None
    assert after.chance.project is moved


def test_what_is_not_read_leaves_the_chance_alone() -> None:
    first = examine(thin())
    renamed = apply_edit(first.project, "set_name", name="Another").project
    second = examine(renamed, first)
    assert second.spread is first.spread
    assert second.chance is not None
    assert second.chance.project is renamed


def test_without_rules_there_is_no_chance() -> None:
    report = examine(machine(gate("A", 100, 120)))
    assert report.spread is None
    assert "thin-margin" not in report.checked
    assert report_json(report)["margin"] is None


def test_tolerances_and_play_are_checked() -> None:
    project = machine(gate("A", 100, 120), tolerances=Tolerances(disc_angle_deg=0.1))
    assert not examine(project).findings


def test_the_sample_works_when_all_discs_are_turned_one_way_on_a_close_fit() -> None:
    project = sample("tea_blender")
    stacks = tuple(replaced(stack, joints="one-way", fit_clearance_mm=0.1) for stack in project.stacks)
    spread = examine(replaced(project, stacks=stacks)).spread
    assert spread is not None
    assert spread.chance > 0.99


def test_some_lanes_alone_have_a_chance_of_their_own() -> None:
    project = sample("tea_blender")
    report = examine(project, lanes=["assam", "ceylon"])
    assert report.spread is not None
    assert {lane for rule in report.spread.rules for lane in rule.lanes} == {"assam", "ceylon"}


def test_a_supply_without_reserve_is_the_cause_and_is_fed_faster() -> None:
    # One bead a turn at 6 rev/min: 6.0 a minute, which is just what is fed; half of all machines turn faster.
    beads = Flow(
        supplies=(Supply(id="West", rate_per_min=6.0),),
        magazines=(Magazine(id="tube", source="West", capacity=9, start_count=9),),
        gates=(Gate(id="g", state=at("a", "open"), source="tube", item="bead"),),
    )
    project = machine(gate("A", 100, 120), flow=beads, tolerances=only(speed_percent=6.0))
    (finding,) = examine(project).findings
    assert finding.rule == "unlikely"
    assert finding.lanes == ("a",)
    said = words(finding, project)
    share = f"{(finding.value or 0.0) * 100:.1f} %"
    assert said.what == (
        f"Supply West feeds 6.0 per min, 0.4 more are needed in reserve; about {share} of built machines "
        "would fail."
    )
    assert finding.value == pytest.approx(0.5, abs=0.02)
    # 6.0 at 6 % more speed: 6.36, rounded up.
    assert said.cure.startswith("Feed West at 6.4 per min")
    cure = finding.cure
    assert cure is not None
    assert cure.edit == "set_flow"
    assert not examine(apply_edit(project, cure.edit, **cure.arguments).project).findings
