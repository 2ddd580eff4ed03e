"""Lift out, set in: tables of whole lanes, then what must hold wherever a block is put."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st

from shaftscore.base.angles import ahead, turn_to
from shaftscore.base.errors import EditError
from shaftscore.edits import BlockRef, place_block, stretch_block
from shaftscore.edits.base import same_angle, spanned
from shaftscore.model import Block, Lane, Project, replaced
from tests.core.edits.machines import LEVELS, Row, machine, one, ref, rows_of, runs, same_round
from tests.strategies import angles, clean_blocks, grid, lanes

LOCKED = {"locked": True}
TEA: list[Row] = [("closed", 160, 460), ("open", 110, 150)]
"""Two blocks: one dwell fills all that the other leaves."""
FOUR: list[Row] = [
    ("closed", 0, 100),
    ("open", 110, 150),
    ("closed", 160, 200),
    ("half", 220, 240),
    ("closed", 260, 350),
]
"""Closed runs through 0 in two pieces; the move to and from half takes 20 degrees."""
THREE: list[Row] = [("closed", 0, 100), ("half", 110, 150), ("open", 160, 340)]
"""Half stands between two different levels."""
SEAM: list[Row] = [("closed", 0, 100), ("open", 110, 150), ("closed", 160, 360)]
"""One dwell in two pieces that touch at 0."""

SNUG: list[Row] = [
    ("closed", 0, 60.133),
    ("open", 75.134, 131.811),
    ("closed", 203.488, 204.488),
    ("open", 232.432, 232.433),
    ("half", 247.434, 304.111),
    ("open", 319.112, 332.056),
]
"""Half is just as long as the first open, 56.677 degrees: it fits in with nothing to spare."""

PIECES: list[Row] = [
    ("closed", 0, 0.001),
    ("closed", 0, 0),
    ("closed", 0.001, 0.002),
    ("closed", 0.001, 0.001),
    ("closed", 0.001, 0.001),
]
"""Five pieces of one level, some momentary, that touch and overlap."""


def placed(rows: list[Row], index: int, start: float, **more: str) -> list[tuple[str, float, float]]:
    return rows_of(place_block(one(*rows), ref(index), start, **more).project)


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        (111, [("open", 111, 151), ("closed", 161, 461)]),
        (100.25, [("open", 100.25, 140.25), ("closed", 150.25, 450.25)]),
        (350, [("closed", 40, 340), ("open", 350, 390)]),
        (-10, [("closed", 40, 340), ("open", 350, 390)]),
        (370, [("open", 10, 50), ("closed", 60, 360)]),
        (290, [("open", 290, 330), ("closed", 340, 640)]),
        (710.0000001, [("closed", 40, 340), ("open", 350, 390)]),
    ],
)
def test_the_other_dwell_of_two_moves_along(start: float, expected: list[Row]) -> None:
    assert placed(TEA, 0, start) == expected


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        # The dwells to both sides give, the one grows as the other shrinks.
        (120, [("closed", 0, 110), ("open", 120, 160), ("closed", 170, 200)]),
        (80, [("closed", 0, 70), ("open", 80, 120), ("closed", 130, 200)]),
        # Down to a momentary stop, then the move shortens, to nothing at the end of the dwell.
        (150, [("closed", 0, 140), ("open", 150, 190), ("closed", 200, 200)]),
        (155, [("closed", 0, 145), ("open", 155, 195), ("closed", 200, 200)]),
        (160, [("closed", 0, 150), ("open", 160, 200), ("closed", 200, 200)]),
        # Past it the block waits there until another closed dwell is nearer.
        (180, [("closed", 0, 150), ("open", 160, 200), ("closed", 200, 200)]),
    ],
)
def test_dwells_beside_the_block_give_way(start: float, expected: list[Row]) -> None:
    rest = [("half", 220, 240), ("closed", 260, 350)]
    assert placed(FOUR, 1, start) == expected + rest


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        # The dwells that the block leaves join, the one that it goes into is cut in two.
        (
            285,
            [
                ("closed", 0, 200),
                ("half", 220, 240),
                ("closed", 260, 275),
                ("open", 285, 325),
                ("closed", 335, 350),
            ],
        ),
        (
            255,
            [
                ("closed", 0, 200),
                ("half", 220, 240),
                ("closed", 260, 260),
                ("open", 260, 300),
                ("closed", 310, 350),
            ],
        ),
        # Through 0: what is squeezed to nothing is one with the piece behind it.
        (340, [("closed", 30, 200), ("half", 220, 240), ("closed", 260, 330), ("open", 340, 380)]),
        (5, [("open", 5, 45), ("closed", 55, 200), ("half", 220, 240), ("closed", 260, 355)]),
    ],
)
def test_the_block_goes_into_another_dwell_of_the_level_around_it(start: float, expected: list[Row]) -> None:
    assert placed(FOUR, 1, start) == expected


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        (120, [("closed", 0, 110), ("half", 120, 160), ("open", 170, 340)]),
        (5, [("closed", 0, 0), ("half", 5, 45), ("open", 55, 340)]),
        (350, [("closed", 0, 0), ("half", 0, 40), ("open", 50, 340)]),
        (295, [("closed", 0, 285), ("half", 295, 335), ("open", 340, 340)]),
        (310, [("closed", 0, 290), ("half", 300, 340), ("open", 340, 340)]),
    ],
)
def test_between_two_different_levels_the_block_stays_between_them(start: float, expected: list[Row]) -> None:
    assert placed(THREE, 1, start) == expected


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        (120, [("closed", 0, 110), ("open", 120, 160), ("closed", 170, 360)]),
        (350, [("closed", 40, 340), ("open", 350, 390)]),
        (5, [("open", 5, 45), ("closed", 55, 355)]),
        (290, [("closed", 0, 280), ("open", 290, 330), ("closed", 340, 360)]),
        (20, [("closed", 0, 10), ("open", 20, 60), ("closed", 70, 360)]),
    ],
)
def test_a_dwell_in_two_pieces_that_touch_is_one_dwell(start: float, expected: list[Row]) -> None:
    assert placed(SEAM, 1, start) == expected


def test_locked_neighbours_never_give() -> None:
    rows: list[Row] = [("closed", 0, 100, LOCKED), ("open", 110, 150), ("closed", 160, 340)]
    assert placed(rows, 1, 130) == [("closed", 0, 100), ("open", 130, 170), ("closed", 180, 340)]
    assert placed(rows, 1, 100) == [("closed", 0, 100), ("open", 100, 140), ("closed", 150, 340)]
    assert placed(rows, 1, 90) == [("closed", 0, 100), ("open", 100, 140), ("closed", 150, 340)]
    both: list[Row] = [("closed", 0, 100, LOCKED), ("open", 110, 150), ("closed", 160, 340, LOCKED)]
    assert placed(both, 1, 115) == [("closed", 0, 100), ("open", 115, 155), ("closed", 160, 340)]


def test_a_dwell_gives_no_further_than_its_least_length() -> None:
    rows: list[Row] = [("closed", 0, 100, {"min_length_deg": 60.0}), ("open", 110, 150), ("half", 160, 340)]
    assert placed(rows, 1, 65) == [("closed", 0, 60), ("open", 65, 105), ("half", 115, 340)]
    timed: list[Row] = [("closed", 0, 100, {"min_length_s": 2.0}), ("open", 110, 150), ("half", 160, 340)]
    assert placed(timed, 1, 65) == [("closed", 0, 72), ("open", 65, 105), ("half", 115, 340)]


def test_neighbours_that_stay_let_the_moves_stretch() -> None:
    expected = [
        ("closed", 0, 100),
        ("open", 115, 155),
        ("closed", 160, 200),
        ("half", 220, 240),
        ("closed", 260, 350),
    ]
    assert placed(FOUR, 1, 115, neighbours="stay") == expected
    over = placed(FOUR, 1, 225, neighbours="stay")
    assert over == [
        ("closed", 0, 100),
        ("closed", 160, 200),
        ("half", 220, 240),
        ("open", 225, 265),
        ("closed", 260, 350),
    ]


def test_the_level_may_change_with_the_place() -> None:
    assert placed(FOUR, 1, 120, level="half")[1] == ("half", 120, 160)
    assert placed(FOUR, 1, 110, level="half") == [("closed", 0, 100), ("half", 110, 150), *FOUR[2:]]


def test_dragging_out_of_an_overlap_cures_it() -> None:
    """Closed reaches two degrees into open; the lane's other move takes 20 degrees, and so will this."""
    rows: list[Row] = [("closed", 0, 112), ("open", 110, 150), ("half", 170, 340)]
    assert placed(rows, 1, 120) == [("closed", 0, 100), ("open", 120, 160), ("half", 180, 340)]


