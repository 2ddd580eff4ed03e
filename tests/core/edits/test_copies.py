"""Copies of blocks: duplicated, repeated, and pasted from a text."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shaftscore.base.angles import turn_to
from shaftscore.base.errors import EditError
from shaftscore.edits import (
    clip_of,
    clip_text,
    delete_blocks,
    duplicate_blocks,
    paste_blocks,
    read_clip,
    repeat_blocks,
    shift_lanes,
)
from shaftscore.edits.setting_in import moves_of
from shaftscore.model import Lane, Stack
from tests.core.edits.machines import Row, lane, machine, one, ref, rows_of
from tests.strategies import grid, lanes

GATE: list[Row] = [("open", 110, 120), ("closed", 130, 460)]
"""One opening with moves of 10 degrees."""
LOCKED = {"locked": True}


@pytest.mark.parametrize(
    ("rows", "places", "by", "expected"),
    [
        # The closed dwell is cut in two.
        (
            GATE,
            [0],
            60,
            [("open", 110, 120), ("closed", 130, 160), ("open", 170, 180), ("closed", 190, 460)],
        ),
        # One step later: closed is only passed, and stays as a momentary stop.
        (GATE, [0], 30, [("open", 110, 120), ("closed", 130, 130), ("open", 140, 150), ("closed", 160, 460)]),
        # Nearer than both moves: they are shortened alike about the stop, here from 20 and 20 to 11 and 11.
        (
            [("open", 147, 155), ("closed", 175, 487)],
            [0],
            30,
            [("open", 147, 155), ("closed", 166, 166), ("open", 177, 185), ("closed", 205, 487)],
        ),
        (
            [("open", 147, 155), ("closed", 175, 487)],
            [0],
            -30,
            [("open", 117, 125), ("closed", 136, 136), ("open", 147, 155), ("closed", 175, 457)],
        ),
        # Through 360.
        (GATE, [0], 270, [("open", 20, 30), ("closed", 40, 100), ("open", 110, 120), ("closed", 130, 370)]),
        # Onto itself: the opening becomes longer.
        (GATE, [0], 5, [("open", 110, 115), ("open", 115, 125), ("closed", 135, 460)]),
        # What lies wholly under it goes.
        (
            [("half", 0, 50), ("closed", 70, 80), ("half", 100, 110), ("closed", 130, 340)],
            [0],
            70,
            [("half", 0, 50), ("half", 70, 120), ("closed", 140, 340)],
        ),
    ],
)
def test_duplicate_blocks(rows: list[Row], places: list[int], by: float, expected: list[Row]) -> None:
    edited = duplicate_blocks(one(*rows), [ref(place) for place in places], by)
    assert rows_of(edited.project) == expected


def test_copies_are_selected_and_not_locked() -> None:
    edited = duplicate_blocks(one(("open", 110, 120, LOCKED), GATE[1]), [ref(0)], 60)
    assert edited.selection == (ref(2),)
    blocks = edited.project.lane("mint").blocks
    assert [b.locked for b in blocks] == [True, False, False, False]
    assert edited.name == "Copy Mint open 60.0° on"


def test_what_is_locked_is_not_cut() -> None:
    rows: list[Row] = [GATE[0], ("closed", 130, 460, LOCKED)]
    assert rows_of(duplicate_blocks(one(*rows), [ref(0)], 60).project) == [
        GATE[0],
        ("closed", 130, 460),
        ("open", 170, 180),
    ]


def test_a_copy_that_changes_nothing_is_refused() -> None:
    with pytest.raises(EditError, match="Mint is closed there already"):
        duplicate_blocks(one(("closed", 0, 20), ("open", 40, 60), ("closed", 80, 340)), [ref(0)], 100)
    with pytest.raises(EditError, match="no blocks"):
        duplicate_blocks(one(*GATE), [], 10)


def test_repeat_round_the_turn() -> None:
    edited = repeat_blocks(one(*GATE), [ref(0)], 3)
    assert rows_of(edited.project) == [
        ("closed", 10, 100),
        ("open", 110, 120),
        ("closed", 130, 220),
        ("open", 230, 240),
        ("closed", 250, 340),
        ("open", 350, 360),
    ]
    assert edited.name == "Repeat Mint open 3 times"


@pytest.mark.parametrize(
    ("times", "words"),
    [(1, "2 to 120 times"), (121, "2 to 120 times"), (36, r"10.0° long; 36 times .* leaves 10.0° for each")],
)
def test_what_cannot_be_repeated_so_often(times: int, words: str) -> None:
    with pytest.raises(EditError, match=words):
        repeat_blocks(one(*GATE), [ref(0)], times)


@given(start=grid(0, 359), length=grid(1, 20), move=grid(1, 20), times=st.integers(2, 6))
def test_a_repeated_gate_is_the_same_after_a_part_of_the_turn(
    start: float, length: float, move: float, times: int
) -> None:
    closed = (start + length + move) % 360
    rows: list[Row] = [("open", start, start + length), ("closed", closed, closed + 360 - length - 2 * move)]
    rows.sort(key=lambda row: row[1])
    index = [row[0] for row in rows].index("open")
    project = repeat_blocks(one(*rows), [ref(index)], times).project
    assert [b.level for b in project.lane("mint").blocks].count("open") == times
    assert moves_of(project.lane("mint").blocks) == pytest.approx([move] * 2 * times, abs=1e-5)
    turned = shift_lanes(project, ["mint"], 360 / times).project
    for one_block, other in zip(
        sorted(project.lane("mint").blocks, key=lambda b: (b.level, (b.start_deg + 5e-4) % 360)),
        sorted(turned.lane("mint").blocks, key=lambda b: (b.level, (b.start_deg + 5e-4) % 360)),
        strict=True,
    ):
        assert abs(turn_to(one_block.start_deg, other.start_deg)) < 1e-5
        assert one_block.length_deg == pytest.approx(other.length_deg, abs=1e-5)


# Clips


@given(made=lanes("mint", plain=True), data=st.data())
def test_a_clip_survives_its_text(made: Lane, data: st.DataObject) -> None:
    assume(made.blocks)
    chosen = data.draw(st.lists(st.integers(0, len(made.blocks) - 1), min_size=1, unique=True))
    clip = clip_of(machine(made), [ref(index) for index in chosen])
    assert read_clip(clip_text(clip)) == clip
    assert sum(len(run.blocks) for run in clip.runs) == len(chosen)


def test_the_move_beside_a_lone_stop_is_no_longer_than_the_turn() -> None:
    start = 300.382  # one turn on and back again it ends a bit beyond 360
    assert (start + 360.0) - start > 360.0
    made = lane(("open", start, start))
    clip = clip_of(machine(made), [ref(0)])
    assert read_clip(clip_text(clip)) == clip
    assert moves_of(made.blocks) == [360.0]


def test_cut_and_pasted_where_it_was_gives_the_lane_back() -> None:
    project = one(*GATE)
    clip = clip_of(project, [ref(0)])
    without = delete_blocks(project, [ref(0)]).project
    assert rows_of(without) == [("closed", 130, 460)]
    assert rows_of(paste_blocks(without, clip, 110).project) == [("open", 110, 120), ("closed", 130, 460)]


def test_pasted_at_the_cursor_lanes_keep_their_times() -> None:
    project = machine(lane(*GATE), lane(("open", 130, 150), ("closed", 170, 470), own_id="rose"))
    clip = clip_of(project, [ref(0, "rose"), ref(0)])
    assert clip.lanes == ("mint", "rose")
    edited = paste_blocks(project, clip, 300)
    assert ("open", 300, 310) in rows_of(edited.project)
    assert ("open", 320, 340) in rows_of(edited.project, "rose")
    assert edited.name == "Paste 2 blocks at 300.0°"
    assert {one.lane_id for one in edited.selection} == {"mint", "rose"}


def test_pasted_into_other_lanes_levels_go_by_name_or_height() -> None:
    other = Lane(id="flap", name="Flap", levels={"shut": 0.0, "up": 12.0})
    project = machine(lane(*GATE), other)
    edited = paste_blocks(project, clip_of(project, [ref(0)]), 50, "flap")
    assert rows_of(edited.project, "flap") == [("up", 50, 60)]
    both = clip_of(project, [ref(0), ref(1)])
    assert [row[0] for row in rows_of(paste_blocks(project, both, 50, "flap").project, "flap")] == [
        "up",
        "shut",
    ]
    flat = machine(lane(*GATE), Lane(id="flap", name="Flap", levels={"shut": 0.0}))
    with pytest.raises(EditError, match="Flap has not as many levels"):
        paste_blocks(flat, both, 50, "flap")


def test_lanes_that_are_not_there_are_told() -> None:
    project = machine(lane(*GATE), lane(*GATE, own_id="rose"))
    clip = clip_of(project, [ref(0), ref(0, "rose")])
    with pytest.raises(EditError, match='there is no lane "mint"; select the lane'):
        paste_blocks(machine(lane(*GATE, own_id="new")), clip, 0)
    with pytest.raises(EditError, match="2 lanes were copied, and from New on there are 1"):
        paste_blocks(machine(lane(*GATE, own_id="new")), clip, 0, "new")
    with pytest.raises(EditError, match="New has no levels yet"):
        paste_blocks(machine(Lane(id="new", name="New")), clip_of(one(*GATE), [ref(0)]), 0, "new")


def test_a_fast_stack_counts_its_own_degrees() -> None:
    stacks = (Stack(id="slow"), Stack(id="fast", turns=2))
    project = machine(lane(*GATE, stack="fast"), stacks=stacks)
    edited = paste_blocks(project, clip_of(project, [ref(0)]), 100)
    assert ("open", 200, 210) in rows_of(edited.project)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "hello",
        "step\tMint\n1\topen",
        '{"kind": "shaftscore-blocks"}',
        '{"kind": "shaftscore-blocks", "version": 2, "runs": []}',
        '{"kind":"shaftscore-blocks","version":1,"runs":[{"lane":"a","start_deg":1e999}]}',
        '{"kind":"shaftscore-blocks"' + "[" * 5000,
        '{"kind":"shaftscore-blocks"}' + " " * (1 << 20),
    ],
)
def test_any_other_text_is_no_clip(text: str) -> None:
    assert read_clip(text) is None


@given(st.text())
def test_no_text_breaks_the_reader(text: str) -> None:
    assert read_clip(text) is None
    assert read_clip('{"kind":"shaftscore-blocks",' + text) is None


def test_a_whole_lane_is_copied_with_the_move_round_its_end() -> None:
    project = machine(lane(*GATE), lane(("closed", 0, 360), own_id="rose"))
    clip = clip_of(project, [ref(0), ref(1)])
    (run,) = clip.runs
    assert (run.to_deg, run.away_deg) == (10, 10)
    pasted = paste_blocks(project, clip, 110, "rose").project
    assert rows_of(pasted, "rose") == rows_of(project)
