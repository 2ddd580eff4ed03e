"""Intermittent stages that cannot be made: the finding says why, as the export does."""

from __future__ import annotations

import re

import pytest

from shaftscore.judge.report import examine_as_drawn
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.layout.stepping import step_stages
from shaftscore.make.solids.stepping import step_makers
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Bore, Hub, Project, replaced
from tests.stage_machine import counted_machine, stage_machine


def _bad(project: Project) -> list[str]:
    found = examine_as_drawn(project).findings
    return [str(one.facts["why"]) for one in found if one.rule == "bad-part"]


def _with(**fields: object) -> Project:
    project = stage_machine()
    ones, tens = project.stacks
    return replaced(project, stacks=(ones, replaced(tens, **fields)))


@pytest.mark.parametrize(
    ("project", "said"),
    [
        (stage_machine(centre_distance_mm=60), "the tips of its wheel pass 2.9 mm from the axis of ones"),
        (stage_machine(inner=True), "an inner wheel turns about the end of the driving shaft"),
        (stage_machine(slots=3), "the plate of its driver is"),
        (stage_machine(thickness_mm=0.5), "of the thickness of its driver 0.5 mm are left"),
        (stage_machine(pin_diameter_mm=18), "its locking disc would have a radius of"),
        (_with(hub=Hub(kind="clamp")), "its wheel is at the top of tens, where that has its hub"),
        (_with(bore=Bore(across_mm=5, shape="round")), "nothing turns its wheel on a round rod"),
        (counted_machine(teeth=5, driven_teeth=20), "a wheel of 5 teeth is not made; at least 6 required"),
        (counted_machine(teeth=10, counted=1, driven_teeth=10), "the contact ratio of its teeth would be"),
        (counted_machine(counted=19, driven_teeth=19), "its driver lets the wheel rest over 18.0° of a turn"),
        (counted_machine(module_mm=0.4), "its locking disc would have a radius of"),
        (counted_machine(counted=1, module_mm=1.2), "no room for 20 arcs that hold it, with horns of 1.2 mm"),
    ],
)
def test_what_cannot_be_made_is_refused_by_check_and_export_alike(project: Project, said: str) -> None:
    assert any(said in text for text in _bad(project)), _bad(project)
    first = step_makers(project)[0]
    with pytest.raises(SolidError, match=re.escape(said)):
        first()


def test_a_stage_that_can_be_made_has_no_finding_and_large_discs_have_one() -> None:
    project = stage_machine()
    assert _bad(project) == []
    lanes = [replaced(lane, disc=replaced(lane.disc, base_radius_mm=34.0)) for lane in project.lanes]
    (said,) = _bad(replaced(project, lanes=tuple(lanes)))
    assert "tens is" in said
    assert "too near the other stacks at the centre distance of its Geneva stage" in said


def test_the_locked_wheel_has_the_play_of_its_corners() -> None:
    """Clearances of 0.1 mm of the arc and 0.2 mm of both bores at 68.3 mm: 2 x 0.5 / 68.3 rad, by hand."""
    project = stage_machine()
    shape = step_stages(project)[0].shape
    corner = shape.centre_mm * 0.9490  # sin of 71.61 degrees
    assert stack_backlash_deg(project, project.stacks[1]) == pytest.approx(57.2958 / corner, rel=1e-3)
    assert stack_backlash_deg(project, project.stacks[0]) == 0.0
