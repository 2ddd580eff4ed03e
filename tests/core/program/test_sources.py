"""What frames are made from: truth tables, sequences, text art, images and pasted cells."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shaftscore.base.errors import EditError
from shaftscore.model import LaneGrid, Project, Shaft
from shaftscore.program.expressions import MOST_DEPTH, read_expression
from shaftscore.program.fonts import FONTS
from shaftscore.program.frames import Frames, ProgramFrame
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.pasted import frames_of_cells
from shaftscore.program.pictures import art_of, frames_of_pixels, frames_of_text, tiles_of
from shaftscore.program.present import draft_of
from shaftscore.program.sequences import CountingSequence, frames_of_sequence, read_numbers
from shaftscore.program.truth import contradictions_of, frames_of_truth, read_truth_table
from tests.machines import lane, machine
from tests.spice_bar import painted_draft, spice_bar


def switches(count: int, steps: int = 8) -> tuple[Project, ProgramDraft]:
    """Return a machine of lanes s0, s1, ... in a row that are off or on through whole steps."""
    lanes = [lane(f"s{n}", levels={"off": 0.0, "on": 10.0}) for n in range(count)]
    project = machine(*lanes, shaft=Shaft(turn="clockwise", speed_rpm=5.0, steps=steps))
    return project, draft_of(project)


def matrix(rows: int, columns: int, steps: int = 8) -> tuple[Project, ProgramDraft]:
    """Return lanes p<row>_<column> in a grid."""
    names = [[f"p{row}_{column}" for column in range(columns)] for row in range(rows)]
    lanes = [lane(name, levels={"off": 0.0, "on": 10.0}) for row in names for name in row]
    project = machine(*lanes, shaft=Shaft(turn="clockwise", speed_rpm=5.0, steps=steps))
    grid = LaneGrid(rows=rows, columns=columns, cells=tuple(map(tuple, names)))
    return project, replace(draft_of(project), grid=grid)


def ons(frames: Frames, draft: ProgramDraft) -> list[str]:
    """Return for each frame the lanes of the grid as 1 and 0, in its order."""
    return ["".join("01"[own in frame.cells] for own in draft.grid.lanes) for frame in frames]


def art(frame: ProgramFrame, draft: ProgramDraft) -> list[str]:
    return ["".join("#" if own in frame.cells else "." for own in row) for row in draft.grid.cells]


# Truth tables

TABLE = """p q a1
0 0 rest
0 1 l
1 0 right
1 1 0
"""


def test_a_truth_table_runs_through_the_steps() -> None:
    """p is the higher digit: 00, 01, 10, 11, and again."""
    bar = spice_bar()
    draft = replace(painted_draft(bar), frames=tuple(ProgramFrame() for _ in range(8)))
    table = read_truth_table(bar, draft, TABLE + "B2 left = p and not q\nc3 = q\nq: 0 0 1 1")
    assert (table.inputs, table.faults) == (("p", "q"), ())
    frames = frames_of_truth(table, draft)
    assert [frame.level("a1") for frame in frames[:4]] == [None, "right", "left", None]
    assert [frame.level("b2") for frame in frames] == [None, "left", None, None] * 2
    assert [frame.level("c3") for frame in frames] == [None, None, "right", "right"] * 2


def test_rest_is_painted_for_a_lane_that_would_stay_where_it_is() -> None:
    bar = spice_bar()
    draft = replace(painted_draft(bar), frames=tuple(ProgramFrame() for _ in range(8)))
    text = "p A1\n0 rest\n1 left"
    stays = draft.with_meaning(("a1",), kind="stay")
    frames = frames_of_truth(read_truth_table(bar, stays, text), stays)
    assert [frame.level("a1") for frame in frames] == ["rest", "left"] * 4
    frames = frames_of_truth(read_truth_table(bar, draft, text), draft)
    assert [frame.level("a1") for frame in frames] == [None, "left"] * 4


def test_contradictions_are_marked_on_both_lines() -> None:
    bar = spice_bar()
    draft = painted_draft(bar)
    table = read_truth_table(bar, draft, "p q A1\n0 - left\n0 1 right\n1 - right\nA2 = p\nA2 left = p and q")
    found = contradictions_of(table)
    assert [fault.line for fault in found] == [2, 3, 5, 6]
    assert found[0].message == "says left, line 3 says right for p = 0, q = 1"
    assert found[1].message == "says right, line 2 says left for p = 0, q = 1"
    with pytest.raises(EditError, match="line 2: says left"):
        frames_of_truth(table, draft)


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("p q A1\n0 1", "line 2: the head has 3 columns, this row has 2"),
        ("p q A1\n0 2 left", 'line 2: q is 0, 1 or -, got "2"'),
        ("p A1\n0 up", 'line 2: "up" is not one of A1'),
        ("p p A1", 'line 1: "p" is in the head twice'),
        ("Z9 = p", 'line 1: there is no lane "Z9" with a place in the grid'),
        ("A1 = A2", 'line 1: "A2" is a lane; an expression is made of inputs'),
        ("A1 = p and", 'line 1: an input is missing after "and"'),
        ("A1 = (p or q", "line 1: a closing bracket is missing"),
        ("A1 = p) or q", "line 1: a bracket too many"),
        ("A1 = p q", 'line 1: and, or or xor is missing before "q"'),
        ("A1 = p + q", 'line 1: "+" is not understood'),
        ("A1 =", "line 1: an expression is missing"),
        ("p: 0 1 2", "line 1: p runs through 0 and 1, got 0 1 2"),
        ("1p A1", 'line 1: "1p" is neither a lane'),
        ("flap = p", 'line 1: there is no lane "flap" with a place'),
        ("A1 = " + " or ".join(f"i{n}" for n in range(11)), "line 1: 10 inputs are the most; i10"),
        ("", "the table has no rows"),
    ],
)
def test_what_is_wrong_is_said_with_its_line(text: str, fault: str) -> None:
    bar = spice_bar()
    draft = painted_draft(bar)
    with pytest.raises(EditError) as error:
        frames_of_truth(read_truth_table(bar, draft, text), draft)
    assert fault in str(error.value)


def test_nothing_typed_is_ever_run_and_depth_is_bounded() -> None:
    for text in ("__import__('os')", "p.q", "p if q else r", "lambda: 0", "p\x00"):
        with pytest.raises(EditError):
            read_expression(text)
    with pytest.raises(EditError, match="nested more than"):
        read_expression("(" * (MOST_DEPTH + 1) + "p" + ")" * (MOST_DEPTH + 1))
    with pytest.raises(EditError, match="nested more than"):
        read_expression("not " * (MOST_DEPTH + 1) + "p")
    assert not read_expression("not " * (MOST_DEPTH - 1) + "p").value({"p": True})


# Sequences


@pytest.mark.parametrize(
    ("sequence", "shown"),
    [
        (CountingSequence("up", "binary"), ["000", "100", "010", "110", "001", "101", "011", "111"]),
        (CountingSequence("up", "binary", lowest_first=False), ["000", "001", "010", "011", "100", "101"]),
        (CountingSequence("up", "binary", first=6, increment=3), ["011", "100", "001", "111", "010"]),
        (CountingSequence("up", "binary", first=0, increment=-1), ["000", "111", "011"]),
        (CountingSequence("up", "gray", lowest_first=False), ["000", "001", "011", "010", "110", "111"]),
        (CountingSequence("up", "one"), ["100", "010", "001", "100"]),
        (CountingSequence("up-down", "one"), ["100", "010", "001", "010", "100", "010"]),
        (CountingSequence("list", "binary", numbers=(5, 0, 7)), ["101", "000", "111", "101"]),
    ],
)
def test_sequences_count(sequence: CountingSequence, shown: list[str]) -> None:
    """Counted by hand; lanes from the lowest digit unless said otherwise."""
    project, draft = switches(3)
    assert ons(frames_of_sequence(project, draft, sequence), draft)[: len(shown)] == shown


def test_digits_are_drawn_into_the_grid() -> None:
    project, draft = matrix(7, 9, steps=3)
    two = frames_of_sequence(project, draft, CountingSequence("list", "4x7", numbers=(10, 7, 42)))
    assert art(two[0], draft) == [
        "..#...##.",
        ".##..#..#",
        "..#..#..#",
        "..#..#..#",
        "..#..#..#",
        "..#..#..#",
        ".###..##.",
    ]
    assert {row[:5] for row in art(two[1], draft)} == {"....."}
    zeros = CountingSequence("up", "3x5", first=9, increment=1, leading_zeros=True)
    shown = frames_of_sequence(project, draft, zeros)
    assert [row[:7] for row in art(shown[0], draft)[:5]] == [
        "###.###",
        "#.#.#.#",
        "#.#.###",
        "#.#...#",
        "###.###",
    ]
    small, own = matrix(3, 4)
    with pytest.raises(EditError, match="a digit takes 7 rows and 5 columns; the grid has 3 and 4"):
        frames_of_sequence(small, own, CountingSequence("up", "5x7"))
    with pytest.raises(EditError, match="100 cannot be shown; the lanes show 0 to 99"):
        frames_of_sequence(project, draft, CountingSequence("list", "4x7", numbers=(100,)))


def test_the_digits_of_a_font_differ_and_fill_their_box() -> None:
    for name, font in FONTS.items():
        assert name == f"{font.columns}x{font.rows}"
        assert len(set(font.digits)) == len(font.digits) == 10
        assert {len(row) for digit in font.digits for row in digit} == {font.columns}
        assert all(set("".join(digit)) == {"#", "."} and "#" in digit[0] + digit[-1] for digit in font.digits)


def test_segments_are_taken_by_place_where_lanes_sit_as_a_digit_is_drawn() -> None:
    """A 1 is the two segments on the right, whichever order the lanes have."""
    project, draft = matrix(5, 3, steps=10)
    taken = ("p0_1", "p1_0", "p1_2", "p2_1", "p3_0", "p3_2", "p4_1")
    cells = tuple(tuple(own if own in taken else None for own in row) for row in draft.grid.cells)
    drawn = replace(draft, grid=LaneGrid(rows=5, columns=3, cells=cells))
    frames = frames_of_sequence(project, drawn, CountingSequence("up", "segments"))
    assert sorted(frames[1].cells) == ["p1_2", "p3_2"]
    assert sorted(frames[7].cells) == ["p0_1", "p1_2", "p3_2"]
    with pytest.raises(EditError, match="seven lanes a digit; 15 lanes have a place"):
        frames_of_sequence(project, draft, CountingSequence("up", "segments"))


def test_numbers_are_read() -> None:
    assert read_numbers("3, 1 4;1") == (3, 1, 4, 1)
    for text, why in (("", "missing"), ("3 x", '"x" is not'), ("-1", '"-1" is not'), ("9" * 30, "is not")):
        with pytest.raises(EditError, match=why):
            read_numbers(text)


# Text art and images


def test_text_art_becomes_frames() -> None:
    bar = spice_bar()
    draft = painted_draft(bar)
    frames = frames_of_text(bar, draft, "1..3\n.#\n\n\n....\n....\n  2x\n")
    assert [dict(frame.cells) for frame in frames] == [
        {"a1": "left", "a4": "right", "b2": "right"},
        {"c4": "right"},
    ]
    assert dict(frames_of_text(bar, draft, "0010")[0].cells) == {"a3": "right"}
    assert art_of(bar, draft, frames[0]) == "1..3\n.3..\n...."
    assert frames_of_text(bar, draft, art_of(bar, draft, frames[0])) == [frames[0]]
    for text, why in (
        ("?", '"?" is not a mark'),
        (".....", "1 rows and 5 columns; the grid has 3 and 4"),
        ("\n\n", "no picture"),
    ):
        with pytest.raises(EditError) as error:
            frames_of_text(bar, draft, text)
        assert why in str(error.value)


def test_images_are_cut_into_frames() -> None:
    """Two frames of 4 x 3 cells side by side, each cell 5 pixels; dark cells are painted."""
    bar = spice_bar()
    draft = painted_draft(bar)
    dark = {(0, 1), (2, 3), (1, 4), (2, 7)}  # row, column over both frames
    pixels = [[0.1 if (y // 5, x // 5) in dark else 0.9 for x in range(40)] for y in range(15)]
    frames = frames_of_pixels(bar, draft, [pixels])
    assert [sorted(frame.cells) for frame in frames] == [["a2", "c4"], ["b1", "c4"]]
    inverse = frames_of_pixels(bar, draft, [pixels], light_on_dark=True)
    assert [len(frame.cells) for frame in inverse] == [10, 10]
    with pytest.raises(EditError, match="3 x 15 pixels; the grid has 4 x 3 places"):
        frames_of_pixels(bar, draft, [[line[:3] for line in pixels]])


@pytest.mark.parametrize(
    ("size", "tiles"),
    [((40, 15), (2, 1)), ((20, 15), (1, 1)), ((20, 30), (1, 2)), ((60, 30), (3, 2)), ((21, 15), (1, 1))],
)
def test_an_image_holds_as_many_frames_as_have_the_shape_of_the_grid(
    size: tuple[int, int], tiles: tuple[int, int]
) -> None:
    assert tiles_of(*size, rows=3, columns=4) == tiles


# Pasted cells


def test_pasted_cells_become_frames() -> None:
    bar = spice_bar()
    draft = replace(painted_draft(bar), frames=tuple(ProgramFrame() for _ in range(8)))
    rows = ["Step\tA1\tC4", *(f"{n}\t{'left' if n == 2 else 'rest'}\trest" for n in range(1, 9))]
    frames = frames_of_cells(bar, draft, "\n".join(rows))
    assert [dict(frame.cells) for frame in frames] == [{}, {"a1": "left"}, *[{}] * 6]
    with pytest.raises(EditError, match="row 2, column 2"):
        frames_of_cells(bar, draft, "Step\tA1\n1\tup")
    with pytest.raises(EditError, match="as many frames as the shaft has steps, 8"):
        frames_of_cells(bar, replace(draft, frames=draft.frames[:3]), "\n".join(rows))
