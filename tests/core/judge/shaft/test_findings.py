"""What is found about shafts, cures that hold when they are made, and what is refused in words."""

from __future__ import annotations

import json
from typing import Any

import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Severity, words
from shaftscore.judge.report import QUICK, Report, examine, report_json
from shaftscore.model import Bore, Project, Stack, TranslatingRoller, read_project, replaced, saved_form
from tests.core.judge.shaft.machines import built, of_rule, presser, rod, shaft_of, stack
from tests.machines import gate

GROOVE = TranslatingRoller(kind="translating-roller", roller_radius_mm=4.0, closure="groove")


def cured(report: Report, project: Project, rule: str) -> tuple[str, Report]:
    """Apply the cure of the first finding of a rule; return its sentence and the report after."""
    (found, *_) = of_rule(report, rule)
    assert found.cure is not None
    assert found.cure.is_edit
    made = apply_edit(project, found.cure.edit, **found.cure.arguments).project
    return found.cure.sentence, examine(made)


def test_a_thin_rod_bends_and_the_rod_that_the_bore_allows_does_not() -> None:
    """By hand: 20 N on 85 mm of 4 mm steel bends by 0.097 mm, over a tolerance of 0.05 mm."""
    project = built(presser("A"), own=stack(rod(4.0)))
    project = replaced(project, tolerances=replaced(project.tolerances, profile_mm=0.05))
    report = examine(project)
    (found,) = of_rule(report, "shaft-bends")
    assert found.severity is Severity.WARNING
    assert found.lanes == ("a",)
    said = words(found, project)
    assert said.what == (
        "The shaft bends by 0.097 mm at A; at most 0.050 mm allowed, the tolerance of the profile."
    )
    sentence, after = cured(report, project, "shaft-bends")
    assert sentence == "Use a rod of 8 mm, which the bore allows."
    assert of_rule(after, "shaft-bends") == []


def test_a_rod_that_yields_is_an_error() -> None:
    """By hand: 600 N x 85 mm / 4 / (π 8³ / 32) = 254 MPa; steel yields at 235 MPa, 157 MPa are allowed."""
    project = built(presser("A", 600.0), own=stack(rod(8.0)))
    errors = [one for one in of_rule(examine(project), "shaft-bends") if one.severity is Severity.ERROR]
    (found,) = errors
    assert found.limit == pytest.approx(235 / 1.5)
    assert words(found, project).what == (
        "The shaft: bending stress 253.7 MPa in the rod; at most 156.7 MPa allowed."
    )


def test_the_stress_of_a_material_without_a_known_strength_is_not_judged() -> None:
    project = built(presser("A", 600.0), own=stack(rod(8.0, material="POM")))
    assert [one.severity for one in of_rule(examine(project), "shaft-bends")] == [Severity.WARNING]
    assert shaft_of(project).allowed_mpa is None


def pair(clamp_n: float | None = None, **more: Any) -> Project:
    """Return two discs with a spacer, 8 N each, in the middle of a thin rod."""
    own = stack(rod(8.0, clamp_n=clamp_n, thread="M8", **more))
    return built(presser("A", 8.0), presser("B", 8.0, 200.0), own=own)


def test_a_weak_clamp_opens_a_joint_and_a_stronger_one_does_not() -> None:
    """By hand: M = 8 N x 45 mm at the joint; F/2 (R² + r²) / (4 R) with R 12, r 4: 5.0 F/2 N mm and F/2 3.33.

    Joints are at z 5 and 11 of 16 mm; the moment there is 8 N (z + 40) - 8 N (z - 2.5) = 340 N mm.
    """
    project = pair(100.0)
    report = examine(project)
    (found,) = of_rule(report, "joint-opens")
    assert found.value == pytest.approx(0.340)
    assert found.limit == pytest.approx(0.5 * 100 * (12**2 + 4**2) / (4 * 12) / 1000)
    assert words(found, project).what == (
        "A bending moment of 0.340 N·m opens the joint above the disc of A; "
        "the clamp of 100 N holds 0.167 N·m after creep."
    )
    sentence, after = cured(report, project, "joint-opens")
    assert sentence == "Clamp the stack with 210 N: 0.34 N·m on its M8 nuts."  # 0.2 x 210 N x 8 mm
    assert of_rule(after, "joint-opens") == []
    shaft = after.shafts.stacks["s"]  # type: ignore[union-attr]
    assert shaft.needed_clamp_n == pytest.approx(2 * 340 / ((12**2 + 4**2) / (4 * 12)))
    assert shaft.nut_torque_nm == pytest.approx(0.2 * 204 * 8 / 1000)