def test_a_dwell_too_short_for_the_block_is_passed_over() -> None:
    rows: list[Row] = [*FOUR[:4], ("closed", 260, 290), ("half", 310, 340)]
    assert placed(rows, 1, 255) == [("closed", 0, 150), ("open", 160, 200), ("closed", 200, 200), *rows[3:]]
    assert placed([*rows[:1], ("open", 110, 130), *rows[2:]], 1, 265)[-3:] == [
        ("open", 265, 285),
        ("closed", 290, 290),
        ("half", 310, 340),
    ]


def test_a_block_just_as_long_as_a_dwell_fits_into_it_wherever_the_lane_stands() -> None:
    """The ends round otherwise at each angle of the lane; the answer does not hang on that."""
    for by in (0.0, -0.001, 28.4, 133.333):
        rows = [(level, (start + by) % 360, (start + by) % 360 + end - start) for level, start, end in SNUG]
        project = one(*sorted(rows, key=lambda row: row[1]))
        (own,) = (index for index, row in enumerate(rows_of(project)) if row[0] == "half")
        edited = place_block(project, ref(own), 17.419 + by)
        (chosen,) = edited.selection
        now = edited.project.lane("mint").blocks[chosen.index]
        assert turn_to(75.134 + by, now.start_deg) == pytest.approx(0, abs=2e-6)


