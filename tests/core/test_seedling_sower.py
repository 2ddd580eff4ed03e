"""The seedling sower: clean as it is, and one thing broken gives that finding and no other error.

What is broken is the sower whose selectors run straight towards their shaft, of which discs alone are made.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache
from typing import Any

import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Severity
from shaftscore.judge.findings.rules import RULES
from shaftscore.judge.report import FULL, QUICK, ExaminationStage, Report, examine
from shaftscore.model import (
    CoilSpring,
    Flow,
    Load,
    MotorSource,
    Project,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.model.guided import lane_guidance
from tests.samples import direct, sample, sample_report

Break = Callable[[Project], Project]
"""Breaks the sower in one way."""


@cache
def sower() -> Project:
    return direct(sample("seedling_sower"))


@cache
def report() -> Report:
    return examine(sower())


def edit(name: str, **arguments: Any) -> Break:
    return lambda project: apply_edit(project, name, **arguments).project


def flow(kind: str, record_id: str, **fields: Any) -> Break:
    """Change a record of the flow; an id that ends in * changes all that begin so."""

    def change(project: Project) -> Project:
        made = project.flow
        assert isinstance(made, Flow)
        records = tuple(
            replaced(record, **fields) if _named(record.id, record_id) else record
            for record in getattr(made, kind)
        )
        assert records != getattr(made, kind)
        return apply_edit(project, "set_flow", flow=replaced(made, **{kind: records})).project

    return change


def _named(own: str, asked: str) -> bool:
    return own.startswith(asked[:-1]) if asked.endswith("*") else own == asked


def both(*breaks: Break) -> Break:
    def change(project: Project) -> Project:
        for one in breaks:
            project = one(project)
        return project

    return change


def motor(torque: float, turn: str = "clockwise", speed: float = 24.0) -> Break:
    def change(project: Project) -> Project:
        assert project.drive is not None
        source = MotorSource(
            kind="motor",
            rated_speed_rpm=speed,
            rated_torque_nm=torque,
            turn=turn,  # type: ignore[arg-type]
        )
        return apply_edit(project, "set_drive", drive=replaced(project.drive, source=source)).project

    return change


def loaded(lane_id: str, **load: Any) -> Break:
    return edit("set_lane", lane_id=lane_id, load=Load(**load))


def sprung(**spring: object) -> Break:
    return loaded("shuttle", moving_mass_g=60.0, friction_n=0.5, spring=CoilSpring.model_validate(spring))


SHORT = {"kind": "compression", "wire_mm": 0.8, "coil_mm": 8.0, "active_coils": 12.0}
THIN = {"kind": "extension", "wire_mm": 0.4, "coil_mm": 5.0, "active_coils": 20.0}
FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=8.0, output_ratio=2.0)
KNIFE = TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0, output_ratio=2.0)


UNCLAMPED = {"across_mm": 10.0, "below_mm": 12.0, "above_mm": 12.0}


def any_chance(**stack: Any) -> Break:
    """Change a stack of a machine of which any number may fail."""
    return both(edit("set_limits", least_chance_percent=0.0), edit("set_stack", **stack))


def badly_keyed(project: Project) -> Project:
    """Print keys and dogs badly, in a machine of which any number may fail."""
    keyed = apply_edit(project, "set_tolerances", disc_angle_deg=4.0).project
    return apply_edit(keyed, "set_limits", least_chance_percent=0.0).project


ERRORS: dict[str, tuple[Break, set[str]]] = {
    "a rest that runs into the next release": (
        edit("stretch_block", ref=BlockRef("column_1", 1), end_deg=97.0),
        {"no-time"},
    ),
    "a shuttle with something between its ends": (
        both(
            edit("set_levels", lane_id="shuttle", levels={"bank A": 0.0, "gap": 6.0, "bank B": 12.0}),
            edit("set_lane", lane_id="shuttle", guarded=("gap",)),
        ),
        {"pass-through"},
    ),
    "a release held until its neighbour's": (
        both(
            edit("stretch_block", ref=BlockRef("column_1", 1), start_deg=72.0),
            edit("stretch_block", ref=BlockRef("column_1", 0), end_deg=62.0),
        ),
        {"overlap"},
    ),
    "a pawl that pulls before the seeds have landed": (
        edit("place_block", ref=BlockRef("pawl", 1), start_deg=290.0),
        {"interlock"},
    ),
    "hoppers that give too little": (flow("supplies", "hopper_basil", rate_per_min=60.0), {"starvation"}),
    "tubes that want more time between seeds": (
        flow("channels", "tube_2", headway_s=1.4),
        {"collision"},
    ),
    "a gate that lets two seeds by": (
        both(
            flow("gates", "basil_gate_1", mode="stream", item_s=0.4, to=None),
            flow("outlets", "cells_1", expects=None),
        ),
        {"double-release"},
    ),
    "a selector that needs long to pick a seed": (
        flow("gates", "cress_gate_9", item_s=2.0),
        {"missed-release"},
    ),
    "a shuttle that comes too late": (
        edit("place_block", ref=BlockRef("shuttle", 0), start_deg=175.0),
        {"misrouted"},
    ),
    "cress where basil should be": (
        edit("set_block_level", ref=BlockRef("column_4", 0), level="cress"),
        {"wrong-order"},
    ),
    "a guide that grips": (
        edit("set_follower", lane_id="column_5", guide_friction=0.6, overhang_mm=40.0),
        {"self-locking"},
    ),
    "a small disc": (edit("set_disc", lane_id="column_6", base_radius_mm=36.0), {"undercut"}),
    "moves with corners": (
        edit("set_lane", lane_id="shuttle", law="constant-velocity"),
        {"velocity-jump", "undercut"},
    ),
    "a narrow face": (edit("set_lane", lane_id="shuttle", follower=FLAT), {"face-width"}),
    "more speed than the spring holds": (
        edit("set_shaft", speed_max_rpm=40.0),
        {"float", "weak-spring"},
    ),
    "a spring as weak as its friction": (
        loaded("shuttle", moving_mass_g=60.0, friction_n=0.5, spring_preload_n=0.6, spring_rate_n_per_mm=0.2),
        {"weak-spring"},
    ),
    "a spring that is too short": (sprung(**SHORT, free_mm=22.0, installed_mm=17.0), {"spring-solid"}),
    "a weak motor": (motor(0.15), {"overload"}),
    "a lever that reaches the disc above": (
        edit("set_follower", lane_id="column_2", arm_thickness_mm=8.0),
        {"interference"},
    ),
    "guides that begin within the discs": (
        edit("set_follower", lane_id="column_2", guide_start_mm=50.0),
        {"interference"},
    ),
    "a pawl that falls too late": (
        both(
            edit("set_block_law", ref=BlockRef("pawl", 0), law="drop"),
            edit("stretch_block", ref=BlockRef("pawl", 0), start_deg=326.0, neighbours="stay"),
        ),
        {"drop-late"},
    ),
    "a shaft thicker than its discs": (
        edit("set_stack", stack_id="feed", bore={"shape": "round", "across_mm": 64.0}, fixing="glued"),
        {"bad-part"},
    ),
    "a rise that is to drop": (
        edit("set_block_law", ref=BlockRef("shuttle", 0), law="drop"),
        {"not-checked"},
    ),
    "spacers as large as the discs": (
        edit("set_stack", stack_id="main", spacer_radius_mm=48.0),
        {"interference"},
    ),
    "a round bore": (
        edit("set_stack", stack_id="main", bore={"shape": "round", "across_mm": 10.0}, rod=UNCLAMPED),
        {"free-part"},
    ),
    "discs tightened as they lie": (
        edit("set_stack", stack_id="main", joints="as-they-lie", fit_clearance_mm=0.3),
        {"unlikely"},
    ),
}

WARNINGS: dict[str, tuple[Break, set[str]]] = {
    "steeper than advised": (edit("set_limits", pressure_angle_deg=20.0), {"pressure-angle"}),
    "crests that must be rounder": (edit("set_limits", crest_radius_mm=2.0), {"sharp-crest"}),
    "hollows that must be wider": (edit("set_limits", hollow_margin_mm=7.0), {"tight-hollow"}),
    "no roller": (edit("set_lane", lane_id="shuttle", follower=KNIFE), {"knife-edge"}),
    "a strong spring": (
        loaded("column_3", moving_mass_g=20.0, friction_n=0.3, spring_preload_n=4.0),
        {"contact-stress"},
    ),
    "a spring of thin wire": (sprung(**THIN, free_mm=30.0, installed_mm=85.0), {"spring-stress"}),
    "a motor that turns the other way": (motor(0.6, turn="counterclockwise"), {"wrong-hand"}),
    "a fast motor": (motor(0.6, speed=30.0), {"off-speed"}),
    "a small limit of the discs": (edit("set_limits", max_disc_radius_mm=45.0), {"too-large"}),
    "narrow teeth": (edit("set_stage", number=1, module_mm=1.0, face_mm=3.0), {"weak-gear"}),
    "a thick shaft": (
        edit(
            "set_stack",
            stack_id="feed",
            bore={"shape": "round", "across_mm": 57.0},
            spacer_radius_mm=29.1,
        ),
        {"weak-part"},
    ),
    "rollers set by eye": (edit("set_tolerances", follower_z_mm=3.0), {"off-edge"}),
    "loose keys": (badly_keyed, {"thin-margin"}),
    "a clamp that hardly holds": (
        any_chance(stack_id="main", rod={**UNCLAMPED, "clamp_n": 5.0}),
        {"joint-slips"},
    ),
    "glued discs under a slack nut": (
        edit("set_stack", stack_id="main", fixing="glued", rod={**UNCLAMPED, "clamp_n": 5.0}),
        {"joint-opens"},
    ),
    "bearings far apart": (
        any_chance(stack_id="main", rod={**UNCLAMPED, "below_mm": 250.0, "above_mm": 250.0}),
        {"shaft-bends"},
    ),
}


SEARCHED = {"wrong-hand", "off-speed", "thin-margin", "joint-slips", "joint-opens", "shaft-bends"}
"""Rules of which the report says more after a search through many cures, which takes seconds."""

COMES_LATE = {
    *SEARCHED,
    "unlikely",
    "overload",
    "weak-gear",
    "interference",
    "starvation",
    "collision",
    "double-release",
    "missed-release",
    "misrouted",
    "wrong-order",
}
"""Rules that only a whole report has."""


def stage_of(rules: set[str]) -> ExaminationStage:
    return FULL if rules & COMES_LATE else QUICK


def slow_is_long(ways: dict[str, tuple[Break, set[str]]]) -> list[Any]:
    """Leave to the long run what searches through many cures."""
    return [
        pytest.param(name, marks=pytest.mark.long if rules & SEARCHED else ())
        for name, (_, rules) in ways.items()
    ]


NOTES: dict[str, tuple[Break, set[str]]] = {
    "a thickness between two layers": (
        edit("set_disc", lane_id="pawl", thickness_mm=5.1),
        {"between-layers"},
    ),
    "a pawl that drops": (
        edit("set_block_law", ref=BlockRef("pawl", 0), law="drop"),
        {"drop-one-way", "acceleration-jump"},
    ),
}


def test_every_way_that_the_table_of_findings_lists_is_broken() -> None:
    broken = {rule for ways in (ERRORS, WARNINGS, NOTES) for _, rules in ways.values() for rule in rules}
    assert broken == set(RULES) - {"weak-stage"}  # of stacks that step, which the sower has not


def test_the_sample_is_what_it_says() -> None:
    project = sample("seedling_sower")
    selectors = [lane for lane in project.lanes if len(lane.levels) == 3]
    assert len(selectors) == 12
    assert {(lane.group, lane.station_deg) for lane in selectors} == {("Bank A", 0.0), ("Bank B", 180.0)}
    assert project.flow is not None
    assert len(project.flow.supplies) == 2
    assert len(project.shaft.step_starts_deg) == 8


def test_its_selectors_move_by_straight_line_levers() -> None:
    """The end of a plain lever of 120 mm bows by 120 (1 - cos 2.4°), 0.1 mm, over a travel of 10 mm."""
    bow_mm = 120 - math.sqrt(120**2 - 5**2)
    for lane in sample("seedling_sower").lanes:
        if len(lane.levels) == 3:
            assert lane.parts is not None
            assert lane.parts.kind == "straight-line"
            guide = lane_guidance(lane)
            assert guide is not None
            assert guide.deviation_mm < bow_mm / 10


def test_it_is_clean_and_holds_for_ever() -> None:
    found = sample_report("seedling_sower")
    assert found.findings == ()
    assert found.is_clean
    assert found.flow is not None
    assert found.flow.holds_for_ever
    assert found.margin is not None
    assert found.margin.smallest_deg > 1.0
    assert found.spread is not None
    assert found.spread.chance > 0.95


def test_it_fits_the_bed() -> None:
    for lane in sample_report("seedling_sower").solution.lanes.values():
        assert lane.profile is not None
        assert lane.profile.fits
        assert 2 * lane.profile.max_radius_mm < 220.0


def errors_of(project: Project, stage: ExaminationStage) -> set[str]:
    found = examine(project, report(), stage=stage).findings
    return {finding.rule for finding in found if finding.severity is Severity.ERROR}


@pytest.mark.parametrize("name", ERRORS)
def test_one_thing_broken_gives_that_error_alone(name: str) -> None:
    change, rules = ERRORS[name]
    assert errors_of(change(sower()), stage_of(rules)) == rules


@pytest.mark.long
@pytest.mark.parametrize("name", ERRORS)
def test_the_whole_report_has_that_error_alone(name: str) -> None:
    change, rules = ERRORS[name]
    assert errors_of(change(sower()), FULL) == rules


@pytest.mark.parametrize("name", NOTES)
def test_what_is_only_noted(name: str) -> None:
    change, rules = NOTES[name]
    found = examine(change(sower()), report(), stage=QUICK).findings
    assert {finding.rule for finding in found if finding.severity is Severity.NOTE} == rules
    assert not [finding for finding in found if finding.severity is Severity.ERROR]


@pytest.mark.parametrize("name", slow_is_long(WARNINGS))
def test_one_thing_worse_gives_that_warning_and_no_error(name: str) -> None:
    change, rules = WARNINGS[name]
    found = examine(change(sower()), report(), stage=stage_of(rules)).findings
    assert rules <= {finding.rule for finding in found if finding.severity is Severity.WARNING}
    assert not [finding for finding in found if finding.severity is Severity.ERROR]
