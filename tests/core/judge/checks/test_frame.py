"""A frame that cannot be laid out is an error of the present machine, in a hurry of the one before."""

from __future__ import annotations

from shaftscore.judge.report import QUICK, Report, examine, examine_as_drawn
from shaftscore.model import Bore, CrankSource, Drive, Hub, MachineFrame, Project, Rod, Stack, replaced
from tests.follower_machine import slide_lane
from tests.machines import gate, machine
from tests.samples import sample


def framed(plate_mm: float) -> Project:
    """Two gates on a rod between plates; of 1 mm they have no room for a bearing's seat."""
    stack = Stack(id="s", name="Main shaft", rod=Rod(across_mm=8.0, below_mm=12.0, above_mm=12.0))
    lanes = [gate(name, 60.0 * k, 60.0 * k + 30, 50.0) for k, name in enumerate(("Ginger", "Rose"))]
    return replaced(machine(*lanes, stacks=(stack,)), frame=MachineFrame(plate_mm=plate_mm))


def said(report: Report) -> list[str]:
    return [str(one.facts["why"]) for one in report.findings if one.rule == "bad-part"]


def test_a_search_judges_the_frame_of_each_machine() -> None:
    thin = examine_as_drawn(framed(1.0))
    assert len(said(thin)) == 1
    thick = examine_as_drawn(framed(12.0), thin)
    assert said(thick) == said(examine(framed(12.0)))
    assert "no room for a bearing" not in str(said(thick))
    assert said(examine_as_drawn(framed(1.0), thick)) == said(thin)


def test_in_a_hurry_what_was_last_said_of_the_frame_stands_in() -> None:
    thin = examine(framed(1.0))
    hurried = examine(framed(12.0), thin, stage=QUICK)
    assert said(hurried) == said(thin)
    assert said(examine(framed(12.0), hurried)) == said(examine(framed(12.0)))


def test_a_crank_over_the_bed_is_said() -> None:
    """Bore 8 mm: 4 + 0.1 + 6 mm about it, 250 mm to the axle, 3.3 + 6 mm (ISO 273, M6) about that: 269 mm."""
    bore = Bore(shape="round", across_mm=8.0)
    project = framed(12.0)
    stack = replaced(project.stacks[0], bore=bore, fit_clearance_mm=0.1)
    for radius_mm, told in ((250.0, True), (100.0, False)):
        drive = Drive(source=CrankSource(kind="crank", radius_mm=radius_mm, turn="clockwise"))
        found = said(examine_as_drawn(replaced(project, stacks=(stack,), drive=drive)))
        assert any(why.startswith("The crank arm of 269 mm x 20 mm") for why in found) is told


def test_what_another_part_says_the_frame_does_not_say_again() -> None:
    """A guide of no length, and a hub without room for its screw: each is one finding."""
    lane = slide_lane()
    short = replaced(lane, follower=replaced(lane.follower, guide_length_mm=None, overhang_mm=None))
    stack = Stack(
        id="s",
        name="Main shaft",
        rod=Rod(across_mm=8.0, below_mm=30.0, above_mm=30.0),
        hub=Hub(kind="clamp", thickness_mm=5.0),
    )
    project = replaced(machine(short, stacks=(stack,)), frame=MachineFrame())
    found = said(examine(project))
    assert sorted(one.split(":")[0] for one in found) == ["Hub of Main shaft", "Slide"]


def test_a_shared_rod_that_would_go_through_the_wheel_above_it_is_said() -> None:
    """The theatre is driven at the top; of two levers on one rod both plates would hold it."""
    project = sample("paper_theatre")
    moon = replaced(project.lane("moon"), station_deg=200.0)
    lanes = (project.lane("hammer"), moon, replaced(moon, id="moon_2", name="Moon 2", code=None))
    report = examine_as_drawn(replaced(project, lanes=lanes, rules=()))
    assert any("the pivot rod of Moon is 9.0 mm too near a wheel" in why for why in said(report))
