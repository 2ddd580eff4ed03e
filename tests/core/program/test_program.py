"""The program maker: frames to blocks, what has no time, what is kept, and the present program as frames."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import ahead
from shaftscore.base.errors import EditError, ProjectError
from shaftscore.edits import delete_lane
from shaftscore.model import Lane, LaneGrid, Project, read_project, replaced, saved_form
from shaftscore.program.apply import apply_program
from shaftscore.program.frames import (
    ProgramFrame,
    frame_moved,
    mirrored,
    painted,
    shifted,
    without_frame,
)
from shaftscore.program.headway import least_stagger_deg
from shaftscore.program.laying import lanes_changed, shown_columns, visits_of, with_holds_that_fit
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.places import resized, usual_grid, with_place
from shaftscore.program.present import draft_for, draft_of
from shaftscore.program.summary import summary_of
from shaftscore.solution import solve
from tests.machines import gate, lane, machine
from tests.spice_bar import RECIPE, painted_draft, spice_bar

GRID = LaneGrid(
    rows=3,
    columns=4,
    cells=tuple(tuple(f"{bank}{n}" for n in range(1, 5)) for bank in "abc"),
)


BAR = spice_bar()
DRAFT = painted_draft(BAR)


def blocks(project: Project, lane_id: str) -> list[tuple[str, float, float]]:
    found = project.lane(lane_id).blocks
    return [(b.level, round(b.start_deg, 6), round(b.length_deg, 6)) for b in found]


@pytest.fixture(scope="module")
def bar() -> Project:
    return spice_bar()


@pytest.fixture(scope="module")
def draft(bar: Project) -> ProgramDraft:
    return painted_draft(bar)


def test_groups_are_the_rows_until_lanes_are_placed(bar: Project) -> None:
    grid = usual_grid(bar)
    assert grid.cells[:3] == GRID.cells
    assert grid.cells[3] == ("flap", None, None, None)


def test_visits_lie_as_the_drawing_of_the_recipe_says(bar: Project, draft: ProgramDraft) -> None:
    """Frame 4 begins at 135°: A3 holds from 151° to 161°, B1 12° later; moves of 14° beside them."""
    made = apply_program(bar, draft).project
    assert blocks(made, "a3") == [("right", 151.0, 10.0), ("rest", 175.0, 322.0)]
    assert blocks(made, "b1") == [("left", 163.0, 10.0), ("rest", 187.0, 322.0)]
    assert blocks(made, "a1") == [
        ("left", 61.0, 10.0),
        ("rest", 85.0, 232.0),
        ("right", 331.0, 10.0),
        ("rest", 355.0, 52.0),
    ]
    assert made.lane("flap") is bar.lane("flap")


def test_the_summary_counts_what_the_drawing_of_the_recipe_counts(bar: Project, draft: ProgramDraft) -> None:
    """By hand: 13 visits in 12 lanes, a rest beside each, 24 gates of which 13 have a visit."""
    found = summary_of(bar, draft)
    assert (found.visits, found.visiting, found.written) == (13, 12, 12)
    assert (found.blocks_new, found.blocks_kept) == (26, 2)
    assert (found.moves, found.moves_deg, found.laws) == (26, (14.0, 14.0), ("modified-sine",))
    assert (found.gates, found.gates_shut) == (24, 11)
    assert found.refused == ""
    again = summary_of(apply_program(bar, draft).project, draft)
    assert (again.blocks_new, again.blocks_kept) == (0, 28)


def test_only_programs_change(bar: Project, draft: ProgramDraft) -> None:
    made = apply_program(bar, draft).project
    for before, after in zip(bar.lanes, made.lanes, strict=True):
        assert replaced(after, blocks=before.blocks) == before
    assert replaced(made, lanes=bar.lanes, grid=None) == bar
    assert made.grid == draft.grid
    some = apply_program(bar, draft, ["a1", "flap"]).project
    changed = [b.id for b, a in zip(bar.lanes, some.lanes, strict=True) if b is not a]
    assert changed == ["a1"]
    with pytest.raises(EditError, match="has a place"):
        apply_program(bar, draft, ["flap"])


def test_items_keep_apart_in_the_chute(bar: Project) -> None:
    """0.15 s of headway and 0.25 s of spread are 0.40 s: at 30°/s 12°."""
    assert least_stagger_deg(bar, GRID.lanes) == pytest.approx(12.0)
    assert draft_of(bar).timing.stagger_deg == 12.0
    assert least_stagger_deg(bar, ["a1", "flap"]) == 0.0


def test_a_visit_that_returns_late_is_named_with_the_longest_hold(bar: Project, draft: ProgramDraft) -> None:
    """The second visit of a step of 45° has 45 - 16 - 12 - 14 = 3° to hold."""
    problems = summary_of(bar, draft).problems
    assert [problem.lane_id for problem in problems] == ["b1", "b3", "c1", "c2", "c3", "c4"]
    assert all(problem.is_late for problem in problems)
    first = next(problem for problem in problems if problem.lane_id == "b1")
    assert first.longest_deg == pytest.approx(3.0)
    assert first.text(bar) == (
        "B1 left in step 4 returns after its step has ended; the longest hold that fits is 3.0°."
    )
    fitting = with_holds_that_fit(draft, problems)
    assert summary_of(bar, fitting).problems == ()
    assert fitting.meanings["b1"].hold_deg == 3.0
    assert fitting.meanings["a3"].hold_deg == 10.0


def test_moves_that_overlap_are_refused(bar: Project, draft: ProgramDraft) -> None:
    long = draft.with_meaning(("a1",), hold_deg=50.0)
    crowded = replace(
        long, frames=(ProgramFrame("Ready", {"a1": "left"}), *long.frames[1:])
    )  # two steps, one after the other
    found = summary_of(bar, crowded)
    assert "A1 left in step 1 has no time for its moves" in found.refused
    assert next((one.step, one.is_late) for one in found.problems if one.lane_id == "a1") == (0, False)
    with pytest.raises(EditError, match="longest hold that fits is"):
        apply_program(bar, crowded)


@given(
    hold=st.floats(0, 40),
    first=st.floats(0, 40),
    stagger=st.floats(0, 20),
    move=st.floats(0.5, 20),
)
def test_what_is_applied_is_at_its_level_and_moves_as_long_as_said(
    hold: float, first: float, stagger: float, move: float
) -> None:
    """The solved machine, not the maker, says when each lane is at its level."""
    bar, draft = BAR, DRAFT
    timing = replace(draft.timing, first_deg=first, stagger_deg=stagger, move_deg=move)
    draft = replace(draft, timing=timing).with_meaning(GRID.lanes, hold_deg=hold)
    try:
        made = apply_program(bar, draft).project
    except EditError:
        assert any(not one.is_late for one in summary_of(bar, draft).problems)
        return
    for step, cells in enumerate(RECIPE):
        for place, (lane_id, level) in enumerate(cells.items()):
            own = next(b for b in made.lane(lane_id).blocks if b.level == level)
            at = 45.0 * step + first + place * stagger
            assert ahead(at - 1e-3, own.start_deg) == pytest.approx(1e-3, abs=1e-5)
            assert own.length_deg == pytest.approx(hold, abs=1e-5)


def test_the_solved_machine_does_what_was_painted(bar: Project, draft: ProgramDraft) -> None:
    solution = solve(apply_program(bar, draft).project)
    motion = solution.lanes["a3"].motion
    assert motion is not None
    outputs = motion.at(np.array([140.0, 151.0, 156.0, 161.0, 175.0, 300.0]))[0].tolist()
    assert outputs[1:4] == [16.0, 16.0, 16.0]
    assert outputs[4:] == [8.0, 8.0]
    assert 8.0 < outputs[0] < 16.0


def test_what_is_not_touched_keeps_its_program() -> None:
    """Lanes timed by hand are written only where their cells, or when they start, change."""
    project = machine(gate("A", 95.0, 170.0), gate("B", 10.0, 20.0), lane("C"), shaft=spice_bar().shaft)
    before = draft_of(project)
    assert lanes_changed(project, before, before) == ("c",)
    frames = tuple(
        painted(frame, ["b"], "open") if step == 5 else frame for step, frame in enumerate(before.frames)
    )
    draft = replace(before, frames=frames)
    assert lanes_changed(project, draft, before) == ("b", "c")
    made = apply_program(project, draft, lanes_changed(project, draft, before)).project
    assert made.lane("a") is project.lane("a")
    moved = apply_program(
        project, replace(before, grid=with_place(resized(before.grid, 2, 3), "a", 1, 1)), ()
    )
    assert (moved.name, moved.project.lanes) == ("Change steps and places of lanes", project.lanes)
    assert len(lanes_changed(project, replace(before, frames=before.frames[:4]), before)) == 3


def test_steps_and_stays() -> None:
    """Worked by hand: 8 steps of 45°, moves of 10° across the start of a step."""
    bar = machine(lane("A", levels={"off": 0.0, "on": 10.0}), shaft=spice_bar().shaft)
    draft = draft_of(bar)
    on = tuple(ProgramFrame("", {"a": "on"} if step in (2, 3) else {}) for step in range(8))
    draft = replace(draft, frames=on, timing=replace(draft.timing, move_deg=10.0))
    assert draft.meanings["a"].kind == "step"
    made = apply_program(bar, draft).project
    assert blocks(made, "a") == [("on", 95.0, 80.0), ("off", 185.0, 260.0)]
    stay = draft.with_meaning(("a",), kind="stay")
    off_at_5 = replace(stay, frames=(*on[:5], ProgramFrame("", {"a": "off"}), *on[6:]))
    assert blocks(apply_program(bar, off_at_5).project, "a") == [("on", 95.0, 125.0), ("off", 230.0, 215.0)]
    assert shown_columns(stay)["a"][0] is None
    assert blocks(apply_program(bar, stay).project, "a") == [("on", 90.0, 360.0)]


def test_another_count_of_frames_divides_the_turn(bar: Project, draft: ProgramDraft) -> None:
    made = apply_program(bar, replace(draft, frames=draft.frames[:6])).project
    assert made.shaft.step_starts_deg == (0.0, 60.0, 120.0, 180.0, 240.0, 300.0)
    assert made.shaft.step_names == ("Ready", "Warm", "Earth", "Red", "Round", "Heat")
    assert made.lane("flap").blocks == bar.lane("flap").blocks
    assert blocks(made, "a3")[0] == ("right", 196.0, 10.0)


def test_a_locked_block_stays_and_blocks_keep_what_they_carry(bar: Project, draft: ProgramDraft) -> None:
    made = apply_program(bar, draft).project
    a3 = made.lane("a3")
    carried = replaced(a3, blocks=(replaced(a3.blocks[0], law="cycloidal"), a3.blocks[1]))
    project = replaced(made, lanes=tuple(carried if own.id == "a3" else own for own in made.lanes))
    later = replace(draft, timing=replace(draft.timing, first_deg=17.0))
    assert apply_program(project, later).project.lane("a3").blocks[0].law == "cycloidal"
    locked = replaced(carried, blocks=(replaced(carried.blocks[0], locked=True), carried.blocks[1]))
    project = replaced(made, lanes=tuple(locked if own.id == "a3" else own for own in made.lanes))
    with pytest.raises(EditError, match="locked at 151"):
        apply_program(project, later)
    assert apply_program(project, draft).project.lane("a3").blocks[0].locked


def test_the_present_program_is_read_as_frames(bar: Project, draft: ProgramDraft) -> None:
    """What was applied comes back, late returns too, but for the flap, which has no place in the draft."""
    late = draft_of(apply_program(bar, draft).project)
    assert (late.timing, late.meanings["b1"]) == (draft.timing, draft.meanings["b1"])
    fitting = with_holds_that_fit(draft, summary_of(bar, draft).problems)
    found = draft_of(apply_program(bar, fitting).project)
    cells = [{own: at for own, at in frame.cells.items() if own != "flap"} for frame in found.frames]
    assert cells == list(RECIPE)
    assert [frame.name for frame in found.frames] == [frame.name for frame in draft.frames]
    assert found.grid == draft.grid
    assert found.timing == fitting.timing
    assert found.meanings["b1"] == fitting.meanings["b1"]
    columns = draft_of(machine(gate("A", 90.0, 180.0), shaft=bar.shaft)).frames
    assert [step for step, frame in enumerate(columns) if frame.cells] == [2, 3]


def test_a_draft_follows_lanes_and_levels_that_go(bar: Project, draft: ProgramDraft) -> None:
    without = delete_lane(bar, "a1").project
    b3 = replaced(without.lane("b3"), levels={"left": 0.0, "rest": 8.0})
    changed = replaced(without, lanes=tuple(b3 if own.id == "b3" else own for own in without.lanes))
    found = draft_for(changed, draft)
    assert "a1" not in found.grid.lanes
    assert dict(found.frames[1].cells) == {}
    assert found.frames[3] == draft.frames[3]
    assert (found.timing, found.meanings["a3"]) == (draft.timing, draft.meanings["a3"])
    assert draft_for(bar, draft) == draft


def test_lanes_without_a_program_take_no_part() -> None:
    project = machine(gate("A", 30.0, 60.0), Lane(id="r", kind="rider", disc_of="a"))
    assert draft_of(project).grid.lanes == ("a",)


# Places and frames


def test_lanes_change_places(bar: Project) -> None:
    swapped = with_place(GRID, "a1", 2, 3)
    assert (swapped.cells[0][0], swapped.cells[2][3]) == ("c4", "a1")
    assert sorted(swapped.lanes) == sorted(GRID.lanes)
    larger = resized(GRID, 4, 5)
    assert larger.lanes == GRID.lanes
    assert larger.cells[3] == (None,) * 5
    assert with_place(larger, "a1", 3, 4).cells[0][0] is None
    assert resized(larger, 2, 6).cells[1][4:] == ("c3", "c4")
    assert resized(GRID, 1, 4).lanes == ("a1", "a2", "a3", "a4")
    with pytest.raises(EditError, match="no row 4, column 1"):
        with_place(GRID, "a1", 3, 0)


@pytest.mark.parametrize(
    ("grid", "fault"),
    [
        ({"rows": 2, "columns": 2, "cells": [["a", None]]}, "must have 2 rows, got 1"),
        ({"rows": 1, "columns": 2, "cells": [["a"]]}, "must have 2 cells, got 1"),
        ({"rows": 1, "columns": 2, "cells": [["a", "a"]]}, "is cells[0][0] already"),
        ({"rows": 1, "columns": 1, "cells": [["b"]]}, 'there is no lane "b"'),
        ({"rows": 0, "columns": 1, "cells": []}, "must be at least 1, got 0"),
    ],
)
def test_a_grid_that_contradicts_itself_is_refused(grid: dict[str, object], fault: str) -> None:
    raw = json.loads(saved_form(machine(gate("A", 30.0, 60.0))))
    with pytest.raises(ProjectError) as error:
        read_project(json.dumps({**raw, "grid": grid}).encode(), "grid.shaft")
    assert fault in str(error.value)


def test_a_deleted_lane_leaves_its_place_empty(bar: Project) -> None:
    placed = replaced(bar, grid=with_place(resized(GRID, 4, 4), "flap", 3, 1))
    made = delete_lane(placed, "flap").project
    assert made.grid is not None
    assert made.grid.cells[3] == (None,) * 4
    assert read_project(saved_form(placed), "x").grid == placed.grid


def test_frames_are_mirrored_and_shifted(bar: Project) -> None:
    frame = ProgramFrame("", {"a1": "left", "b4": "right", "flap": "jar"})
    assert dict(mirrored(bar, GRID, frame).cells) == {"a4": "left", "b1": "right", "flap": "jar"}
    right = shifted(bar, GRID, frame, by=(0, 1), wraps=False)
    assert dict(right.cells) == {"a2": "left", "flap": "jar"}
    wrapped = shifted(bar, GRID, frame, by=(-1, 1), wraps=True)
    assert dict(wrapped.cells) == {"c2": "left", "a1": "right", "flap": "jar"}
    assert painted(frame, ["a1"], None).level("a1") is None
    frames = tuple(ProgramFrame(str(n)) for n in range(3))
    moved, at = frame_moved(frames, 2, -1)
    assert ([one.name for one in moved], at) == (["0", "2", "1"], 1)
    assert frame_moved(frames, 0, -1) == (frames, 0)
    with pytest.raises(EditError, match="last frame"):
        without_frame(frames[:1], 0)


def test_levels_of_other_lanes_are_taken_by_name_then_by_rank() -> None:
    project = machine(
        lane("A", levels={"low": 0.0, "mid": 5.0, "high": 9.0}), lane("B", levels={"shut": 0.0, "open": 4.0})
    )
    grid = LaneGrid(rows=1, columns=2, cells=(("a", "b"),))
    assert mirrored(project, grid, ProgramFrame("", {"a": "low"})).cells == {"b": "shut"}
    assert mirrored(project, grid, ProgramFrame("", {"a": "high"})).cells == {"b": "open"}


def test_visits_start_in_the_order_of_the_grid(bar: Project, draft: ProgramDraft) -> None:
    turned = replace(draft, grid=with_place(draft.grid, "b1", 0, 0))
    order = [visit.lane_id for visit in visits_of(bar, turned) if visit.step == 3]
    assert order == ["b1", "a3"]