def test_blocks_that_touch_get_a_usual_move_wherever_the_lane_stands() -> None:
    """368.643 - 360 is 8.643 but for the last digit: closed and open touch there as they do at 110."""
    at_0: list[Row] = [("closed", 0, 110), ("open", 110, 150), ("half", 170, 340)]
    assert placed(at_0, 1, 120) == [("closed", 0, 100), ("open", 120, 160), ("half", 180, 340)]
    later: list[Row] = [("open", 8.643, 48.643), ("half", 68.643, 238.643), ("closed", 258.643, 368.643)]
    assert placed(later, 0, 18.643) == [
        ("open", 18.643, 58.643),
        ("half", 78.643, 238.643),
        ("closed", 258.643, 358.643),
    ]


def test_a_lone_block_goes_anywhere() -> None:
    assert placed([("open", 10, 50)], 0, -20) == [("open", 340, 380)]


def test_the_law_of_the_move_out_goes_with_the_block() -> None:
    rows: list[Row] = [
        ("closed", 0, 100),
        ("open", 110, 150),
        ("closed", 160, 200, {"law": "drop"}),
        *FOUR[3:],
    ]
    moved = place_block(one(*rows), ref(1), 285).project.lane("mint")
    assert [b.law for b in moved.blocks] == [None, None, None, None, "drop"]


def test_the_step_is_named_after_the_block_and_where_it_stands() -> None:
    edited = place_block(one(*FOUR), ref(1), 150)
    assert edited.name == "Move Mint open to 150.0°"
    assert place_block(one(*FOUR), ref(1), 150.25).name == "Move Mint open to 150.25°"
    assert place_block(one(*FOUR), ref(1), 185).name == "Move Mint open to 160.0°"


def test_the_selection_follows_the_block() -> None:
    for start in range(0, 360, 7):
        edited = place_block(one(*FOUR), ref(1), float(start))
        (chosen,) = edited.selection
        assert edited.project.lane("mint").blocks[chosen.index].level == "open"


@pytest.mark.parametrize(
    ("index", "arguments", "words"),
    [
        (0, {"start_deg": 5.0}, r"Mint closed is locked at 0\.0°; unlock it first"),
        (9, {"start_deg": 5.0}, r"Mint has no block 10; it has 2"),
        (-1, {"start_deg": 5.0}, r"Mint has no block 0; it has 2"),
        (1, {"start_deg": float("nan")}, r"finite number, got nan"),
        (1, {"start_deg": 5.0, "level": "opne"}, r'"opne" is not one of Mint.s levels .*did you mean "open"'),
    ],
)
def test_what_cannot_be_placed(index: int, arguments: dict[str, object], words: str) -> None:
    project = one(("closed", 0, 100, LOCKED), ("open", 110, 150))
    with pytest.raises(EditError, match=words):
        place_block(project, ref(index), **arguments)


