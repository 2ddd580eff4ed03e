from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import EditError
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Lane
from shaftscore_app.document.selection import Selection
from shaftscore_app.timing import steps
from tests.app.timing.machines import block, gate, index_of, machine, two_gates

PROJECT = two_gates()
MINT = BlockRef("mint", index_of(PROJECT, "mint", "open"))


@pytest.mark.parametrize(
    ("deg", "way", "line"),
    [
        (150.0, 1, 150.5),
        (150.0, -1, 149.5),
        (150.2, 1, 150.5),
        (150.2, -1, 150.0),
        (0.0, -1, -0.5),
        (150.4999999, 1, 151.0),
    ],
)
def test_the_next_line_of_the_grid(deg: float, way: int, line: float) -> None:
    assert steps.next_line(deg, 0.5, way) == line


@given(st.floats(0, 360), st.sampled_from([0.1, 0.5, 1.0, 7.5]))
def test_forth_and_back_is_on_the_grid(deg: float, grid: float) -> None:
    there = steps.next_line(deg, grid, 1)
    assert deg < there <= deg + grid + 2e-6
    assert steps.next_line(there, grid, -1) == pytest.approx(there - grid, abs=1e-6)


@pytest.mark.parametrize(
    ("grip", "way", "place"),
    [
        (Grip.WHOLE, 1, (200.5, 212.5)),
        (Grip.WHOLE, -1, (199.5, 211.5)),
        (Grip.START, -1, (199.5, 212.0)),
        (Grip.END, 1, (200.0, 212.5)),
    ],
)
def test_a_nudge_moves_what_is_held(grip: Grip, way: int, place: tuple[float, float]) -> None:
    edited = steps.nudge(PROJECT, MINT, grip, 0.5, way, stay=False)
    made = edited.project.lane("mint").blocks[edited.selection[0].index]
    assert (made.start_deg, made.end_deg) == place


def test_nudging_passes_through_0() -> None:
    project = machine(gate("Mint", 0.0))
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    edited = steps.nudge(project, ref, Grip.WHOLE, 0.5, -1, stay=False)
    assert edited.project.lane("mint").blocks[edited.selection[0].index].start_deg == 359.5


def test_levels_change_one_by_one_and_end_at_the_highest() -> None:
    down = steps.change_level(PROJECT, MINT, -1, stay=True)
    assert down is not None
    assert down.project.lane("mint").blocks[down.selection[0].index].level == "closed"
    assert steps.change_level(PROJECT, MINT, 1, stay=True) is None


def test_a_locked_block_is_not_nudged() -> None:
    locked = apply_edit(PROJECT, "set_locked", refs=(MINT,), locked=True).project
    with pytest.raises(EditError, match="locked"):
        steps.nudge(locked, MINT, Grip.WHOLE, 0.5, 1, stay=False)


def test_adding_takes_the_lowest_level_that_is_not_held_there() -> None:
    lane = PROJECT.lane("mint")
    assert steps.level_to_add(lane, 100.0) == "open"
    assert steps.level_to_add(lane, 205.0) == "closed"
    assert steps.level_to_add(lane, 225.0) == "closed"
    edited = steps.add_at(PROJECT, "mint", 99.8, "open", 0.5)
    made = edited.project.lane("mint").blocks[edited.selection[0].index]
    assert (made.level, made.start_deg) == ("open", 100.0)


A, B, C = (BlockRef("assam", 0), BlockRef("assam", 1), BlockRef("mint", 0))


def test_ctrl_click_adds_and_takes_out() -> None:
    selection = steps.toggled(Selection.of_blocks((A,)), C)
    assert selection.blocks == (A, C)
    assert selection.lane_id == "mint"
    assert steps.toggled(selection, A).blocks == (C,)


def test_shift_click_takes_all_between() -> None:
    project = machine(gate("A", 100.0), gate("B", 120.0), gate("C", 150.0), gate("D", 330.0))
    refs = {lane.id: BlockRef(lane.id, index_of(project, lane.id, "open")) for lane in project.lanes}
    selection = steps.up_to(project, ("a", "b", "c", "d"), Selection.of_blocks((refs["a"],)), refs["c"])
    opens = [ref for ref in selection.blocks if project.lane(ref.lane_id).blocks[ref.index].level == "open"]
    assert opens == [refs["a"], refs["b"], refs["c"]]
    assert selection.blocks[-1] == refs["c"]
    assert steps.up_to(project, ("a", "b"), Selection(), refs["b"]).blocks == (refs["b"],)


def test_walking_in_the_lane_goes_round() -> None:
    assert steps.beside(PROJECT, Selection.of_blocks((A,)), 1, 0.0) == B
    assert steps.beside(PROJECT, Selection.of_blocks((B,)), 1, 0.0) == A
    assert steps.beside(PROJECT, Selection.of_blocks((A,)), -1, 0.0) == B
    assert steps.beside(PROJECT, Selection("mint"), 1, 205.0) == MINT
    assert steps.beside(PROJECT, Selection(), 1, 0.0) is None