def test_clamped_parts_count_with_a_share_of_their_section() -> None:
    """By hand: E I of the rod's core, and 0.3 x 3300 MPa x π/64 (24⁴ - 8⁴) of the ring, along 16 of 96 mm."""
    bare, held = shaft_of(pair()), shaft_of(pair(300.0))
    opened = shaft_of(pair(100.0))
    assert opened.deflection_mm["a"].value == bare.deflection_mm["a"].value
    assert held.is_stiffened
    rod_ei = bare.case.figures.bending_nmm2
    ring_ei = 0.3 * 3300 * 3.141592653589793 / 64 * (24**4 - 8**4)
    middle = [one.bending_nmm2 for one in held.loaded.beam.stretches]
    assert middle == pytest.approx([rod_ei, *[rod_ei + ring_ei] * 3, rod_ei])
    assert held.deflection_mm["a"].value < bare.deflection_mm["a"].value
    share = held.stress_mpa.value / bare.stress_mpa.value  # the rod alone at the face, 320 of 340 N mm
    assert share == pytest.approx(320 / 340)


def test_a_follower_on_the_other_side_is_offered_where_no_rod_helps() -> None:
    own = stack(rod(8.0, below_mm=100.0, above_mm=100.0), spacer_mm=0.0)
    project = built(presser("A", 40.0), presser("B", 30.0, 200.0), own=own)
    (found,) = of_rule(examine(project), "shaft-bends")
    assert found.cure is not None
    assert found.cure.sentence == "Move A to station 180.0°, opposite."
    assert not found.cure.is_edit
    moved = replaced(project, lanes=(replaced(project.lanes[0], station_deg=180.0), project.lanes[1]))
    assert of_rule(examine(moved), "shaft-bends") == []


def test_a_bearing_in_the_middle_is_offered_last() -> None:
    lanes = [presser(f"L{i}", 30.0, 30.0 * i, station_deg=90.0 * i) for i in range(4)]
    lanes[2] = replaced(lanes[2], station_deg=0.0)
    lanes[3] = replaced(lanes[3], station_deg=0.0)
    own = stack(rod(8.0), spacer_mm=60.0)
    (found,) = of_rule(examine(built(*lanes, own=own)), "shaft-bends")
    assert found.cure is not None
    assert found.cure.sentence == "Add a third bearing at z 100.0 mm, between L1 and L2."


def test_no_cure_is_offered_where_none_holds() -> None:
    own = stack(rod(8.0, below_mm=400.0, above_mm=400.0))
    (found, *_) = of_rule(examine(built(presser("A", 100.0), own=own)), "shaft-bends")
    assert found.cure is None


def test_of_several_stacks_the_one_that_bends_is_named() -> None:
    other = Stack(id="t", name="Feed shaft", bore=Bore(shape="round", across_mm=8.0), rod=rod(2.0))
    project = built(presser("A"), presser("B", stack="t"), own=stack(rod(8.0)))
    project = replaced(project, stacks=(*project.stacks, other))
    found = of_rule(examine(project), "shaft-bends")
    assert [words(one, project).what.split(" bends")[0] for one in found if one.lanes] == ["Feed shaft"]


# What cannot be computed