def test_there_must_be_such_a_lane() -> None:
    with pytest.raises(EditError, match='no lane "mnit"; did you mean "mint"'):
        place_block(one(*FOUR), BlockRef("mnit", 0), 5.0)


# --- what must hold wherever a block is put --------------------------------------------------------

any_lanes = lanes("mint", plain=True) | lanes("mint", plain=True, clean=True) | lanes("mint")
neighbours = st.sampled_from(["give", "stay"])


@st.composite
def held(draw: st.DrawFn, kind: st.SearchStrategy[Lane] = any_lanes) -> tuple[Project, BlockRef]:
    """Return a project of one lane and a block that may be moved."""
    lane = draw(kind)
    free = [index for index, block in enumerate(lane.blocks) if not block.locked]
    assume(free)
    return machine(lane), BlockRef("mint", draw(st.sampled_from(free)))


@given(held(), neighbours)
def test_placed_where_it_was_nothing_changes(case: tuple[Project, BlockRef], way: str) -> None:
    project, own = case
    start = project.lane("mint").blocks[own.index].start_deg
    for turn in (-360, 0, 360):
        edited = place_block(project, own, start + turn, neighbours=way)
        assert edited.project is project
        assert edited.selection == (own,)


@given(held(), angles, neighbours)
def test_blocks_stay_sorted_and_the_held_one_is_selected(
    case: tuple[Project, BlockRef], start: float, way: str
) -> None:
    project, own = case
    was = project.lane("mint").blocks[own.index]
    edited = place_block(project, own, start, neighbours=way)
    blocks = edited.project.lane("mint").blocks
    assert all(a.start_deg <= b.start_deg for a, b in pairwise(blocks))
    (chosen,) = edited.selection
    now = blocks[chosen.index]
    assert now.level == was.level
    assert now.length_deg == pytest.approx(was.length_deg, abs=1e-6)
    assert (now.law, now.window) == (was.law, was.window)


def without(project: Project, own: BlockRef) -> list[Block]:
    blocks = list(project.lane("mint").blocks)
    del blocks[own.index]
    return blocks


@given(held(), angles)
@example((one(*PIECES), ref(2)), 0.0)
def test_no_level_and_no_window_is_lost(case: tuple[Project, BlockRef], start: float) -> None:
    """Of successive pieces of one level any number may become one, but one stays; one dwell may be cut."""
    project, own = case
    edited = place_block(project, own, start)
    before, after = without(project, own), without(edited.project, *edited.selection)
    assert {b.level for b in before} == {b.level for b in after}
    assert {b.window for b in after if b.window} <= {b.window for b in before if b.window}
    assert len(runs(before)) <= len(after) <= len(before) + 1


@given(held(lanes("mint", plain=True, clean=True)), angles)
def test_no_dwell_is_lost(case: tuple[Project, BlockRef], start: float) -> None:
    """Without the held block the lane goes through the same levels as before, in the same order."""
    project, own = case
    edited = place_block(project, own, start)
    before, after = without(project, own), without(edited.project, *edited.selection)
    assert same_round(runs(before), runs(after))


@given(held(), angles, neighbours)
def test_locked_blocks_never_change(case: tuple[Project, BlockRef], start: float, way: str) -> None:
    project, own = case
    edited = place_block(project, own, start, neighbours=way)
    kept = [b for b in project.lane("mint").blocks if b.locked]
    assert [b for b in edited.project.lane("mint").blocks if b.locked] == kept


@given(held(), angles)
def test_with_neighbours_that_stay_only_the_block_changes(
    case: tuple[Project, BlockRef], start: float
) -> None:
    project, own = case
    edited = place_block(project, own, start, neighbours="stay")
    (chosen,) = edited.selection
    before, after = list(project.lane("mint").blocks), list(edited.project.lane("mint").blocks)
    del before[own.index], after[chosen.index]
    assert sorted(map(id, before)) == sorted(map(id, after))
    assert edited.project.lane("mint").blocks[chosen.index].start_deg == start


