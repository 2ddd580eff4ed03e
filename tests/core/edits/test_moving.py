"""Several blocks moved, mirrored, shifted, and time inserted: tables of whole lanes, then what must hold."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shaftscore.base.angles import ahead, turn_to, wrap
from shaftscore.base.errors import EditError
from shaftscore.edits import insert_time, mirror_blocks, move_blocks, set_locked, shift_each, shift_lanes
from shaftscore.edits.setting_in import moves_of
from shaftscore.model import Block, Lane, Project, Stack, Window
from tests.core.edits.machines import Row, block, lane, machine, one, ref, rows_of
from tests.strategies import grid, lanes

TWO: list[Row] = [("open", 110, 120), ("closed", 130, 200), ("open", 210, 220), ("closed", 230, 460)]
"""Two openings; closed runs through 0."""
THREE: list[Row] = [("closed", 0, 100), ("half", 110, 150), ("open", 160, 340)]
"""Half stands between two other levels; moves of 10, 10 and 20."""
LOCKED = {"locked": True}


def moved(rows: list[Row], places: list[int], by: float, **more: str) -> list[tuple[str, float, float]]:
    return rows_of(move_blocks(one(*rows), [ref(place) for place in places], by, **more).project)


@pytest.mark.parametrize(
    ("rows", "places", "by", "expected"),
    [
        # Both openings: the dwell between them goes along, the one round them grows and shrinks.
        (
            TWO,
            [0, 2],
            10,
            [("open", 120, 130), ("closed", 140, 210), ("open", 220, 230), ("closed", 240, 470)],
        ),
        # One: as when it is placed alone.
        (TWO, [0], -20, [("open", 90, 100), ("closed", 110, 200), ("open", 210, 220), ("closed", 230, 440)]),
        # A run of three, moves inside included; the dwell that stands round it goes with it.
        (
            TWO,
            [0, 1, 2],
            5,
            [("open", 115, 125), ("closed", 135, 205), ("open", 215, 225), ("closed", 235, 465)],
        ),
        # Between two levels: only as far as the dwells give.
        (THREE, [1], 500, [("closed", 0, 240), ("half", 250, 290), ("open", 300, 340)]),
        (THREE, [1], -150, [("closed", 0, 0), ("half", 10, 50), ("open", 60, 340)]),
        # All of them: the whole lane turns.
        (THREE, [0, 1, 2], 300, [("half", 50, 90), ("open", 100, 280), ("closed", 300, 400)]),
    ],
)
def test_move_blocks(rows: list[Row], places: list[int], by: float, expected: list[Row]) -> None:
    assert moved(rows, places, by) == expected


def test_with_stay_the_moves_stretch() -> None:
    assert moved(TWO, [0, 2], 5, neighbours="stay") == [
        ("open", 115, 125),
        TWO[1],
        ("open", 215, 225),
        TWO[3],
    ]


def test_what_is_locked_stays_and_stops_its_neighbour() -> None:
    rows: list[Row] = [
        ("open", 110, 120, LOCKED),
        ("closed", 130, 200),
        ("half", 210, 220),
        ("closed", 230, 460),
    ]
    project = one(*rows)
    edited = move_blocks(project, [ref(0), ref(2)], 10)
    assert rows_of(edited.project)[0] == ("open", 110, 120)
    assert rows_of(edited.project)[2] == ("half", 220, 230)
    assert edited.selection == (ref(0), ref(2))
    held = one(("open", 110, 120), ("closed", 130, 460, LOCKED))
    assert move_blocks(held, [ref(0)], 10).project is held
    with pytest.raises(EditError, match="Mint open: locked"):
        move_blocks(project, [ref(0)], 10)


def test_lanes_keep_their_times_to_each_other() -> None:
    """A lane that cannot go on holds the others back."""
    tight = [("closed", 0, 100), ("half", 110, 150), ("open", 160, 165)]
    project = machine(lane(*tight), lane(*TWO, own_id="rose"))  # type: ignore[arg-type]
    edited = move_blocks(project, [ref(1), ref(0, "rose")], 50)
    assert rows_of(edited.project)[1] == ("half", 115, 155)
    assert rows_of(edited.project, "rose")[0] == ("open", 115, 125)
    assert edited.name == "Move 2 blocks by +5.0°"


def test_a_fast_stack_goes_as_many_times_as_far() -> None:
    stacks = (Stack(id="slow"), Stack(id="fast", turns=3))
    fast = lane(*TWO, own_id="rose", stack="fast")
    project = machine(lane(*TWO, stack="slow"), fast, stacks=stacks)
    edited = move_blocks(project, [ref(0), ref(0, "rose")], 2)
    assert rows_of(edited.project)[0] == ("open", 112, 122)
    assert rows_of(edited.project, "rose")[0] == ("open", 116, 126)


@given(made=lanes("mint", clean=True, plain=True), by=grid(-180, 180), data=st.data())
def test_moving_keeps_levels_lengths_and_moves_and_can_be_undone(
    made: Lane, by: float, data: st.DataObject
) -> None:
    count = len(made.blocks)
    assume(count > 1)
    chosen = data.draw(st.lists(st.integers(0, count - 1), min_size=1, unique=True))
    project, refs = machine(made), [ref(place) for place in chosen]
    edited = move_blocks(project, refs, by)
    after = edited.project.lane("mint").blocks
    went = [
        turn_to(made.blocks[old.index].start_deg, after[new.index].start_deg)
        for old, new in zip(refs, edited.selection, strict=True)
    ]
    assert max(went) - min(went) < 3e-6 or 360 - max(went) + min(went) < 3e-6
    for old, new in zip(refs, edited.selection, strict=True):
        assert after[new.index].length_deg == pytest.approx(made.blocks[old.index].length_deg, abs=3e-6)
        assert after[new.index].level == made.blocks[old.index].level
    assert sorted(moves_of(after)) == pytest.approx(sorted(moves_of(made.blocks)), abs=6e-6)
    back = move_blocks(edited.project, edited.selection, -went[0])
    assert near(back.project, project)


def by_place(project: Project) -> list[Block]:
    """Return the blocks of lane Mint by level and start; angles of tests lie on a grid of 0.001."""
    return sorted(project.lane("mint").blocks, key=lambda b: (b.level, wrap(b.start_deg + 5e-4)))


def near(first: Project, second: Project) -> bool:
    """Return whether two projects' lane Mint is the same, but for rounding."""
    pairs = zip(by_place(first), by_place(second), strict=True)
    return all(
        one.level == other.level
        and abs(turn_to(one.start_deg, other.start_deg)) < 2e-5
        and abs(one.length_deg - other.length_deg) < 2e-5
        for one, other in pairs
    )