def test_walking_between_lanes_takes_the_nearest_block() -> None:
    opens = BlockRef("assam", index_of(PROJECT, "assam", "open"))
    assert steps.below(PROJECT, ("assam", "mint"), Selection.of_blocks((opens,)), 1) == (
        "mint",
        BlockRef("mint", index_of(PROJECT, "mint", "closed")),
    )
    assert steps.below(PROJECT, ("assam", "mint"), Selection("assam"), 1) == ("mint", None)
    assert steps.below(PROJECT, ("assam", "mint"), Selection("mint"), 1) is None
    assert steps.below(PROJECT, ("assam", "mint"), Selection(), -1) == ("mint", None)


def test_select_all_again_and_again() -> None:
    project = machine(gate("A", 100, group="One"), gate("B", 120, group="Two"), gate("C", 150, group="One"))
    selection = Selection("a")
    lanes = []
    for _ in range(4):
        selection = steps.more(project, selection)
        lanes.append(sorted({ref.lane_id for ref in selection.blocks}))
        assert selection.lane_id == "a"
    assert lanes == [["a"], ["a", "c"], ["a", "b", "c"], ["a", "b", "c"]]


@pytest.mark.parametrize(
    ("deg", "way", "to"),
    [(0.0, 1, 30.0), (29.0, 1, 30.0), (345.0, 1, 0.0), (0.0, -1, 330.0), (45.0, -1, 30.0)],
)
def test_the_cursor_goes_by_steps_round_and_round(deg: float, way: int, to: float) -> None:
    assert steps.step_from([30.0 * n for n in range(12)], deg, way) == to


def test_the_length_of_the_step_in_which_an_angle_lies() -> None:
    even = tuple(30.0 * n for n in range(12))
    assert [steps.step_length(even, deg) for deg in (0.0, 29.9, 30.0, 359.0)] == [30.0] * 4
    assert [steps.step_length((0.0, 90.0, 100.0), deg) for deg in (10.0, 90.0, 95.0, 200.0)] == [
        90.0,
        10.0,
        10.0,
        260.0,
    ]
    assert steps.step_length((0.0,), 50.0) == 360.0


def test_several_blocks_are_nudged_so_that_the_last_stands_on_the_grid() -> None:
    project = two_gates(60.3, 200.2)
    refs = [BlockRef(name, index_of(project, name, "open")) for name in ("assam", "mint")]
    edited = steps.nudge_all(project, refs, 0.5, 1, stay=False)
    starts = [edited.project.lane(ref.lane_id).blocks[ref.index].start_deg for ref in edited.selection]
    assert starts == pytest.approx([60.6, 200.5])


def test_several_blocks_change_their_level_one_after_the_other() -> None:
    levels = {"low": 0.0, "middle": 5.0, "high": 10.0}
    rows = (
        block("low", 20, 80),
        block("middle", 100, 120),
        block("low", 140, 200),
        block("middle", 220, 240),
    )
    project = machine(Lane(id="x", levels=levels, blocks=(*rows, block("low", 260, 360))))
    refs = (BlockRef("x", 1), BlockRef("x", 3))
    edited = steps.change_levels(project, refs, 1, stay=False)
    assert edited is not None
    assert [made.level for made in edited.project.lane("x").blocks] == ["low", "high", "low", "high", "low"]
    assert edited.name == "Change the level of 2 blocks"
    assert steps.change_levels(edited.project, edited.selection, 1, stay=False) is None


def test_lanes_are_added_and_taken_out_without_their_blocks() -> None:
    both = steps.lane_toggled(Selection("assam"), "mint")
    assert (both.lane_ids, both.lane_id, both.blocks) == (("assam", "mint"), "mint", ())
    assert steps.lane_toggled(both, "mint") == Selection("assam")
    assert steps.lane_toggled(Selection("mint"), "mint") == Selection()
    of_blocks = Selection.of_blocks((MINT,), "a finding")
    assert steps.lane_toggled(of_blocks, "assam") == Selection.of_lanes(("mint", "assam"), "a finding")
    assert steps.lane_toggled(of_blocks, "mint") == Selection("mint", (), "a finding")


def test_all_lanes_between_are_selected_whichever_way() -> None:
    shown = ("a", "b", "c", "d")
    assert steps.lanes_up_to(shown, Selection("b"), "d").lane_ids == ("b", "c", "d")
    assert steps.lanes_up_to(shown, Selection("d"), "b").lane_ids == ("d", "c", "b")
    again = steps.lanes_up_to(shown, steps.lanes_up_to(shown, Selection("b"), "d"), "a")
    assert again.lane_ids == ("b", "a")
    assert steps.lanes_up_to(shown, Selection(), "c") == Selection("c")
    assert steps.lanes_up_to(shown, Selection("hidden"), "c") == Selection("c")


def test_a_lane_that_is_gone_is_no_longer_selected() -> None:
    both = Selection.of_lanes(("assam", "mint"))
    assert both.within(PROJECT) is both
    alone = apply_edit(PROJECT, "delete_lane", lane_id="mint").project
    assert both.within(alone) == Selection("assam")
