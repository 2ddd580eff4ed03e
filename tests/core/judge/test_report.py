"""The report and its JSON."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, Report, examine, report_json
from shaftscore.model import (
    Channel,
    CrankSource,
    Disc,
    Drive,
    Flow,
    Gate,
    Load,
    Magazine,
    Project,
    Stack,
    Supply,
    replaced,
)
from shaftscore.model.loader import load_project
from tests.machines import at, exclusive, gate, lane, machine, order, within

OPEN = "open"
FINDING_KEYS = [
    "rule",
    "severity",
    "lanes",
    "start_deg",
    "end_deg",
    "turn",
    "value",
    "limit",
    "message",
    "hint",
    "cause",
]
MARGIN = ["smallest_deg", "between", "chance", "chance_low", "chance_high", "machines"]
SPREAD = [
    "worst_deg",
    "needed_disc_angle_deg",
    "lane_costs",
    "rules",
    "histogram",
    "causes",
    "counted",
    "left_out_areas",
    "left_out",
]
FIGURES = {
    "base_radius_mm",
    "max_pressure_angle_deg",
    "min_convex_radius_mm",
    "min_hollow_radius_mm",
    "needed_face_width_mm",
    "peak_velocity_mm_s",
    "peak_acceleration_mm_s2",
    "peak_torque_nm",
    "min_contact_n",
    "float_speed_rpm",
    "max_contact_mpa",
    "states",
    "base_governed_by",
    "offset_mm",
    "peak_jerk_mm_s3",
    "wanted_preload_n",
    "wanted_rate_n_per_mm",
    "spring_reserve",
    "sticks_at_deg",
}


def draft(**more: Any) -> Project:
    rule = exclusive(at("a", OPEN), at("b", OPEN), gap_deg=3.0)
    return machine(gate("A", 100, 130, 40.0), gate("B", 140, 160, 40.0), rules=(rule,), **more)


def flowing(rate: float) -> Project:
    """Gate B lets one item out a turn of 10 s: 6 a minute."""
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=rate),),
        magazines=(Magazine(id="tube", source="hopper", capacity=4, start_count=2),),
        channels=(Channel(id="chute", travel_min_s=0.1, travel_max_s=0.2, headway_s=0.1, to="tray"),),
        gates=(Gate(id="g", state=within("b", 5, 10), source="tube", to="chute", item="bead"),),
        outlets=({"id": "tray"},),  # type: ignore[arg-type]
    )
    return draft(flow=flow)


def as_json(report: Report) -> dict[str, Any]:
    text = json.dumps(report_json(report), ensure_ascii=True, allow_nan=False)
    assert text.isascii()
    loaded: dict[str, Any] = json.loads(text)
    return loaded


def test_json_has_the_agreed_keys() -> None:
    made = as_json(examine(draft()))
    described = ["coverage", "not_described"]
    figures = ["lanes", "heights", "drive", "flow", "shaft", "margin", "fits"]
    assert list(made) == ["project", "checked", "findings", *described, *figures]
    assert made["project"] == "Test machine"
    assert {"no-time", "overlap", "pass-through", "pressure-angle", "not-checked"} <= set(made["checked"])
    assert all(list(finding) == FINDING_KEYS for finding in made["findings"])
    assert set(made["lanes"]) == {"a", "b"}
    assert all(set(figures) == FIGURES for figures in made["lanes"].values())
    assert made["flow"] is made["drive"] is None
    assert list(made["margin"])[: len(MARGIN)] == MARGIN
    assert list(made["margin"])[len(MARGIN) :] == SPREAD
    assert list(as_json(examine(draft(), stage=QUICK))["margin"]) == MARGIN[:2]


def test_json_of_the_spread_has_the_rules_margins_and_the_histogram() -> None:
    report = examine(draft(stacks=(Stack(id="main", fit_clearance_mm=0.0),)))
    margin, spread = as_json(report)["margin"], report.spread
    assert spread is not None
    (rule,) = margin["rules"]
    assert rule["kind"] == "exclusive"
    assert rule["what"] == "0"
    assert rule["lanes"] == ["a", "b"]
    assert rule["smallest_deg"] == pytest.approx(margin["smallest_deg"], abs=1e-3)
    assert rule["chance"] == margin["chance"]
    assert margin["worst_deg"] == rule["worst_deg"] <= rule["smallest_deg"]
    assert sum(margin["histogram"]["counts"]) == margin["machines"]
    assert len(margin["histogram"]["edges_deg"]) == len(margin["histogram"]["counts"]) + 1
    assert margin["left_out"]


def test_a_machine_with_an_error_as_drawn_has_no_chance() -> None:
    """Its rules hold in every machine; what breaks is no rule between lanes."""
    rule = exclusive(at("a", OPEN), at("b", OPEN))
    sharp = machine(gate("A", 100, 130, 3.0), gate("B", 240, 260, 40.0), rules=(rule,))
    report = examine(sharp)
    errors = [finding for finding in report.findings if finding.severity is Severity.ERROR]
    assert errors
    assert not {"overlap", "interlock", "pass-through"} & {finding.rule for finding in errors}
    margin = as_json(report)["margin"]
    assert [margin[key] for key in MARGIN[2:]] == [0.0, 0.0, 0.0, 2_000]  # the first look decides
    assert margin["rules"][0]["chance"] == 1.0
    assert (margin["lane_costs"], margin["needed_disc_angle_deg"]) == ([], None)
    assert "thin-margin" not in {finding.rule for finding in report.findings}


def test_an_error_gives_no_chance_where_no_rule_is_written_either() -> None:
    margin = as_json(examine(machine(gate("A", 100, 130, 3.0))))["margin"]
    assert [margin[key] for key in MARGIN] == [None, [], 0.0, 0.0, 0.0, None]


def test_without_anything_to_judge_there_is_no_chance_to_tell() -> None:
    report = examine(machine(gate("A", 100, 130, 60.0)))
    assert not report.count(Severity.ERROR)
    assert as_json(report)["margin"] is None


def test_the_chance_comes_back_with_the_last_error() -> None:
    rule = exclusive(at("a", OPEN), at("b", OPEN))
    good, rest = gate("A", 100, 130, 40.0), gate("B", 240, 260, 40.0)
    first = examine(machine(gate("A", 100, 130, 3.0), rest, rules=(rule,)))
    assert first.spread is not None
    assert first.spread.chance == 0.0
    again = examine(replaced(first.project, lanes=(good, first.project.lanes[1])), first)
    assert not again.count(Severity.ERROR)
    assert again.spread is not None
    assert again.spread.chance > 0.99
    back = examine(replaced(again.project, lanes=first.project.lanes), again)
    assert back.spread is not None
    assert back.spread.chance == 0.0


def test_what_does_not_happen_at_all_is_no_figure() -> None:
    """B never leaves its level, so what A waits for never begins: in no machine, and by no degrees."""
    rule = order(at("a", OPEN), at("b", OPEN), max_s=2.0)
    report = examine(machine(gate("A", 100, 130, 60.0), lane("B", (OPEN, 0, 360)), rules=(rule,)))
    margin = as_json(report)["margin"]
    assert (margin["chance"], margin["smallest_deg"], margin["worst_deg"]) == (0.0, None, None)
    assert [(one["smallest_deg"], one["worst_deg"]) for one in margin["rules"]] == [(None, None)]
    assert margin["histogram"] == {"edges_deg": [], "counts": []}


def test_json_of_a_finding() -> None:
    (overlap,) = as_json(examine(draft()))["findings"]
    assert overlap["rule"] == "overlap"
    assert overlap["severity"] == "error"
    assert overlap["lanes"] == ["a", "b"]
    assert overlap["end_deg"] - overlap["start_deg"] == pytest.approx(overlap["value"])
    assert overlap["limit"] == 3.0
    assert overlap["turn"] is None
    assert overlap["message"].startswith("Both are open for ")
    assert overlap["hint"].startswith("Start B open at ")


def test_json_of_figures_by_their_closed_forms() -> None:
    project = machine(gate("A", 100, 130, 40.0, law="cycloidal"), rpm=6.0)
    figures = as_json(examine(project))["lanes"]["a"]
    beta_s = 40.0 / 36.0
    # Cycloidal motion: Cv = 2, Ca = 2 pi: any handbook of cam design.
    assert figures["peak_velocity_mm_s"] == pytest.approx(2 * 10 / beta_s)
    assert figures["peak_acceleration_mm_s2"] == pytest.approx(6.283185307179586 * 10 / beta_s**2)
    assert figures["max_pressure_angle_deg"] == pytest.approx(30.0, abs=1e-6)
    assert figures["needed_face_width_mm"] is None


def test_what_is_not_finite_is_null() -> None:
    still = as_json(examine(machine(lane("A", ("open", 0, 360)))))["lanes"]["a"]
    assert still["min_hollow_radius_mm"] is None  # a round disc has no hollow
    assert still["peak_velocity_mm_s"] == 0
    corner = gate("A", 100, 130, 40.0, law="constant-velocity", disc=Disc(base_radius_mm=40.0))
    assert as_json(examine(machine(corner)))["lanes"]["a"]["peak_acceleration_mm_s2"] is None


def test_figures_without_motion_are_null() -> None:
    clash = lane("A", ("open", 100, 130), ("closed", 120, 300))
    made = as_json(examine(machine(clash)))
    assert set(made["lanes"]["a"].values()) == {None}
    assert [finding["rule"] for finding in made["findings"]] == ["no-time"]


def test_loads_and_drive_are_told() -> None:
    load = Load(moving_mass_g=200.0, spring_preload_n=0.2, spring_rate_n_per_mm=0.01)
    source = CrankSource(kind="crank", radius_mm=60.0, turn="counterclockwise")
    project = machine(gate("A", 100, 130, 40.0, load=load), rpm=120.0, drive=Drive(source=source))
    report = examine(project)
    made = as_json(report)
    figures = made["lanes"]["a"]
    assert {"float", "wrong-hand"} <= {finding["rule"] for finding in made["findings"]}
    assert {"float", "contact-stress", "overload", "wrong-hand"} <= set(made["checked"])
    assert 0 < figures["float_speed_rpm"] < 120.0
    assert figures["min_contact_n"] < 0
    assert made["drive"]["peak_torque_nm"] == pytest.approx(figures["peak_torque_nm"], rel=1e-6)
    assert made["drive"]["allowed_torque_nm"] == pytest.approx(20 * 0.06 / 1.5)
    assert made["drive"]["shaft_speed_rpm"] is None
    alone = as_json(examine(project, lanes=["a"]))
    assert "wrong-hand" not in {finding["rule"] for finding in alone["findings"]} | set(alone["checked"])


def test_loads_of_unchanged_lanes_are_kept() -> None:
    lanes = [gate(name, 100, 130, 40.0, load=Load(spring_preload_n=1.0)) for name in "AB"]
    first = examine(machine(*lanes))
    second = examine(moved(first, "a", 99.0), first)
    assert second.loads.lanes["b"] is first.loads.lanes["b"]
    assert second.loads.lanes["a"] is not first.loads.lanes["a"]


def test_states_wrap_through_0_and_may_fill_the_turn() -> None:
    project = machine(gate("A", 350, 370, 40.0), lane("B", ("open", 0, 360)))
    lanes = as_json(examine(project))["lanes"]
    ((start, end),) = lanes["a"]["states"][OPEN]
    assert 340 < start < 350
    assert 10 < end < 20
    assert lanes["b"]["states"] == {"closed": [], OPEN: [[0.0, 360.0]]}


def test_flow_is_simulated_and_told() -> None:
    made = as_json(examine(flowing(6.0)))
    assert made["flow"]["holds_for_ever"] is True
    assert "starvation" in made["checked"]
    short = examine(flowing(3.0))
    told = as_json(short)
    assert told["flow"]["holds_for_ever"] is False
    starved = [finding for finding in told["findings"] if finding["rule"] == "starvation"]
    assert starved
    assert starved[0]["turn"] == told["flow"]["turns"]
    assert set(told["flow"]["magazines"]["tube"]) == {
        "lowest_count",
        "turn",
        "deg",
        "needed_rate_per_min",
        "needed_capacity",
    }


def moved(report: Report, lane_id: str, start: float) -> Project:
    blocks = report.project.lane(lane_id).blocks
    index = next(n for n, block in enumerate(blocks) if block.level == OPEN)
    return apply_edit(report.project, "place_block", ref=BlockRef(lane_id, index), start_deg=start).project


def test_the_flow_is_kept_where_nothing_that_it_reads_changed() -> None:
    first = examine(flowing(6.0))
    project = moved(first, "a", 99.0)
    second = examine(project, first)
    assert second.flow is first.flow
    assert second.flow_project is project
    assert second.is_current
    assert examine(moved(first, "b", 141.0), first).flow is not first.flow


def test_a_cure_of_the_flow_is_found_again_when_a_lane_beside_it_would_be_in_its_way() -> None:
    """B may be open for longer at its end, until A is drawn there."""
    project = flowing(6.0)
    assert project.flow is not None
    short = replaced(project.flow.gates[0], item_s=1.75)
    first = examine(replaced(project, flow=replaced(project.flow, gates=(short,))))
    for start in (20.0, 184.0):
        first = examine(moved(first, "a", start), first)
        (missed,) = (one for one in first.findings if one.rule == "missed-release")
        fresh = [one.cure for one in examine(first.project).findings if one.rule == "missed-release"]
        assert [missed.cure] == fresh
        assert missed.cure is not None
        cured = apply_edit(first.project, missed.cure.edit or "", **missed.cure.arguments).project
        assert {one.rule for one in examine(cured).findings}.isdisjoint({"missed-release", "overlap"})
    held = examine(moved(first, "a", 185.0), first)
    assert examine(held.project, held).flow is held.flow


def test_in_a_hurry_the_last_flow_stands_in_and_says_so() -> None:
    first = examine(flowing(3.0))
    hurried = examine(moved(first, "b", 200.0), first, stage=QUICK)
    assert hurried.flow is first.flow
    assert hurried.flow_project is first.project
    assert not hurried.is_current
    assert [f.rule for f in hurried.findings] == ["starvation"]
    again = examine(hurried.project, hurried)
    assert again.is_current
    assert again.flow is not first.flow


def test_an_old_flow_says_nothing_of_lanes_that_are_gone() -> None:
    first = examine(flowing(3.0))
    gone = apply_edit(first.project, "set_rules", rules=()).project
    gone = apply_edit(gone, "set_flow", flow=None).project
    assert examine(apply_edit(gone, "delete_lane", lane_id="b").project, first, stage=QUICK).findings == ()


def test_a_report_with_and_without_one_before_says_the_same() -> None:
    first = examine(draft())
    project = moved(first, "b", 150.0)
    assert examine(project, first).findings == examine(project).findings
    assert report_json(examine(project, first)) == report_json(examine(project))


def test_only_chosen_lanes_are_looked_at() -> None:
    report = examine(draft(), lanes=["a"])
    assert set(report.solution.lanes) == {"a"}
    assert report.findings == ()
    assert report.margin is None
    with pytest.raises(KeyError):
        examine(draft(), lanes=["a", "x"])


def test_a_report_of_some_lanes_is_not_taken_for_the_whole() -> None:
    part = examine(draft(), lanes=["a"])
    assert examine(draft(), part).count(Severity.ERROR) == 1


def test_nothing_found_means_nothing_above_a_note() -> None:
    found = examine(machine(gate("A", 100, 130, 40.0)))
    assert found.found_nothing
    assert not found.is_clean  # forces, torque, shaft and more are not described
    assert not examine(draft()).found_nothing


@pytest.mark.parametrize("name", ["machine", "crank", "counting"])
def test_a_file_with_every_record_is_examined(name: str) -> None:
    """Fixes are tried on parts of a project: sightings of lanes that are not in them are no hindrance."""
    file = Path(__file__).parents[1] / "model" / "versions" / "v2" / f"{name}.shaft"
    report = examine(load_project(file))
    assert set(report.solution.lanes) == {lane.id for lane in report.project.lanes}
    assert as_json(report)["findings"]