# Mirror


@pytest.mark.parametrize(
    ("rows", "places", "about", "expected"),
    [
        # One block: its moves change sides.
        ([("open", 110, 120), ("closed", 130, 440)], [0], None, [("closed", 150, 460), ("open", 110, 120)]),
        # From the first to the last, what stands between too.
        (
            [("half", 100, 110), ("closed", 120, 150), ("open", 170, 180), ("closed", 190, 440)],
            [0, 2],
            None,
            [("open", 100, 110), ("closed", 130, 160), ("half", 170, 180), ("closed", 200, 450)],
        ),
        # About another angle: as if it had been moved there.
        (
            [("open", 110, 120), ("closed", 130, 440)],
            [0],
            120,
            [("open", 120, 130), ("closed", 160, 470)],
        ),
        # A whole lane.
        (THREE, [0, 1, 2], 0, [("open", 20, 200), ("half", 210, 250), ("closed", 260, 360)]),
    ],
)
def test_mirror_blocks(rows: list[Row], places: list[int], about: float | None, expected: list[Row]) -> None:
    edited = mirror_blocks(one(*rows), [ref(place) for place in places], about)
    assert rows_of(edited.project) == sorted(expected, key=lambda row: row[1])


def test_mirroring_takes_laws_and_windows_along() -> None:
    first = block(("open", 100, 120, {"law": "polynomial-345"}))
    second = block(
        ("half", 140, 150, {"law": "cycloidal", "window": Window(earliest_deg=130, latest_deg=145)})
    )
    third = block(("closed", 170, 440))
    made = Lane(id="mint", levels={"closed": 0.0, "half": 5.0, "open": 10.0}, blocks=(first, second, third))
    after = mirror_blocks(machine(made), [ref(0), ref(1)]).project.lane("mint").blocks
    assert [(b.level, b.start_deg, b.law) for b in after] == [
        ("half", 100, None),  # the move from half to closed has the lane's law
        ("open", 130, "cycloidal"),
        ("closed", 170, "polynomial-345"),
    ]
    window = after[0].window
    assert window is not None
    assert (window.earliest_deg, window.latest_deg) == (95, 110)  # 250 - 145 - 10, 250 - 130 - 10


@given(made=lanes("mint", clean=True, plain=True), about=grid(0, 360))
def test_mirroring_a_lane_twice_gives_it_back(made: Lane, about: float) -> None:
    assume(len(made.blocks) > 0)
    project = machine(made)
    refs = [ref(index) for index in range(len(made.blocks))]
    once = mirror_blocks(project, refs, about)
    assert sorted(moves_of(once.project.lane("mint").blocks)) == pytest.approx(
        sorted(moves_of(made.blocks)), abs=6e-6
    )
    twice = mirror_blocks(once.project, once.selection, about)
    assert near(twice.project, project)
    assert {b.law for b in twice.project.lane("mint").blocks} == {b.law for b in made.blocks}


def test_what_is_locked_is_not_mirrored() -> None:
    project = set_locked(one(*TWO), [ref(1)], True).project
    with pytest.raises(EditError, match="Mint closed is locked"):
        mirror_blocks(project, [ref(0), ref(2)])
    with pytest.raises(EditError, match="no blocks"):
        mirror_blocks(project, [])