clean_lanes = lanes("mint", plain=True, clean=True)


def gaps(blocks: tuple[Block, ...], index: int) -> tuple[float, float]:
    """Return the moves to and from a block, degrees."""
    own, before, after = blocks[index], blocks[index - 1], blocks[(index + 1) % len(blocks)]
    return gap(before, own), gap(own, after)


def gap(before: Block, after: Block) -> float:
    """Return the move between two blocks, degrees; none where they touch, whatever their ends round to."""
    if same_angle(before.end_deg, after.start_deg):
        return 0.0
    return ahead(before.end_deg, after.start_deg)


@given(held(clean_lanes), angles)
def test_a_lane_with_time_for_its_moves_keeps_it_and_the_moves_beside_the_block(
    case: tuple[Project, BlockRef], start: float
) -> None:
    """A move beside the block changes only where its dwell has given all it has."""
    project, own = case
    edited = place_block(project, own, start)
    blocks = edited.project.lane("mint").blocks
    (chosen,) = edited.selection
    was, now = gaps(project.lane("mint").blocks, own.index), gaps(blocks, chosen.index)
    beside = blocks[chosen.index - 1], blocks[(chosen.index + 1) % len(blocks)]
    for before, after, dwell in zip(was, now, beside, strict=True):
        assert after == pytest.approx(before, abs=2e-6) or (after < before and dwell.length_deg < 2e-6)
    total = sum(b.length_deg for b in blocks) + sum(gaps(blocks, n)[0] for n in range(len(blocks)))
    assert total == pytest.approx(360, abs=1e-4)


LEVEL_NAMES = ["closed", "half", "open"]
roomy_lanes = clean_blocks(LEVEL_NAMES, least_dwell_deg=20).map(
    lambda blocks: Lane(id="mint", levels=LEVELS, blocks=blocks)
)
"""Lanes whose every dwell is at least 20 degrees long."""


@given(held(roomy_lanes), grid(-20, 20))
def test_placed_elsewhere_and_back_the_lane_is_as_it_was(case: tuple[Project, BlockRef], by: float) -> None:
    project, own = case
    start = project.lane("mint").blocks[own.index].start_deg
    there = place_block(project, own, start + by)
    back = place_block(there.project, there.selection[0], start)
    assert rows_of(back.project) == [
        (level, a, pytest.approx(b, abs=1e-9)) for level, a, b in rows_of(project)
    ]


@given(held(clean_lanes), angles, grid(-720, 720))
@example((one(*FOUR), ref(1)), 340.0, 33.0)
@example((one(*THREE), ref(1)), 295.0, -105.0)
@example((one(*SEAM), ref(1)), 5.0, 180.0)
@example((one(*SNUG), ref(4)), 17.419, -0.001)
def test_turning_the_whole_lane_turns_the_answer(
    case: tuple[Project, BlockRef], start: float, by: float
) -> None:
    project, own = case
    lane = project.lane("mint")
    assume(len({b.start_deg for b in lane.blocks}) == len(lane.blocks))
    assume(not half_way_between_places(lane, own.index, start))
    held_block = lane.blocks[own.index]
    turned = machine(replaced(lane, blocks=tuple(turned_by(b, by) for b in lane.blocks)))
    wanted = [same_angle(b.start_deg, held_block.start_deg + by) for b in turned.lane("mint").blocks]
    straight = place_block(project, own, start).project.lane("mint")
    other = place_block(turned, BlockRef("mint", wanted.index(True)), start + by).project.lane("mint")
    assert_same_blocks(other.blocks, [turned_by(b, by) for b in straight.blocks])


def turned_by(block: Block, by: float) -> Block:
    return spanned(block, block.start_deg + by, block.length_deg)


def assert_same_blocks(first: Sequence[Block], second: Sequence[Block]) -> None:
    """Compare blocks in any order, to the grid of edits."""
    rest = list(second)
    for block in first:
        same = [
            other
            for other in rest
            if other.level == block.level
            and abs(turn_to(other.start_deg, block.start_deg)) < 3e-6
            and abs(other.length_deg - block.length_deg) < 3e-6
        ]
        assert same, f"{block} is not among {rest}"
        rest.remove(same[0])
    assert not rest


