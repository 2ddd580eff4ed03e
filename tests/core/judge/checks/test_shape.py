"""The rules about a disc's shape, against closed forms and dense sampling; cures that cure."""

from __future__ import annotations

import json

import numpy as np
import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import QUICK, examine
from shaftscore.kinematics.profiles import Profile
from shaftscore.model import (
    Disc,
    Lane,
    Limits,
    Print,
    Project,
    Stack,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.solution import solve
from tests.machines import gate, lane, machine


def small(base: float = 15.0, **more: object) -> Lane:
    return gate("A", 100, 130, 40.0, disc=Disc(base_radius_mm=base), **more)


def of_rule(project: Project, rule: str) -> list[Finding]:
    return [finding for finding in examine(project).findings if finding.rule == rule]


def after_cure(project: Project, finding: Finding) -> Project:
    assert finding.cure is not None
    assert finding.cure.edit is not None
    return apply_edit(project, finding.cure.edit, **finding.cure.arguments).project


def profile_of(project: Project, lane_id: str = "a") -> Profile:
    profile = solve(project).lanes[lane_id].profile
    assert profile is not None
    return profile


def test_pressure_angle_tells_worst_place_and_stretch() -> None:
    project = machine(small())
    rise, fall = of_rule(project, "pressure-angle")
    dense = np.linspace(60.0, 100.0, 400_001)
    angle = np.abs(profile_of(project).at(dense).pressure_deg)
    assert rise.value == pytest.approx(float(angle.max()), abs=1e-6)
    assert float(rise.facts["at_deg"]) == pytest.approx(float(dense[np.argmax(angle)]), abs=1e-3)
    over = dense[angle > 30.0]
    assert (rise.start_deg, rise.end_deg) == pytest.approx((over[0], over[-1]), abs=2e-4)
    assert (rise.limit, fall.limit) == (30.0, 45.0)
    assert words(rise, project).what.endswith("over the limit of 30.0°.")
    assert [finding.facts["move"] for finding in (rise, fall)] == ["rise", "fall"]


def test_pressure_angle_by_its_textbook_formula() -> None:
    """tan(alpha) = s' / (sqrt(Rp^2 - e^2) + s) in line with the axis: any text on cam design."""
    project = machine(small(30.0))
    profile = profile_of(project)
    at = np.linspace(0, 359, 720)
    s, slope = profile.motion.at(at)[:2]
    expected = np.degrees(np.arctan2(slope, 35.0 + s))
    assert profile.at(at).pressure_deg == pytest.approx(expected, abs=1e-9)
    assert bool(of_rule(project, "pressure-angle")) is bool(np.max(expected) > 30.0)


def test_swing_has_its_own_limit() -> None:
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=50.0,
        pivot_distance_mm=60.0,
        pivot_side="clockwise",
    )
    project = machine(small(15.0, follower=arm))
    assert {finding.limit for finding in of_rule(project, "pressure-angle")} <= {45.0}
    strict = Limits(swing_pressure_angle_deg=1.0, return_pressure_angle_deg=2.0)
    found = of_rule(machine(small(15.0, follower=arm), limits=strict), "pressure-angle")
    assert {finding.limit for finding in found} == {1.0, 2.0}


def test_a_faster_stack_shows_its_first_turn() -> None:
    one, three = (machine(small(), stacks=(Stack(id="s", turns=turns),)) for turns in (1, 3))
    first, third = of_rule(one, "pressure-angle")[0], of_rule(three, "pressure-angle")[0]
    assert third.start_deg == pytest.approx((first.start_deg or 0.0) / 3)
    assert third.value == pytest.approx(first.value)


@pytest.mark.parametrize("rule", ["pressure-angle", "undercut"])
def test_after_the_base_radius_cure_the_finding_is_gone(rule: str) -> None:
    project = machine(small(6.0, follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=9.0)))
    for finding in of_rule(project, rule):
        assert finding.cure is not None
        assert finding.cure.edit == "set_disc"
        keys = {after.key for after in of_rule(after_cure(project, finding), rule)}
        assert finding.key not in keys