# Shift


@given(made=lanes("mint", plain=True), by=grid(-720, 720))
def test_a_shift_turns_every_block_and_back(made: Lane, by: float) -> None:
    blocks = [ref(index) for index in range(len(made.blocks))]
    project = set_locked(machine(made), blocks, False).project
    edited = shift_lanes(project, ["mint"], by)
    for length, other in zip(
        sorted(b.length_deg for b in made.blocks),
        sorted(b.length_deg for b in edited.project.lane("mint").blocks),
        strict=True,
    ):
        assert length == pytest.approx(other, abs=3e-6)
    assert near(shift_lanes(edited.project, ["mint"], -by).project, project)


def test_shift_names_what_it_shifts_and_refuses_what_is_locked() -> None:
    project = machine(lane(*TWO), lane(*THREE, own_id="rose"))
    edited = shift_lanes(project, ["mint", "rose"], -10)
    assert edited.name == "Shift all lanes by \u221210.0°"
    assert rows_of(edited.project, "rose") == [("half", 100, 140), ("open", 150, 330), ("closed", 350, 450)]
    assert shift_lanes(project, ["rose"], 5).name == "Shift Rose by +5.0°"
    locked = set_locked(project, [ref(1, "rose")], True).project
    with pytest.raises(EditError, match="Rose half is locked"):
        shift_lanes(locked, ["mint", "rose"], 5)


def test_lanes_are_shifted_each_by_its_own_angle() -> None:
    project = machine(lane(*TWO), lane(*THREE, own_id="rose"))
    edited = shift_each(project, [("mint", 5.0), ("rose", -10.0)])
    assert rows_of(edited.project, "rose") == [("half", 100, 140), ("open", 150, 330), ("closed", 350, 450)]
    assert near(
        shift_lanes(edited.project, ["mint"], -5.0).project, shift_lanes(project, ["rose"], -10).project
    )
    assert edited.name == "Shift 2 lanes"
    with pytest.raises(EditError, match="no lane"):
        shift_each(project, [])


# Insert time


@pytest.mark.parametrize(
    ("rows", "at", "by", "expected"),
    [
        # In a move: it takes longer; the last dwell gives.
        (THREE, 105, 20, [("closed", 0, 100), ("half", 130, 170), ("open", 180, 340)]),
        # In a dwell.
        (THREE, 120, 20, [("closed", 0, 100), ("half", 110, 170), ("open", 180, 340)]),
        # In the last dwell, or after it: nothing follows.
        (THREE, 200, 20, THREE),
        (THREE, 350, 20, THREE),
        # A dwell through 0 gives at its begin what it takes at its end.
        (TWO, 50, 10, [("open", 120, 130), ("closed", 140, 210), ("open", 220, 230), ("closed", 240, 470)]),
        # Taken out.
        (THREE, 100, -5, [("closed", 0, 100), ("half", 105, 145), ("open", 155, 340)]),
        (THREE, 120, -20, [("closed", 0, 100), ("half", 110, 130), ("open", 140, 340)]),
    ],
)
def test_insert_time(rows: list[Row], at: float, by: float, expected: list[Row]) -> None:
    assert rows_of(insert_time(one(*rows), at, by).project) == expected


def test_time_that_no_dwell_can_give_is_refused() -> None:
    project = one(*THREE)
    with pytest.raises(
        EditError, match=r"Mint: its last dwell, open from 160.0°, can give 180.0°, not 181.0°"
    ):
        insert_time(project, 50, 181)
    with pytest.raises(EditError, match=r"what comes after 120.0° can give 30.0°, not 31.0°"):
        insert_time(project, 120, -31)
    locked = set_locked(project, [ref(1)], True).project
    with pytest.raises(EditError, match="Mint half is locked"):
        insert_time(locked, 50, 5)
    assert insert_time(locked, 155, 5).name == "Insert 5.0° at 155.0°"


def test_only_some_lanes_if_asked() -> None:
    project = machine(lane(*THREE), lane(*THREE, own_id="rose"))
    edited = insert_time(project, 105, 20, ["rose"])
    assert rows_of(edited.project) == THREE
    assert rows_of(edited.project, "rose")[1] == ("half", 130, 170)


@given(made=lanes("mint", clean=True, plain=True), at=grid(0, 359), by=grid(0, 60))
def test_inserted_time_is_there_and_can_be_taken_out(made: Lane, at: float, by: float) -> None:
    project = machine(made)
    try:
        edited = insert_time(project, at, by)
    except EditError:
        return
    assume(made.blocks[-1].start_deg + by < 360)  # else the last dwell now begins in the next turn
    for before, after in zip(made.blocks, edited.project.lane("mint").blocks, strict=True):
        pushed = ahead(before.start_deg, after.start_deg)
        assert min(pushed, 360 - pushed) < 3e-6 or pushed == pytest.approx(by, abs=3e-6)
    assert near(insert_time(edited.project, at, -by).project, project)
