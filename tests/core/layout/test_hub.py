"""Hubs of stacks that drive one another."""

from __future__ import annotations

import pytest

from shaftscore.layout.hub import hub_plan, outer_face_mm
from shaftscore.model import Hub, Project, Stack, Stage, replaced
from tests.samples import bare, sample


def geared(own: Hub, *others: Hub) -> Project:
    """Return the tea blender with further stacks, each geared to the one before it."""
    project = bare(sample("tea_blender"))
    assert project.drive is not None
    stage = Stage(driver_teeth=20, driven_teeth=40, kind="external", module_mm=1.5, face_mm=8.0)
    first = replaced(project.stacks[0], hub=own)
    turns = ("counterclockwise", "clockwise")
    more = [
        Stack(id=f"more{n}", name=f"More {n}", bore=first.bore, turn=turns[n % 2], hub=hub)
        for n, hub in enumerate(others)
    ]
    return replaced(project, drive=replaced(project.drive, stages=(stage,)), stacks=(first, *more))


def test_a_hub_is_not_refused_for_what_its_driver_lacks() -> None:
    """Bolts on a circle of 8 mm are inside the bore of the first hub alone."""
    project = geared(Hub(kind="set-screw", bolt_circle_mm=8.0), Hub(kind="set-screw", teeth=40))
    first, second = project.stacks
    with pytest.raises(ValueError, match="wall between its bore and its bolts"):
        hub_plan(project, first)
    assert outer_face_mm(project, hub_plan(project, second)) == -18.0


def test_a_wheel_that_is_not_level_with_its_driver_is_refused() -> None:
    """Teeth of 8 mm on both; collars of 10 and 13 mm."""
    project = geared(Hub(kind="set-screw"), Hub(kind="set-screw", teeth=40, thickness_mm=13.0))
    with pytest.raises(ValueError, match=r"its wheel is 3\.0 mm lower than that of"):
        hub_plan(project, project.stacks[1])


@pytest.mark.parametrize(("teeth", "foot_mm"), [(20, 8.8), (40, 8.0)])
def test_teeth_go_on_below_a_collar_that_would_run_over_those_of_its_driver(
    teeth: int, foot_mm: float
) -> None:
    """A collar of 14 mm: 20 teeth of 1.5 mm leave 45 - 31.5 = 13.5 mm to the tips of 40, 40 leave 28.5 mm."""
    project = geared(Hub(kind="set-screw"), Hub(kind="set-screw", teeth=teeth))
    first, second = project.stacks
    second = replaced(second, turns=40 // teeth, spacer_radius_mm=14.0)
    project = replaced(project, stacks=(first, second))
    plan = hub_plan(project, second)
    assert plan.collar_mm == 14.0
    assert plan.gear is not None
    assert plan.gear.room_mm == pytest.approx(1.5 * (20 + teeth / 2) - 31.5, abs=0.5)  # and some backlash
    assert plan.foot_mm == pytest.approx(foot_mm)
    assert outer_face_mm(project, plan) == outer_face_mm(project, hub_plan(project, first))