def test_words_of_shape_cures() -> None:
    project = machine(small())
    (finding, _) = of_rule(project, "pressure-angle")
    said = words(finding, project).cure
    assert said.startswith("Give the rise ")
    assert ", or base radius " in said
    assert said.endswith(" mm.")


def test_with_an_automatic_base_a_longer_move_cures() -> None:
    steep = machine(gate("A", 100, 130, 6.0))
    found = of_rule(steep, "pressure-angle")
    assert found
    assert found[0].cure is not None
    assert found[0].cure.edit == "stretch_block"
    after = {finding.key for finding in of_rule(after_cure(steep, found[0]), "pressure-angle")}
    assert found[0].key not in after


def test_cures_that_take_long_are_left_out_in_a_hurry_and_kept_when_known() -> None:
    project = machine(small())
    hurried = examine(project, stage=QUICK)
    assert all(f.cure is None for f in hurried.findings if f.rule == "pressure-angle")
    full = examine(project, hurried)
    assert all(f.cure is not None for f in full.findings if f.rule == "pressure-angle")
    again = examine(project, full, stage=QUICK)
    assert again.findings == full.findings


def test_undercut_says_what_the_edge_would_need() -> None:
    """The profile's radius is the path's less the roller's: any text on cam design."""
    big = TranslatingRoller(kind="translating-roller", roller_radius_mm=9.0)
    project = machine(small(6.0, follower=big))
    finding = of_rule(project, "undercut")[0]
    assert finding.value == pytest.approx(float(finding.facts["path_mm"]) - 9.0)
    at = profile_of(project).at(np.linspace(0, 360, 100_000))
    convex = at.pitch_curvature > 0
    assert finding.value == pytest.approx(float(np.min(1 / at.pitch_curvature[convex])) - 9.0, abs=1e-4)
    assert words(finding, project).what.startswith("Roller radius 9.0 mm is over the path's ")


def test_sharp_crest_and_tight_hollow_know_their_limits() -> None:
    project = machine(small(22.0), limits=Limits(crest_radius_mm=60.0, hollow_margin_mm=80.0))
    crest, hollow = of_rule(project, "sharp-crest")[0], of_rule(project, "tight-hollow")[0]
    assert crest.value is not None
    assert 0 < crest.value < 60.0 == crest.limit
    assert hollow.value is not None
    assert hollow.limit == 85.0
    assert 5.0 < hollow.value < 85.0
    assert hollow.facts["roller_mm"] == 5.0


def test_limits_that_are_just_met_hold() -> None:
    """An automatic base radius just meets its governing limit: that is not a finding."""
    project = machine(gate("A", 100, 130, 40.0))
    profile = profile_of(project)
    assert profile.max_pressure_angle_deg == pytest.approx(30.0, abs=1e-6)
    assert not examine(project).findings


def test_knife_edge() -> None:
    knife = TranslatingRoller(kind="translating-roller", roller_radius_mm=0.0)
    (finding,) = of_rule(machine(small(60.0, follower=knife)), "knife-edge")
    assert str(finding.severity) == "warning"


def test_face_width_is_twice_the_greatest_slope() -> None:
    """The contact runs s' beside the middle: any text on cam design."""
    flat = TranslatingFlat(kind="translating-flat", face_width_mm=10.0)
    project = machine(small(60.0, follower=flat))
    (finding,) = of_rule(project, "face-width")
    slope = np.abs(profile_of(project).motion.at(np.linspace(60, 100, 200_001))[1])
    assert finding.value == pytest.approx(2 * float(slope.max()), rel=1e-8)
    assert not of_rule(after_cure(project, finding), "face-width")
    assert words(finding, project).cure.startswith("Face ")


