"""weak-gear by hand, its cure, and what makes it silent."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest

from shaftscore.edits import apply_edit
from shaftscore.judge.loads import machine_loads
from shaftscore.judge.loads.gears import gear_findings, stack_gear_findings
from shaftscore.judge.report import examine
from shaftscore.model import Drive, Hub, Material, Project, Stage, replaced
from shaftscore.solution import solve
from tests.core.make.solids.test_gears import geared_stacks
from tests.samples import direct, sample

BLENDER = direct(sample("tea_blender"))


def geared(*stages: Stage, strength: float | None = 45.0) -> Project:
    """Return the tea blender with a train, of a material of a strength, MPa."""
    assert BLENDER.drive is not None
    weak = Material(name="PLA", modulus_gpa=3.0, poisson=0.36, contact_mpa=30.0, strength_mpa=strength)
    drive = Drive(source=BLENDER.drive.source, stages=stages)
    return replaced(BLENDER, drive=drive, materials=(weak,))


def stage(driver: int, driven: int, **fields: object) -> Stage:
    made = {"driver_teeth": driver, "driven_teeth": driven, "kind": "external", "efficiency": 0.8}
    return Stage.model_validate({**made, "module_mm": 1.5, "face_mm": 6.0, **fields})


def test_stress_of_both_stages_by_hand() -> None:
    """Peak 3 N·m at 60 teeth of module 1.5: 66.7 N at 45 mm, 83.3 N with losses; Y of 12 teeth 0.245.

    83.3 / (6 x 1.5 x 0.245) = 37.8 MPa over 45 / 3. The stage before carries 3 / (5 x 0.8) = 0.75 N·m at
    48 teeth of module 1 and face 8: 31.25 N, 39.1 N with losses, on 16 teeth: Y between 15 and 18.
    """
    project = geared(stage(16, 48, module_mm=1.0, face_mm=8.0), stage(12, 60))
    last, first = gear_findings(project, 3.0)
    assert (last.rule, last.facts["stage"], last.facts["teeth"]) == ("weak-gear", 2, 12)
    assert last.value == pytest.approx(3.0 / 0.045 / 0.8 / (6 * 1.5 * 0.245))
    assert last.limit == pytest.approx(15.0)
    between = 0.289 + (0.308 - 0.289) * (1 / 15 - 1 / 16) / (1 / 15 - 1 / 18)
    assert first.value == pytest.approx(0.75 / 0.024 / 0.8 / (8 * 1.0 * between))
    assert last.facts["wheel"] == "driver"


def test_the_cure_holds_with_reserve_and_can_be_applied() -> None:
    """First a wider face, then a larger module where teeth would be wider than 12 modules."""
    for torque, words in ((1.4, "Face width 11.0 mm"), (3.0, "Module 2 mm and face width 13.0 mm")):
        (found,) = gear_findings(geared(stage(12, 60)), torque)
        assert found.cure is not None
        assert found.cure.sentence.startswith(words)
        made = apply_edit(geared(stage(12, 60)), found.cure.edit or "", **found.cure.arguments).project
        assert made.drive is not None
        cured = made.drive.stages[0]
        force = torque * 2 / (cured.module_mm * 60 / 1000) / 0.8
        assert force * 1.5 / (cured.face_mm * cured.module_mm * 0.245) <= 15.0 + 1e-9
        assert cured.face_mm <= 12 * cured.module_mm


def test_what_it_says_nothing_of() -> None:
    assert [*gear_findings(geared(stage(12, 60)), 0.05)] == []
    assert [*gear_findings(geared(stage(12, 60)), inf)] == []
    assert [*gear_findings(geared(stage(12, 60, module_mm=None)), 50.0)] == []
    assert [*gear_findings(geared(stage(12, 60, kind="belt")), 50.0)] == []
    (unknown,) = gear_findings(geared(stage(12, 60), strength=None), 50.0)
    assert unknown.facts["why"] == "The teeth of the gears are not checked: PLA states no strength."


def test_without_loads_the_source_loads_the_teeth() -> None:
    """A motor of 0.35 N·m through 5 to 1 and 0.8 gives 1.4 N·m."""
    (found,) = gear_findings(geared(stage(12, 60)), None)
    assert found.value == pytest.approx(1.4 / 0.045 / 0.8 / (6 * 1.5 * 0.245))


def test_check_finds_what_export_would_refuse() -> None:
    """A hub of which the wheel is smaller than its bore allows, in the words of the export."""
    project = geared(stage(12, 14, module_mm=1.0))
    stack = replaced(project.stacks[0], hub=Hub(kind="set-screw"))
    report = examine(replaced(project, stacks=(stack,)), cures=False)
    why = [f.facts.get("why") for f in report.findings if f.rule == "bad-part"]
    assert len(why) == 1
    assert str(why[0]).startswith("Hub of Main shaft: the wall between its bore and its teeth is ")
    assert "weak-gear" in report.checked


def test_wheels_between_stacks_by_what_the_second_one_drives() -> None:
    """The force at the second wheel is the peak of its own lanes' torque, over its radius.

    Its lanes load the master shaft with turns / efficiency times what they take at their own shaft.
    """
    project = geared_stacks(Hub(kind="set-screw", teeth=54, module_mm=0.6), Hub(kind="clamp", teeth=18))
    plain = Material(name="PLA", modulus_gpa=3.0, poisson=0.36, contact_mpa=30.0, strength_mpa=9.0)
    loads = machine_loads(solve(replaced(project, materials=(plain,))))
    own = [loads.camshaft.by_lane[lane] for lane, one in loads.lanes.items() if one.solved.stack == "second"]
    torque = np.abs(np.sum(own, axis=0)).max() / 3
    (found,) = stack_gear_findings(loads)
    assert found.value == pytest.approx(torque * 1000 / (0.3 * 18) / (8 * 0.6 * 0.6 * 0.308))
    assert (found.facts["stack"], found.facts["teeth"]) == ("Second shaft", 18)
    assert found.limit == pytest.approx(3.0)


def test_wheels_between_stacks_of_an_unknown_material_are_said_not_to_be_checked() -> None:
    """No stage has teeth here: the wheels between the stacks alone are left out."""
    project = geared_stacks(Hub(kind="set-screw", teeth=54, module_mm=0.6), Hub(kind="clamp", teeth=18))
    unknown = Material(name="PLA", modulus_gpa=3.0, poisson=0.36, contact_mpa=30.0)
    loads = machine_loads(solve(replaced(project, materials=(unknown,))))
    (said,) = stack_gear_findings(loads)
    assert said.facts["why"] == (
        "The teeth of the wheels between stacks are not checked: PLA states no strength."
    )
    assert [*gear_findings(loads.project, 1.0)] == []


def test_wheels_between_stacks_are_judged_again_when_the_shaft_turns_the_other_way() -> None:
    """Meshing wheels turn against each other: with both stacks in one sense they cannot be made."""
    project = geared_stacks(Hub(kind="set-screw", teeth=75, module_mm=1.25), Hub(kind="clamp", teeth=25))
    before = examine(project, cures=False)
    assert not [found for found in before.findings if found.rule == "bad-part"]
    shaft = replaced(project.shaft, turn=project.stacks[1].turn)
    report = examine(replaced(project, shaft=shaft), before, cures=False)
    (bad,) = [found for found in report.findings if found.rule == "bad-part"]
    assert "turns the other way" in str(bad.facts["why"])