REFUSED = [
    ((gate("A", 100, 130),), stack(rod()), "no lane on it has a load, so no force on it is known."),
    (
        (presser("A"),),
        stack(rod(shape="d")),
        "the flat of its rod is not described: the bore is not a D.",
    ),
    (
        (
            presser(
                "A",
                follower=TranslatingRoller(
                    kind="translating-roller",
                    roller_radius_mm=5.0,
                    guide_length_mm=2.0,
                    overhang_mm=60.0,
                    guide_friction=0.3,
                ),
            ),
        ),
        stack(rod()),
        "the guide of A locks, so the force on its disc is not known.",
    ),
    ((), stack(rod()), "it carries no disc."),
]


@pytest.mark.parametrize(("lanes", "own", "why"), REFUSED)
def test_what_is_not_computed_is_said(lanes: Any, own: Stack, why: str) -> None:
    project = built(*lanes, own=own)
    report = examine(project)
    texts = [words(one, project).what for one in of_rule(report, "not-checked")]
    assert f"The shaft is not checked: {why}" in texts
    assert report_json(report)["shaft"] == {"s": None}
    assert "shaft-bends" not in report.checked


def test_lanes_without_a_load_are_named() -> None:
    shaft = shaft_of(built(presser("A"), gate("B", 200, 230)))
    assert shaft.case.without_load == ("b",)
    assert shaft.disc_ids == ("a", "b")


def test_a_groove_that_pulls_bends_the_shaft_outward() -> None:
    load = presser("A").load
    assert load is not None
    pulled = replaced(load, spring_preload_n=0.0, external_n=-20.0)
    shaft = shaft_of(built(gate("A", 100, 130, 60.0, follower=GROOVE, load=pulled)))
    assert shaft.forces_n[0][:, 1150] == pytest.approx([20.0, 0.0], abs=1e-9)


# JSON, and what is taken over


def test_the_object_of_check() -> None:
    report = examine(pair(300.0))
    made = json.loads(json.dumps(report_json(report)))["shaft"]["s"]
    assert [*made] == ["deflection_mm", "stress_mpa", "reactions_n", "friction_nm", "clamp_force_n"]
    assert [*made["deflection_mm"]] == ["a", "b"]
    assert made["reactions_n"] == pytest.approx([8.0, 8.0])
    assert made["friction_nm"] == pytest.approx(0.0015 * 16 * 4 / 1000)
    assert {"shaft-bends", "joint-opens"} <= set(report.checked)
    assert report_json(examine(built(presser("A"), own=Stack(id="s"))))["shaft"] == {"s": None}


def test_a_rod_is_read_from_its_file() -> None:
    project = pair(300.0)
    again = read_project(saved_form(project), "x")
    assert report_json(examine(again))["shaft"] == report_json(examine(project))["shaft"]


def test_results_are_taken_over_and_in_a_hurry_the_last_ones_stand_in() -> None:
    project = built(presser("A"), presser("B", start=200.0), own=stack(rod(3.0)))
    first = examine(project)
    assert first.shafts is not None
    renamed = replaced(project, name="Other")
    second = examine(renamed, first, stage=QUICK)
    assert second.shafts is not None
    assert second.shafts.stacks["s"] is first.shafts.stacks["s"]
    assert second.shafts.project is renamed
    harder = replaced(project, lanes=(presser("A", 30.0), project.lanes[1]))
    hurried = examine(harder, first, stage=QUICK)
    assert hurried.shafts is first.shafts
    assert of_rule(hurried, "shaft-bends") == of_rule(first, "shaft-bends")
    late = examine(harder, hurried)
    assert late.shafts is not None
    shaft, before = late.shafts.stacks["s"], first.shafts.stacks["s"]
    assert shaft.case.lanes["b"] is before.case.lanes["b"]
    assert shaft.deflection_mm["a"].value > before.deflection_mm["a"].value
    gone = examine(replaced(project, lanes=project.lanes[1:]), first, stage=QUICK)
    assert [one for one in of_rule(gone, "shaft-bends") if one.lanes] == []


def test_of_some_lanes_alone_nothing_is_said_of_the_shaft() -> None:
    report = examine(built(presser("A"), presser("B", start=200.0), own=stack(rod(2.0))), lanes=["a"])
    assert report.shafts is None
    assert of_rule(report, "shaft-bends") == []
