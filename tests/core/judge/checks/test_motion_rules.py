"""no-time, pass-through and velocity-jump."""

from __future__ import annotations

from math import cos, radians

import pytest

from shaftscore.edits import apply_edit, read_points
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.report import QUICK, examine
from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.model import Lane, Project, Stack
from tests.machines import block, gate, lane, machine

FLAP = {"shut": 0.0, "cup": 8.0, "tray": 16.0}


def flap(**more: object) -> Lane:
    return lane(
        "Flap", ("shut", 0, 30), ("cup", 54, 280), ("tray", 304, 315), levels=FLAP, guarded=("cup",), **more
    )


def of_rule(project: Project, rule: str) -> list[Finding]:
    return [finding for finding in examine(project, stage=QUICK).findings if finding.rule == rule]


def after_cure(project: Project, finding: Finding) -> Project:
    assert finding.cure is not None
    assert finding.cure.edit is not None
    return apply_edit(project, finding.cure.edit, **finding.cure.arguments).project


@pytest.mark.parametrize(
    ("end", "start", "value", "cure"),
    [
        (152.0, 150.0, 2.0, "End A open at 149.9°, 2.1° earlier."),
        (150.0, 150.0, 0.0, "End A open at 149.9°, 0.1° earlier."),
        (150.0, 149.97, 0.03, "End A open at 149.8°, 0.2° earlier."),
    ],
)
def test_no_time(end: float, start: float, value: float, cure: str) -> None:
    project = machine(lane("A", ("open", 100, end), ("closed", start, 400.0)))
    (finding,) = [f for f in examine(project).findings if f.rule == "no-time" and f.end_deg == end]
    assert finding.value == pytest.approx(value)
    assert words(finding, project).cure == cure
    assert finding.key not in {f.key for f in of_rule(after_cure(project, finding), "no-time")}


def test_no_time_begins_the_second_later_where_the_first_has_no_room() -> None:
    project = machine(lane("A", ("open", 100, 100), ("closed", 100, 300)))
    (finding,) = of_rule(project, "no-time")
    assert words(finding, project).cure == "Begin A closed at 100.1°, 0.1° later."
    assert not of_rule(after_cure(project, finding), "no-time")


def test_no_time_leaves_a_locked_block_alone() -> None:
    blocks = (block("open", 100, 152, locked=True), block("closed", 150, 300, locked=True))
    (finding,) = of_rule(machine(lane("A", *blocks)), "no-time")
    assert finding.cure is None


def test_no_time_of_a_disc_is_not_said_again_of_its_rider() -> None:
    host = lane("A", ("open", 100, 152), ("closed", 150, 300))
    rider = Lane(id="echo", name="Echo", kind="rider", disc_of="a", station_deg=90.0, follower=host.follower)
    assert {finding.lanes for finding in of_rule(machine(host, rider), "no-time")} == {("a",)}


def test_without_motion_nothing_else_is_said_and_figures_are_missing() -> None:
    report = examine(machine(lane("A", ("open", 100, 152), ("closed", 150, 300), law="constant-velocity")))
    assert {finding.rule for finding in report.findings} == {"no-time"}
    solved = report.solution.lanes["a"]
    assert solved.motion is solved.profile is None
    assert not solved.states


def test_pass_through_tells_the_sweep_and_its_cure() -> None:
    project = machine(flap())
    (finding,) = of_rule(project, "pass-through")
    assert finding.span is not None
    # Symmetric move from 315 to 360 past the middle level: the sweep lies about its middle.
    assert finding.span.middle == pytest.approx(337.5)
    said = words(finding, project)
    assert said.what == "Sweeps guarded cup for 2.6° (71 ms), tray to shut."
    assert said.cure == "Put shut between cup and tray: 8 mm."
    assert not of_rule(after_cure(project, finding), "pass-through")


def test_a_level_that_is_not_guarded_may_be_swept() -> None:
    assert not of_rule(
        machine(lane("Flap", ("shut", 0, 30), ("tray", 100, 200), levels=FLAP)), "pass-through"
    )


def test_a_stop_at_the_guarded_level_is_no_sweep() -> None:
    levels = {"shut": 0.0, "cup": 8.0, "tray": 16.0}
    stops = lane(
        "Flap", ("shut", 0, 30), ("cup", 60, 60), ("tray", 100, 200), levels=levels, guarded=("cup",)
    )
    (finding,) = of_rule(machine(stops), "pass-through")
    assert finding.facts["from_level"] == "tray"


def test_a_faster_stack_sweeps_every_turn() -> None:
    found = of_rule(machine(flap(), stacks=(Stack(id="fast", turns=3),)), "pass-through")
    assert sorted(f.start_deg or 0.0 for f in found) == pytest.approx(
        [(337.5 - 2.563 / 2 + 360 * turn) / 3 for turn in range(3)], abs=1e-3
    )
    assert len({f.key for f in found}) == 3


def test_constant_velocity_has_a_corner_at_both_ends() -> None:
    project = machine(gate("A", 100, 130, 20.0, law="constant-velocity"), rpm=6.0)
    found = sorted(of_rule(project, "velocity-jump"), key=lambda finding: finding.start_deg or 0.0)
    assert [finding.start_deg for finding in found] == [80.0, 100.0, 130.0, 150.0]
    # 10 mm in 20 degrees at 36 degrees a second.
    assert [finding.value for finding in found] == pytest.approx([18.0] * 4)
    assert [str(finding.facts["where"]) for finding in found] == ["start", "end", "start", "end"]
    assert words(found[0], project).what == (
        "The velocity jumps by 18.0 mm/s at the start of the rise to open."
    )
    assert words(found[0], project).cure == "Use the law modified-sine for the rise to open."
    assert len(of_rule(after_cure(project, found[0]), "velocity-jump")) == 2


def test_a_corner_between_two_moves_counts_once_with_both_speeds() -> None:
    peak = lane(
        "A", ("closed", 0, 100), ("open", 120, 120), ("closed", 140, 360 - 10), law="constant-velocity"
    )
    found = of_rule(machine(peak, rpm=6.0), "velocity-jump")
    assert {finding.start_deg: round(finding.value or 0.0, 6) for finding in found} == {
        100.0: 18.0,
        120.0: 36.0,
        140.0: 18.0,
    }


@pytest.mark.parametrize("law", sorted(LAWS))
def test_only_constant_velocity_has_corners_between_dwells(law: str) -> None:
    found = of_rule(machine(gate("A", 100, 130, 40.0, law=law)), "velocity-jump")
    assert bool(found) is (law == "constant-velocity")


def test_a_table_of_points_sweeps_its_guarded_level_on_both_sides() -> None:
    """A wave s = 8 (1 - cos θ): it passes the level at 8 mm at 90 and at 270 degrees."""
    rows = "\n".join(f"{deg},{8 * (1 - cos(radians(deg)))}" for deg in range(0, 360, 15))
    points = read_points(f"theta_deg,output_mm\n{rows}".encode(), "wave")
    project = apply_edit(machine(flap()), "set_points", lane_id="flap", points=points).project
    found = of_rule(project, "pass-through")
    middles = [finding.span.middle for finding in found if finding.span]
    assert middles == pytest.approx([90.0, 270.0], abs=0.01)
    assert len({finding.key for finding in found}) == 2
    assert all(finding.cure is None for finding in found)
    assert words(found[0], project).what.endswith(", one point to the next.")
