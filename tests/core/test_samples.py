"""What every shipped sample must be, and what the paper theatre and the chime wall are there to show."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import numpy as np
import pytest

from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, examine
from shaftscore.layout.followers import machine_follower
from shaftscore.layout.frame import machine_frame
from shaftscore.layout.pivots import lever_seats
from shaftscore.model import CrankSource, Exclusive, LevelState, MotorSource, Requires, replaced
from shaftscore.model.codes import with_codes
from shaftscore.model.loader import read_project
from shaftscore.model.saved import saved_form
from tests.samples import ALL, FOLDER, SEGMENTS, sample, sample_report

CLEAN = [name for name in ALL if not name.endswith("_first_draft")]


def test_the_shipped_samples_are_these() -> None:
    assert ALL == [
        "chime_wall",
        "paper_theatre",
        "seedling_sower",
        "tally_board",
        "tea_blender",
        "tea_blender_first_draft",
    ]


@pytest.mark.parametrize("name", ALL)
def test_a_sample_is_kept_in_its_saved_form(name: str) -> None:
    data = (FOLDER / f"{name}.shaft").read_bytes()
    assert saved_form(read_project(data, name)) == data


@pytest.mark.parametrize("name", ALL)
def test_a_sample_says_what_it_is_and_has_loads_and_a_drive(name: str) -> None:
    project = sample(name)
    assert project.notes
    assert project.drive is not None
    assert all(lane.load is not None and lane.name and lane.group for lane in project.lanes)


@pytest.mark.parametrize("name", CLEAN)
def test_a_finished_sample_is_clean(name: str) -> None:
    found = sample_report(name)
    assert [finding for finding in found.findings if finding.severity is not Severity.NOTE] == []
    assert found.is_clean
    assert found.margin is not None
    assert found.margin.smallest_deg > 1.0


@pytest.mark.parametrize("name", ALL)
def test_a_complete_machine_has_all_parts_between_motor_and_outputs(name: str) -> None:
    project = sample(name)
    assert project.frame is not None
    assert project.drive is not None
    assert all(stage.module_mm and stage.face_mm for stage in project.drive.stages)
    assert all(stack.rod is not None for stack in project.stacks)
    assert all(stack.hub is not None for stack in project.stacks if stack.steps_from is None)
    # Further stacks are stepped or geared by one before, or a pulley is bolted to their hub.
    geared = [stack.hub for stack in project.stacks[1:] if stack.steps_from is None]
    assert all(hub and (hub.teeth or hub.bolt_circle_mm) for hub in geared)
    has_motor = isinstance(project.drive.source, MotorSource)
    assert (project.frame.motor is not None) == has_motor
    # A flat face has no guide in the file, so that no slide is made of it.
    without = [lane.follower.kind for lane in project.lanes if lane.parts is None]
    assert set(without) <= {"translating-flat"}


def test_the_tally_board_counts_from_04_to_99_and_on() -> None:
    """At each rest of the crank, a tenth of a turn apart, both digits show the next number, by integers."""
    solution = sample_report("tally_board").solution
    shown = {lane_id: lane.course for lane_id, lane in solution.lanes.items()}
    for count in range(100):
        number = (4 + count) % 100
        for stack, digit in (("ones", number % 10), ("tens", number // 10)):
            for letter in "abcdefg":
                course, motion = shown[f"{stack}_{letter}"], solution.lanes[f"{stack}_{letter}"].motion
                assert motion is not None
                own = course.own(np.array([36.0 * count]) / float(course.cycles))[0]
                output = float(motion.at(own % 360.0)[0][0])
                assert output == pytest.approx(5.0 if letter in SEGMENTS[digit] else 0.0, abs=1e-9)


def test_the_chime_wall_has_one_rod_a_side_and_shaft_for_all_its_levers() -> None:
    frame = machine_frame(sample_report("chime_wall").solution)
    assert frame is not None
    pivots = [hole for hole in frame.holes if hole.purpose.startswith("pivot")]
    assert len(pivots) == 8
    assert sum(hole.purpose.count("pivot of") for hole in pivots) == 64
    # By the gears: axes are module × teeth apart, and a little more for the backlash.
    at = [shaft.at for shaft in frame.shafts]
    assert [abs(b - a) for a, b in pairwise(at)] == pytest.approx([1.5 * 92] * 3, abs=0.5)


@pytest.mark.parametrize("name", ALL)
def test_springs_pull_on_rods_as_their_records_say(name: str) -> None:
    """By their ends alone: how long a spring is at output 0, and how it grows as its roller goes out."""
    solution = sample_report(name).solution
    frame, seats = machine_frame(solution), lever_seats(solution)
    assert frame is not None
    for lane in sample(name).lanes:
        if lane.parts is None or lane.parts.kind == "slide":
            continue
        axis = frame.shaft(solution.lanes[lane.id].stack).at
        layout = machine_follower(solution, solution.lanes[lane.id], seats, axis)
        rods = [rod.at for rod in frame.springs if lane.code in rod.lanes]
        assert layout is not None
        assert lane.load is not None
        assert lane.load.spring is not None
        assert len(rods) == 1
        hook = layout.points_at(np.array([0.0, 0.01])).hook
        long = np.abs(hook - rods[0])  # a hole of 2 mm and a rod of 4 mm, inside the loops
        assert long[0] - 1.0 + 2.0 == pytest.approx(lane.load.spring.installed_mm, abs=0.01)
        assert (long[1] - long[0]) / 0.01 == pytest.approx(lane.load.spring.ratio, abs=0.01)


def test_a_spring_whose_ratio_is_not_its_hooks_is_told_what_it_is() -> None:
    project = sample("tea_blender")
    flap = project.lane("flap")
    assert flap.load is not None
    assert flap.load.spring is not None
    plain = replaced(flap, load=replaced(flap.load, spring=replaced(flap.load.spring, ratio=1.5)))
    lanes = tuple(plain if lane.id == "flap" else lane for lane in project.lanes)
    told = [one for one in examine(replaced(project, lanes=lanes)).findings if one.rule == "not-checked"]
    assert [one.lanes for one in told] == [("flap",)]
    assert "ratio of 1.5, but its hook gives 1.785" in str(told[0].facts["why"])


@pytest.mark.parametrize("name", CLEAN)
def test_every_disc_of_a_finished_sample_fits_the_bed(name: str) -> None:
    project = sample(name)
    for lane in project.lanes:
        solved = sample_report(name).solution.lanes[lane.id]
        assert solved.profile is not None
        assert solved.profile.max_radius_mm < project.max_disc_radius_mm


def test_the_paper_theatre_has_every_follower_a_drop_and_a_shaft_three_times_as_fast() -> None:
    project = sample("paper_theatre")
    assert Counter(lane.follower.kind for lane in project.lanes) == {
        "swinging-roller": 3,
        "translating-flat": 3,
        "translating-roller": 1,
    }
    assert [stack.turns for stack in project.stacks] == [1, 3]
    assert project.drive is not None
    assert isinstance(project.drive.source, CrankSource)
    hammer = sample_report("paper_theatre").solution.lanes["hammer"]
    assert len(hammer.states["struck"]) == 3  # once a turn of its own shaft
    assert [(f.rule, f.lanes) for f in sample_report("paper_theatre").findings] == [
        ("drop-one-way", ("hammer",))
    ]


def test_the_chime_wall_is_large_and_its_rules_speak_of_every_lane() -> None:
    project = sample("chime_wall")
    assert len(project.lanes) == 64
    assert set(Counter(lane.group for lane in project.lanes).values()) == {8}
    assert [len(project.discs_of(stack)) for stack in project.stacks] == [16, 16, 16, 16]
    named = {state.lane for rule in project.rules if isinstance(rule, Exclusive) for state in rule.states}
    assert named == set(project.lane_index)
    assert sum(isinstance(rule, Requires) for rule in project.rules) == 56


def test_a_damper_left_on_its_bars_is_found_at_every_strike() -> None:
    project = sample("chime_wall")
    damper = project.lane("damper_a")
    free = [BlockRef("damper_a", index) for index, block in enumerate(damper.blocks) if block.level == "free"]
    broken = apply_edit(project, "delete_blocks", refs=free).project
    found = examine(broken, sample_report("chime_wall"), stage=QUICK).findings
    missing = [finding for finding in found if finding.rule == "interlock"]
    assert {lane for finding in missing for lane in finding.lanes} == {
        "damper_a",
        *(f"chime_a{number}" for number in range(1, 8)),
    }
    assert all(isinstance(rule.need, LevelState) for rule in project.rules if isinstance(rule, Requires))


@pytest.mark.parametrize("name", ALL)
def test_a_name_neither_repeats_its_code_nor_that_of_another_lane(name: str) -> None:
    lanes = sample(name).lanes
    codes = {lane.code for lane in with_codes(lanes)}
    assert [lane.name for lane in lanes if codes & set(lane.label.split())] == []
    assert len({lane.label for lane in lanes}) == len(lanes)