def half_way_between_places(lane: Lane, index: int, start: float) -> bool:
    """Return whether the held block's middle is as near to one dwell as to another."""
    middle = start + lane.blocks[index].length_deg / 2
    others = [b for n, b in enumerate(lane.blocks) if n != index]
    edges = [edge for b in others for edge in (b.start_deg, b.end_deg)]
    away = sorted(abs(turn_to(edge, middle)) for edge in edges)
    return any(abs(far - near) < 1e-5 for near, far in pairwise(away))


# --- stretching ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edges", "way", "expected"),
    [
        ({"start_deg": 105}, "stay", [("closed", 0, 100), ("open", 105, 150), ("closed", 160, 200)]),
        ({"end_deg": 155}, "stay", [("closed", 0, 100), ("open", 110, 155), ("closed", 160, 200)]),
        ({"end_deg": 170}, "stay", [("closed", 0, 100), ("open", 110, 170), ("closed", 160, 200)]),
        ({"end_deg": 110}, "stay", [("closed", 0, 100), ("open", 110, 110), ("closed", 160, 200)]),
        ({"start_deg": 150}, "stay", [("closed", 0, 100), ("open", 150, 150), ("closed", 160, 200)]),
        ({"start_deg": 90}, "give", [("closed", 0, 80), ("open", 90, 150), ("closed", 160, 200)]),
        ({"end_deg": 170}, "give", [("closed", 0, 100), ("open", 110, 170), ("closed", 180, 200)]),
        ({"end_deg": 195}, "give", [("closed", 0, 100), ("open", 110, 195), ("closed", 200, 200)]),
        ({"end_deg": 230}, "give", [("closed", 0, 100), ("open", 110, 200), ("closed", 200, 200)]),
        (
            {"start_deg": 100, "end_deg": 160},
            "give",
            [("closed", 0, 90), ("open", 100, 160), ("closed", 170, 200)],
        ),
    ],
)
def test_stretch(edges: dict[str, float], way: str, expected: list[Row]) -> None:
    edited = stretch_block(one(*FOUR), ref(1), **edges, neighbours=way)
    assert rows_of(edited.project) == [*expected, ("half", 220, 240), ("closed", 260, 350)]


def test_stretch_through_0() -> None:
    project = one(("open", 350, 370), ("closed", 100, 200))
    assert rows_of(stretch_block(project, ref(1), start_deg=-20).project)[1] == ("open", 340, 370)
    assert rows_of(stretch_block(project, ref(1), end_deg=20).project)[1] == ("open", 350, 380)
    assert rows_of(stretch_block(project, ref(1), end_deg=380).project)[1] == ("open", 350, 380)
    assert rows_of(stretch_block(project, ref(1), start_deg=5).project)[0] == ("open", 5, 10)


def test_the_name_of_a_stretch() -> None:
    assert stretch_block(one(*FOUR), ref(1), end_deg=155.5).name == "Stretch Mint open to 110.0° to 155.5°"


@given(held(), neighbours)
def test_stretched_to_its_own_ends_nothing_changes(case: tuple[Project, BlockRef], way: str) -> None:
    project, own = case
    block = project.lane("mint").blocks[own.index]
    assert stretch_block(project, own, block.start_deg, block.end_deg, way).project is project


@given(held(clean_lanes), angles, angles, neighbours)
def test_stretching_loses_no_dwell(
    case: tuple[Project, BlockRef], start: float, end: float, way: str
) -> None:
    project, own = case
    edited = stretch_block(project, own, start, end, way)
    before, after = without(project, own), without(edited.project, *edited.selection)
    assert same_round(runs(before), runs(after))


def test_a_dwell_of_no_length_that_is_parted_leaves_two_blocks_that_can_be_moved() -> None:
    """Both halves are at one angle; each can be taken up afterwards and set down elsewhere."""
    stops: list[Row] = [("closed", 0, 0), ("open", 40, 60), ("closed", 80, 90), ("open", 120, 120)]
    made = place_block(one(*stops, ("closed", 150, 160), ("open", 200, 300)), ref(0), 120.0).project
    blocks = made.lanes[0].blocks
    assert len({id(block) for block in blocks}) == len(blocks)
    for index in range(len(blocks)):
        place_block(made, ref(index), 300.0)