def test_a_disc_that_is_too_large() -> None:
    project = machine(small(60.0), limits=Limits(max_disc_radius_mm=65.0))
    (finding,) = of_rule(project, "too-large")
    assert (finding.value, finding.limit) == pytest.approx((70.0, 65.0))
    assert not of_rule(machine(small(60.0), limits=Limits(max_disc_radius_mm=70.0)), "too-large")


@pytest.mark.parametrize(
    ("bed", "material", "refused"),
    [((118.0, 300.0), "PLA", True), ((300.0, 118.0), "PLA", True), ((128.0, 125.0), "PLA", True),
     ((125.0, 141.0), "PLA", False), ((141.0, 141.0), "PLA", False), ((120.0, 120.0), "steel", False)],
)  # fmt: skip
def test_a_printed_disc_over_the_bed_cannot_be_made(
    bed: tuple[float, float], material: str, refused: bool
) -> None:
    """By hand: base radius 60 mm and a lift of 10 mm: 120 mm one way, 130 mm the other."""
    lane_ = small(60.0)
    lane_ = replaced(lane_, disc=replaced(lane_.disc, material=material))
    project = machine(lane_, print=Print(bed_x_mm=bed[0], bed_y_mm=bed[1]))
    found = of_rule(project, "bad-part")
    assert len(found) == refused
    for finding in found:
        assert finding.severity is Severity.ERROR
        said = words(finding, project).what
        assert f"bed of {bed[0]:g} x {bed[1]:g} mm" in said
        assert "a smaller base radius or a larger bed is required" in said


@pytest.mark.parametrize(
    "fields", [{"shrinkage_percent": 10.0}, {"contour_mm": 7.5}], ids=["shrinkage", "contour"]
)
def test_what_the_printer_adds_counts_for_the_bed(fields: dict[str, float]) -> None:
    """By hand: 140 mm become 140 / 0.9 = 155.6 mm, or 140 + 2 x 7.5 = 155 mm: over a bed of 152 mm."""
    for bed, refused in ((152.0, True), (156.0, False)):
        still = lane("A", ("closed", 0, 360), disc=Disc(base_radius_mm=70.0, material="PLA"))
        printer = Print(bed_x_mm=bed, bed_y_mm=bed, **fields)
        limits = Limits(max_disc_radius_mm=75.0)
        assert len(of_rule(machine(still, print=printer, limits=limits), "bad-part")) == refused


def test_the_rim_of_a_groove_counts() -> None:
    groove = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    project = machine(small(60.0, follower=groove), limits=Limits(max_disc_radius_mm=65.0))
    (finding,) = of_rule(project, "too-large")
    # Centre 60 + 5 + 10, roller 5, half the clearance 0.1, rim 4.
    assert finding.value == pytest.approx(84.1)


def test_a_thin_wall_about_the_bore() -> None:
    bore = {"shape": "round", "across_mm": 10.0}
    project = machine(
        lane("A", ("closed", 0, 360), disc=Disc(base_radius_mm=6.0)),
        stacks=(Stack.model_validate({"id": "s", "bore": bore}),),
    )
    (finding,) = of_rule(project, "weak-part")
    assert finding.value == pytest.approx(6.0 - 5.0 - 0.2)
    assert words(finding, project).what == "Wall between bore and rim is 0.8 mm; 1.2 mm required."


def test_findings_of_one_lane_have_keys_of_their_own() -> None:
    groove = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove")
    tight = Limits(pressure_angle_deg=1.0, crest_radius_mm=90.0, hollow_margin_mm=90.0)
    points = tuple({"theta_deg": 30.0 * n, "output_mm": 5.0 + 3.0 * (n % 3)} for n in range(12))
    table = Lane.model_validate_json(
        json.dumps({"id": "t", "kind": "points", "points": points, "disc": {"base_radius_mm": 20.0}})
    )
    found = examine(machine(small(15.0, follower=groove), table, limits=tight), stage=QUICK)
    keys = [finding.key for finding in found.findings]
    assert len(keys) > 8
    assert len(set(keys)) == len(keys)
