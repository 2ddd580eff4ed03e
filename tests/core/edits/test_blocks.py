"""Edits of blocks other than placing: level, add, delete, lock, law, window, least length."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.errors import EditError
from shaftscore.edits import (
    BlockRef,
    add_block,
    delete_blocks,
    set_block_law,
    set_block_level,
    set_least_length,
    set_locked,
    set_window,
)
from shaftscore.model import Lane, Window
from tests.core.edits.machines import Row, lane, machine, one, ref, rows_of
from tests.strategies import angles, grid, lanes

ROWS: list[Row] = [("closed", 0, 100), ("open", 120, 150), ("closed", 170, 340)]
LOCKED = {"locked": True}


def test_set_block_level() -> None:
    edited = set_block_level(one(*ROWS), ref(1), "half")
    assert rows_of(edited.project) == [ROWS[0], ("half", 120, 150), ROWS[2]]
    assert edited.name == "Change Mint open to half"
    assert edited.selection == (ref(1),)
    project = one(*ROWS)
    assert set_block_level(project, ref(1), "open").project is project


@pytest.mark.parametrize(
    ("start", "level", "length", "expected"),
    [
        # Inside a dwell of another level: that is cut, with the lane's usual move of 20 degrees.
        (50, "open", 10, [("closed", 0, 30), ("open", 50, 60), ("closed", 80, 100), *ROWS[1:]]),
        (410, "open", 10, [("closed", 0, 30), ("open", 50, 60), ("closed", 80, 100), *ROWS[1:]]),
        # Near an end: a momentary stop is left, or less time.
        (10, "open", 10, [("closed", 0, 0), ("open", 10, 20), ("closed", 40, 100), *ROWS[1:]]),
        (90, "half", 10, [("closed", 0, 70), ("half", 90, 100), ("closed", 100, 100), *ROWS[1:]]),
        # Elsewhere the others stay.
        (105, "half", 5, [("closed", 0, 100), ("half", 105, 110), *ROWS[1:]]),
        (90, "half", 20, [("closed", 0, 100), ("half", 90, 110), *ROWS[1:]]),
        (50, "closed", 10, [("closed", 0, 100), ("closed", 50, 60), *ROWS[1:]]),
        # The length of the lane's last block at that level, else of its last one.
        (350, "open", None, [*ROWS, ("open", 350, 380)]),
        (345, "half", None, [*ROWS, ("half", 345, 515)]),
    ],
)
def test_add_block(start: float, level: str, length: float | None, expected: list[Row]) -> None:
    edited = add_block(one(*ROWS), "mint", start, level, length)
    assert rows_of(edited.project) == expected
    (chosen,) = edited.selection
    assert edited.project.lane("mint").blocks[chosen.index].level == level


def test_added_inside_a_dwell_that_runs_through_0() -> None:
    rows: list[Row] = [("open", 100, 120), ("closed", 140, 440)]
    assert rows_of(add_block(one(*rows), "mint", 10, "half", 10).project) == [
        ("half", 10, 20),
        ("closed", 40, 80),
        ("open", 100, 120),
        ("closed", 140, 350),
    ]


def test_the_first_block_of_a_lane_is_a_step_long() -> None:
    edited = add_block(one(), "mint", 60, "open")
    assert rows_of(edited.project) == [("open", 60, 90)]
    assert edited.name == "Add Mint open at 60.0°"


def test_a_locked_dwell_is_not_cut() -> None:
    edited = add_block(one(("closed", 0, 100, LOCKED)), "mint", 50, "open", 10)
    assert rows_of(edited.project) == [("closed", 0, 100), ("open", 50, 60)]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"lane_id": "mnit", "level": "open"}, 'no lane "mnit"; did you mean "mint"'),
        ({"lane_id": "mint", "level": "opne"}, 'did you mean "open"'),
        ({"lane_id": "mint", "level": "open", "length_deg": 361.0}, "0 to 360 degrees long, got 361"),
        ({"lane_id": "mint", "level": "open", "length_deg": float("nan")}, "got nan"),
    ],
)
def test_what_cannot_be_added(arguments: dict[str, object], words: str) -> None:
    with pytest.raises(EditError, match=words):
        add_block(one(*ROWS), start_deg=5.0, **arguments)


@given(lanes("mint"), angles, grid(0, 60), st.data())
def test_what_is_added_stands_where_it_was_put(
    own: Lane, start: float, length: float, data: st.DataObject
) -> None:
    level = data.draw(st.sampled_from(list(own.levels)))
    edited = add_block(machine(own), "mint", start, level, length)
    blocks = edited.project.lane("mint").blocks
    (chosen,) = edited.selection
    made = blocks[chosen.index]
    assert (made.level, made.start_deg) == (level, start)
    assert made.length_deg == pytest.approx(length, abs=1e-6)
    assert {b.level for b in own.blocks} | {level} == {b.level for b in blocks}


@pytest.mark.parametrize(
    ("rows", "gone", "expected"),
    [
        (ROWS, [1], [("closed", 0, 340)]),
        (ROWS, [0], [("open", 120, 150), ("closed", 170, 340)]),
        (ROWS, [0, 2], [("open", 120, 150)]),
        (ROWS, [0, 1, 2], []),
        ([("open", 10, 20), ("closed", 40, 100), ("closed", 200, 340)], [0], [("closed", 200, 460)]),
        (
            [*ROWS[:1], ("open", 120, 150), ("half", 160, 165), ("closed", 170, 340)],
            [1, 2],
            [("closed", 0, 340)],
        ),
        ([*ROWS[:1], ("open", 120, 150), ("half", 160, 165)], [1], [("closed", 0, 100), ("half", 160, 165)]),
        ([("closed", 0, 100, LOCKED), *ROWS[1:]], [1], [("closed", 0, 100), ("closed", 170, 340)]),
        ([("closed", 10, 100), ("closed", 200, 340), ("open", 350, 360)], [2], [("closed", 200, 460)]),
    ],
)
def test_delete_blocks(rows: list[Row], gone: list[int], expected: list[Row]) -> None:
    edited = delete_blocks(one(*rows), [ref(index) for index in gone])
    assert rows_of(edited.project) == expected
    assert edited.selection == ()


def test_the_name_of_a_deletion() -> None:
    assert delete_blocks(one(*ROWS), [ref(1)]).name == "Delete Mint open"
    assert delete_blocks(one(*ROWS), [ref(0), ref(1)]).name == "Delete Mint closed and Mint open"
    assert delete_blocks(one(*ROWS), [ref(0), ref(1), ref(2)]).name == "Delete 3 blocks"


def test_blocks_of_several_lanes_are_deleted_together() -> None:
    project = machine(lane(*ROWS), lane(*ROWS, own_id="rose"))
    edited = delete_blocks(project, [BlockRef("rose", 1), ref(1)])
    assert rows_of(edited.project) == rows_of(edited.project, "rose") == [("closed", 0, 340)]


def test_a_locked_block_is_not_deleted() -> None:
    with pytest.raises(EditError, match="Mint open is locked"):
        delete_blocks(one(("closed", 0, 100), ("open", 120, 150, LOCKED)), [ref(0), ref(1)])


def test_lock_and_unlock() -> None:
    locked = set_locked(one(*ROWS), [ref(0), ref(1)], True)
    assert [b.locked for b in locked.project.lane("mint").blocks] == [True, True, False]
    assert locked.name == "Lock 2 blocks"
    unlocked = set_locked(locked.project, [ref(1)], False)
    assert [b.locked for b in unlocked.project.lane("mint").blocks] == [True, False, False]
    assert unlocked.name == "Unlock Mint open"


def test_set_block_law() -> None:
    edited = set_block_law(one(*ROWS), ref(1), "cycloidal")
    assert edited.project.lane("mint").blocks[1].law == "cycloidal"
    assert edited.name == "Change the law to Mint open to cycloidal"
    assert set_block_law(edited.project, ref(1), None).project == one(*ROWS)
    with pytest.raises(EditError, match=r'law: "cyclodial" is not one of .* did you mean "cycloidal"'):
        set_block_law(one(*ROWS), ref(1), "cyclodial")  # type: ignore[arg-type]


def test_set_window() -> None:
    edited = set_window(one(*ROWS), ref(1), 110, 130)
    assert edited.project.lane("mint").blocks[1].window == Window(earliest_deg=110.0, latest_deg=130.0)
    assert edited.name == "Keep Mint open within 110.0° to 130.0°"
    through = set_window(one(*ROWS), ref(1), -10, 10)
    assert through.project.lane("mint").blocks[1].window == Window(earliest_deg=350.0, latest_deg=370.0)
    free = set_window(edited.project, ref(1), None, None)
    assert free.project.lane("mint").blocks[1].window is None
    assert free.name == "Free Mint open of its window"
    with pytest.raises(EditError, match="two ends, got 5 and None"):
        set_window(one(*ROWS), ref(1), 5, None)


def test_set_least_length() -> None:
    edited = set_least_length(one(*ROWS), ref(1), least_s=0.5)
    assert edited.project.lane("mint").blocks[1].min_length_s == 0.5
    with pytest.raises(EditError, match=r"0\.5 s is given together with min_length_deg, 5°"):
        set_least_length(one(*ROWS), ref(1), 5.0, 0.5)


def test_other_lanes_stay_the_same_objects() -> None:
    project = machine(lane(*ROWS), lane(*ROWS, own_id="rose"))
    for edited in (
        set_block_level(project, ref(1), "half"),
        add_block(project, "mint", 50, "open"),
        delete_blocks(project, [ref(1)]),
        set_locked(project, [ref(1)], True),
    ):
        assert edited.project.lane("rose") is project.lane("rose")
        assert edited.project.lane("mint").blocks[0] is project.lane("mint").blocks[
            0
        ] or edited.name.startswith(("Add", "Delete"))
