"""The state table: columns to blocks and back, what it refuses, and what people type and paste."""

from __future__ import annotations

from itertools import accumulate, pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from shaftscore.base.angles import TURN, Arcs
from shaftscore.base.errors import EditError
from shaftscore.edits import apply_edit, rewrite_states, write_states
from shaftscore.edits.setting_in import moves_of
from shaftscore.edits.state_table import (
    CellFault,
    Column,
    Reading,
    Timing,
    completed,
    filled,
    read_cell,
    read_column,
    read_length,
    read_level,
    read_sheet,
    read_states,
    shown_text,
    split_text,
    step_at,
    table_text,
    usual_timing,
    with_cells,
)
from shaftscore.model import Lane, MotionPoint, Project, Shaft, Stack, Window, replaced
from tests.core.edits.machines import LEVELS, Row, lane, machine, rows_of
from tests.strategies import clean_blocks, grid

C, H, O = "closed", "half", "open"  # noqa: E741 - as written in a table


def stepped(steps: int | tuple[float, ...], *lanes: Lane) -> Project:
    shaft = Shaft(turn="clockwise", speed_rpm=6.0, steps=steps)
    return replaced(machine(*(lanes or (lane(),))), shaft=shaft)


def reading(project: Project, lane_id: str = "mint") -> Reading:
    return read_states(project, project.lane(lane_id))


def written(
    steps: int | tuple[float, ...], column: Column, dwell: float | None, move: float
) -> list[tuple[str, float, float]]:
    edited = write_states(stepped(steps), {"mint": column}, {"mint": Timing(dwell, move)})
    return rows_of(edited.project)


# Columns to blocks


@pytest.mark.parametrize(
    ("column", "dwell", "move", "rows"),
    [
        # Every move across the start of its step, half before and half after.
        ((C, O, C, C), None, 20, [(O, 100, 170), (C, 190, 440)]),
        # A visit with a dwell of its own stands in the middle of its step; what is longer takes the rest.
        ((C, O, C, C), 30, 20, [(O, 120, 150), (C, 170, 460)]),
        # Where two visits meet, the move lies across the start.
        ((C, C, O, H), 30, 20, [(C, 350, 550), (O, 210, 260), (H, 280, 330)]),
        # Longer runs share the move too; None is as the step before, round the turn.
        ((None, O, None, C), 30, 20, [(C, 280, 440), (O, 100, 260)]),
        # One level is one block, from where it is given.
        ((None, O, None, None), 30, 20, [(O, 90, 450)]),
        # A momentary stop.
        ((C, O, C, C), 0, 20, [(O, 135, 135), (C, 155, 475)]),
        ((None, None, None, None), 0, 20, []),
    ],
)
def test_a_column_becomes_blocks(
    column: Column, dwell: float | None, move: float, rows: list[tuple[str, float, float]]
) -> None:
    assert sorted(written(4, column, dwell, move)) == sorted(rows)


def test_steps_need_not_be_equal() -> None:
    assert written((0.0, 90.0, 120.0, 300.0), (C, O, C, C), 10, 20) == [(O, 100, 110), (C, 130, 440)]
    assert written((10.0, 40.0), (C, O), None, 20) == [(C, 20, 30), (O, 50, 360)]


columns = st.integers(2, 24).flatmap(
    lambda count: st.lists(st.sampled_from([C, H, O, None]), min_size=count, max_size=count).map(tuple)
)
equal = st.integers(1, 24)


@st.composite
def tables(draw: st.DrawFn) -> tuple[int | tuple[float, ...], Column, Timing]:
    """Return steps, a column and a timing."""
    column = draw(columns)
    steps: int | tuple[float, ...] = len(column)
    if draw(st.booleans()):
        lengths = draw(st.lists(grid(5, 60, 10), min_size=len(column), max_size=len(column)))
        scale = 360.0 / sum(lengths)
        starts = [0.0, *accumulate(round(length * scale, 3) for length in lengths[:-1])]
        assume(starts[-1] < 359)
        steps = tuple(starts)
    dwell = draw(st.none() | grid(0, 40, 10))
    return steps, column, Timing(dwell, draw(grid(0.5, 40, 10)))


@given(tables())
def test_what_is_written_is_read_back(table: tuple[int | tuple[float, ...], Column, Timing]) -> None:
    steps, column, timing = table
    inside = isinstance(steps, int) and (timing.dwell_deg or 0) + timing.move_deg < TURN / steps
    try:
        edited = write_states(stepped(steps), {"mint": column}, {"mint": timing})
    except EditError:
        assert not inside  # no time for it: said, not written
        return
    found = reading(edited.project)
    assert not found.outgrown
    assert filled(found.column) == filled(column)
    again = write_states(edited.project, {"mint": found.column}, {"mint": found.timing})
    before, after = rows_of(edited.project), rows_of(again.project)
    assert after == [
        (level, pytest.approx(a, abs=1e-5), pytest.approx(b, abs=1e-5)) for level, a, b in before
    ]
    blocks = edited.project.lane("mint").blocks
    if len(blocks) > 1:
        gaps = moves_of(blocks)
        assert gaps == [pytest.approx(timing.move_deg, abs=5e-6)] * len(gaps)
        assert all(one.level != after.level for one, after in pairwise([*blocks, blocks[0]]))


@given(columns, st.none() | grid(0.1, 4, 10), grid(0.5, 4, 10))
def test_a_timing_within_the_steps_is_always_written_and_stands_in_them(
    column: Column, dwell: float | None, move: float
) -> None:
    edited = write_states(stepped(len(column)), {"mint": column}, {"mint": Timing(dwell, move)})
    levels = filled(column)
    blocks = edited.project.lane("mint").blocks
    for step, level in enumerate(levels):
        middle = (step + 0.5) * TURN / len(levels)
        held = [b for b in blocks if Arcs.span(b.start_deg, b.length_deg).contains(middle)]
        assert [b.level for b in held] == [level]


# What the diagram has that the table has not


@given(clean_blocks([C, H, O], least_move_deg=2), equal)
def test_no_reading_loses_timing(blocks: tuple[object, ...], count: int) -> None:
    own = Lane(id="mint", name="Mint", levels=LEVELS, blocks=blocks)  # type: ignore[arg-type]
    project = stepped(count, own)
    found = reading(project)
    if found.protected:
        with pytest.raises(EditError, match="more than the state table can say"):
            write_states(project, {"mint": found.column})
    else:
        again = rows_of(write_states(project, {"mint": found.column}).project)
        assert again == [
            (level, pytest.approx(a, abs=1e-5), pytest.approx(b, abs=1e-5))
            for level, a, b in rows_of(project)
        ]


@pytest.mark.parametrize(
    ("rows", "why", "crowded"),
    [
        (
            [(C, 0, 80), (O, 100, 110), (C, 130, 140), (H, 160, 340)],
            "step 2 holds open, closed and half",
            {1: (O, C, H)},
        ),
        ([(C, 0, 80), (O, 100, 200), (C, 230, 340)], "its moves last from 20.0° to 30.0°", {}),
        ([(C, 0, 100), (O, 90, 200), (C, 220, 340)], "two of its dwells overlap or touch", {}),
        ([(C, 0, 60)], "its dwells do not line up with the steps", {}),
    ],
)
def test_what_has_outgrown_the_table_says_why(
    rows: list[Row], why: str, crowded: dict[int, tuple[str, ...]]
) -> None:
    project = stepped(4, lane(*rows))
    found = reading(project)
    assert (found.outgrown, dict(found.crowded)) == (why, crowded)
    with pytest.raises(EditError, match=f"Mint is more than the state table can say: {why}"):
        apply_edit(project, "write_states", columns={"mint": found.column})
    again = rewrite_states(project, ["mint"])
    assert again.name == "Write Mint again from the state table"
    assert not reading(again.project).outgrown
    assert filled(reading(again.project).column) == filled(found.column)


def test_typing_keeps_each_move_of_a_lane_whose_moves_differ() -> None:
    """By hand, steps of 90°: moves 80° to 100°, 170° to 200° and 340° to 20°, of 20°, 30° and 40°.

    What changes at a step that changed before keeps its move; a new change takes the shortest one, 20°,
    half of it before its step.
    """
    rows: list[Row] = [(H, 20, 80), (O, 100, 170), (C, 200, 340)]
    project = stepped(4, lane(*rows))
    found = reading(project)
    assert (found.outgrown, found.protected) == ("its moves last from 20.0° to 40.0°", "")
    assert filled(found.column) == (H, O, C, C)
    for cells, made in (
        ({1: C}, [(H, 20, 80), (C, 100, 340)]),
        ({1: H}, [(H, 20, 170), (C, 200, 340)]),
        ({3: O}, [(H, 20, 80), (O, 100, 170), (C, 200, 260), (O, 280, 340)]),
    ):
        column = with_cells(project.lane("mint"), found, cells)
        again = write_states(project, {"mint": column}).project
        assert sorted(rows_of(again)) == sorted(made)
        assert not reading(again).protected


def test_what_has_no_place_among_moves_that_differ_is_refused() -> None:
    project = stepped(4, lane((H, 20, 80), (O, 100, 170), (C, 200, 340)))
    visit = read_cell("open, then closed", LEVELS, "Mint", C)
    column = with_cells(project.lane("mint"), reading(project), {3: visit})
    with pytest.raises(EditError, match="rewrite the lane from the table first"):
        write_states(project, {"mint": column})
    with pytest.raises(EditError, match=r"its moves last from 20\.0° to 40\.0°; rewrite the lane"):
        write_states(project, timings={"mint": Timing(None, 25.0)})


def test_lanes_without_a_program_of_their_own_have_no_cells() -> None:
    points = tuple(MotionPoint(theta_deg=deg, output_mm=deg / 36) for deg in (0.0, 120.0, 240.0))
    table = Lane(id="table", name="Table", kind="points", points=points, levels={"low": 0.0})
    rider = Lane(id="rider", name="Rider", kind="rider", disc_of="mint")
    project = stepped(4, lane((C, 10, 80), (O, 100, 350)), table, rider)
    assert reading(project, "table").protected == "moves by a table of points"
    assert reading(project, "rider").protected == "rides on Mint’s disc"
    with pytest.raises(EditError, match="Rider rides on Mint’s disc: it has no cells to write"):
        rewrite_states(project, ["rider"])


# What an edit keeps and refuses


def test_blocks_keep_what_they_carry() -> None:
    window = Window(earliest_deg=90.0, latest_deg=130.0)
    more = {"law": "cycloidal", "window": window, "min_length_deg": 5.0}
    rows: list[Row] = [(C, 190, 440, {"law": "parabolic"}), (O, 100, 170, more)]
    project = stepped(4, lane(*rows))
    edited = write_states(project, {"mint": (C, O, O, C)})
    opened, closed = edited.project.lane("mint").blocks
    assert rows_of(edited.project) == [(O, 100, 260), (C, 280, 440)]
    assert (opened.law, opened.window, opened.min_length_deg) == ("cycloidal", window, 5.0)
    assert closed.law == "parabolic"
    assert edited.name == "Write Mint in the state table"


def test_what_does_not_change_stays_the_same_object() -> None:
    project = stepped(4, lane((O, 100, 170), (C, 190, 440)), lane(own_id="rose"))
    same = write_states(project, {"mint": (C, O, C, C)}, {"rose": Timing(None, 12.0)})
    assert same.project == project
    assert same.project.lane("mint").blocks[0] is project.lane("mint").blocks[0]
    assert same.name == "Write 2 lanes in the state table"


def test_a_locked_block_never_moves() -> None:
    project = stepped(4, lane((O, 100, 170, {"locked": True}), (C, 190, 440)))
    assert write_states(project, {"mint": (C, O, C, C)}).project == project
    with pytest.raises(EditError, match=r"Mint open is locked at 100\.0°; unlock it first"):
        write_states(project, {"mint": (C, O, O, C)})


@pytest.mark.parametrize(
    ("column", "timing", "said"),
    [
        ((C, O, C), None, "a column has 4 steps, got 3"),
        ((C, O, C, "ajar"), None, '"ajar" is not one of Mint\'s levels'),
        ((C, O, C, C), Timing(None, 0.0), "a move takes more than 0°, got 0.0°"),
        (
            (C, O, H, C),
            Timing(None, 100.0),
            "no time for open near 140.0°, 10.0° short; the moves last 100.0°",
        ),
        ((C, O, C, C), Timing(100.0, 90.0), "dwells of 100.0° and moves of 90.0° reach beyond their steps"),
    ],
)
def test_what_cannot_be_written_is_refused(column: Column, timing: Timing | None, said: str) -> None:
    with pytest.raises(EditError, match=said):
        write_states(stepped(4), {"mint": column}, {"mint": timing} if timing else None)


def test_a_cell_changes_that_cell_alone_and_an_empty_lane_rests_at_its_lowest_level() -> None:
    project = stepped(4)
    first = with_cells(project.lanes[0], reading(project), {1: O})
    assert first == (C, O, C, C)
    assert with_cells(project.lanes[0], reading(project), {1: None}) == (None,) * 4
    made = write_states(project, {"mint": first}).project
    assert with_cells(made.lane("mint"), reading(made), {2: H}) == (C, O, H, C)
    assert with_cells(made.lane("mint"), reading(made), {2: None}) == (C, O, None, C)


def test_usual_timing_and_steps() -> None:
    assert usual_timing([0.0, 90.0, 180.0, 270.0]) == Timing(None, 30.0)
    assert usual_timing([0.0, 30.0, 180.0]) == Timing(None, 20.0)
    assert usual_timing([0.0, 350.0]) == Timing(None, 6.667)
    assert [step_at([10.0, 90.0], deg) for deg in (5, 10, 89, 90, 359, 361)] == [1, 0, 0, 1, 1, 1]


# What people type


@pytest.mark.parametrize(
    ("typed", "level"),
    [("open", O), (" Open ", O), ("o", O), ("CL", C), ("", None), ("h", H)],
)
def test_a_level_is_typed_by_name_or_first_letters(typed: str, level: str | None) -> None:
    assert read_level(typed, LEVELS, "Mint") == level


def test_a_level_that_is_not_there_is_explained() -> None:
    with pytest.raises(EditError, match=r'"opne" is not one of Mint\'s levels .*did you mean "open"\?'):
        read_level("opne", LEVELS, "Mint")
    with pytest.raises(EditError, match='"c" may be cup and catch of Flap; type more of it'):
        read_level("c", ["cup", "catch"], "Flap")
    assert read_level("cup", ["cupboard", "cup"], "Flap") == "cup"


@pytest.mark.parametrize(
    ("typed", "deg"),
    [("12", 12), ("12°", 12), ("0,5 s", 18), ("0.5 steps", 15), ("1 step", 30), ("", None), ("auto", None)],
)
def test_a_length_is_typed_in_any_unit(typed: str, deg: float | None) -> None:
    assert read_length(typed, step_deg=30.0, speed_rpm=6.0) == deg


@pytest.mark.parametrize("typed", ["long", "-3", "400", "2 mm", "x steps"])
def test_a_length_that_is_none_is_refused(typed: str) -> None:
    with pytest.raises(EditError):
        read_length(typed, step_deg=30.0, speed_rpm=6.0)


# Sheets


TWO = stepped(4, lane((O, 100, 170), (C, 190, 440)), lane((O, 120, 150), (C, 170, 460), own_id="rose"))


def test_a_table_is_text_and_back() -> None:
    text = table_text(TWO)
    assert text.splitlines()[:4] == ["Step\tMint\tRose", "Dwell\t\t30", "Move\t20\t20", "1\tclosed\tclosed"]
    for shown in (text, table_text(TWO, across=True), text.replace("\t", ";"), text.replace("\t", ",")):
        sheet = read_sheet(TWO, split_text(shown))
        assert sheet.faults == []
        assert write_states(TWO, sheet.columns, sheet.timings).project == TWO


def test_a_sheet_from_elsewhere_fills_an_empty_machine() -> None:
    empty = stepped(4, lane(own_id="rose"), lane())
    sheet = read_sheet(empty, split_text(table_text(TWO)))
    made = write_states(empty, sheet.columns, sheet.timings).project
    assert made.lane("mint").blocks == TWO.lane("mint").blocks
    assert made.lane("rose").blocks == TWO.lane("rose").blocks


def test_faults_of_a_sheet_name_their_cells() -> None:
    rows = "Step,mint,Rsoe\n1,opne,open\nMove,soon,3\n9,open,open"
    faults = read_sheet(TWO, split_text(rows)).faults
    assert {(fault.row, fault.column) for fault in faults} == {(1, 1), (0, 2), (2, 1), (3, 0)}
    assert CellFault(0, 2, 'there is no lane "Rsoe"; did you mean "Rose"?') in faults
    turned = read_sheet(TWO, [list(row) for row in zip(*split_text(rows), strict=True)]).faults
    assert {(fault.column, fault.row) for fault in turned} == {(f.row, f.column) for f in faults}


def test_cells_without_a_head_are_laid_from_a_place_on() -> None:
    sheet = read_sheet(TWO, split_text("open\to\nc\t"), ["mint", "rose"], 2)
    assert sheet.columns == {"mint": (C, O, O, C), "rose": (C, O, O, None)}
    over = read_sheet(TWO, split_text("open\topen\topen\nopen"), ["mint", "rose"], 3)
    assert [(f.row, f.column) for f in over.faults] == [(1, 0), (0, 2)]


def test_a_lane_that_has_outgrown_the_table_is_a_fault_of_the_sheet() -> None:
    project = stepped(4, lane((C, 0, 80), (O, 100, 200), (C, 230, 340)))
    (fault,) = read_sheet(project, split_text("Step\tMint\n1\topen\n")).faults
    assert "Mint is more than the state table can say" in fault.message


def test_steps_of_a_shaft_of_several_turns_are_of_its_own_turn() -> None:
    fast = replaced(lane(), stack="sea")
    project = replaced(stepped(4, fast), stacks=(Stack(id="main"), Stack(id="sea", turns=3)))
    made = write_states(project, {"mint": (C, O, C, C)}).project
    assert rows_of(made) == [(O, 105, 165), (C, 195, 435)]


def test_texts_are_split_as_spreadsheets_write_them() -> None:
    assert split_text('\ufeffa;b\r\n"c;d";e\r\n') == [["a", "b"], ["c;d", "e"]]
    assert split_text('a\t"b\nc"\n') == [["a", "b\nc"]]
    assert split_text("") == []
    assert split_text("open, then closed,half\nhalf,closed,THEN") == [
        ["open, then closed", "half"],
        ["half", "closed,THEN"],
    ]


def test_a_short_dwell_beside_the_steps_is_shown_where_it_stands() -> None:
    """A dwell whose two moves lie nearest to one start is still seen, in the step of its middle."""
    project = stepped(12, lane((O, 147, 155), (C, 175, 487)))
    found = reading(project)
    assert found.outgrown == "its dwells do not line up with the steps"
    assert [step for step, level in enumerate(filled(found.column)) if level == O] == [5]


# Visits within a step


def visiting(*cells: str) -> list[tuple[str, float, float]]:
    """Write cells, as they are typed, into an empty lane of 90° steps with moves of 20°."""
    project = stepped(4)
    column = read_column(cells, LEVELS, "Mint")
    return rows_of(write_states(project, {"mint": column}, {"mint": Timing(10.0, 20.0)}).project)


@pytest.mark.parametrize(
    ("cells", "rows"),
    [
        # Moves of 20°, 10° held: from 90° the move to open, held 110° to 120°, closed again from 140°.
        (("closed", "open, then closed", "closed", "closed"), [(O, 110, 120), (C, 140, 450)]),
        # Two levels in one step, and a last part left open: back to where the lane came from.
        (("c", "o > h >", "", ""), [(O, 110, 120), (H, 140, 150), (C, 170, 450)]),
        # What comes after the visit stays, and changes at the start of its step.
        (("c", "o then h", "", "c"), [(C, 280, 450), (O, 110, 120), (H, 140, 260)]),
        # A visit in each of two steps; the rest between them takes what is left.
        (("o, then c", "h, then c", "c", "c"), [(O, 20, 30), (C, 50, 90), (H, 110, 120), (C, 140, 360)]),
    ],
)
def test_a_visit_goes_on_within_its_step(
    cells: tuple[str, ...], rows: list[tuple[str, float, float]]
) -> None:
    assert sorted(visiting(*cells)) == sorted(rows)


@given(
    st.integers(3, 12).flatmap(
        lambda count: st.lists(
            st.sampled_from([C, "open, then closed", "half, then closed", "open, then half, then closed"]),
            min_size=count,
            max_size=count,
        )
    ),
    grid(0, 3, 10),
    grid(0.5, 4, 10),
)
def test_visits_are_read_back_as_they_were_typed(cells: list[str], dwell: float, move: float) -> None:
    """Lanes that return to rest in each step: every cell says what was typed; writing it changes nothing."""
    column = read_column(cells, LEVELS, "Mint")
    made = write_states(stepped(len(cells)), {"mint": column}, {"mint": Timing(dwell, move)}).project
    found = reading(made)
    assert not found.outgrown
    assert [shown_text(cell) for cell in completed(found.column)] == cells
    assert rows_of(write_states(made, {"mint": found.column}).project) == rows_of(made)


def test_editing_one_visit_leaves_the_others_where_they_stand() -> None:
    """Visits that start at different places of their steps, as a program with stagger makes them."""
    rows: list[Row] = [(O, 25, 31), (C, 51, 95), (H, 115, 121), (C, 141, 365)]
    project = stepped(4, lane(*rows))
    found = reading(project)
    texts = [shown_text(cell) for cell in completed(found.column)]
    assert texts == ["open, then closed", "half, then closed", "closed", "closed"]
    typed = read_cell("o, then", LEVELS, "Mint", "closed")
    made = write_states(project, {"mint": with_cells(project.lanes[0], found, {2: typed})}).project
    assert rows_of(made) == [*rows[:3], (C, 141, 185), (O, 205, 211), (C, 231, 365)]
    gone = with_cells(made.lanes[0], reading(made), {0: "closed"})
    left = write_states(made, {"mint": gone}).project
    assert rows_of(left) == [(H, 115, 121), (C, 141, 185), (O, 205, 211), (C, 231, 455)]
    longer = write_states(made, timings={"mint": Timing(8.0, 20.0)}).project
    assert [b - a for level, a, b in rows_of(longer) if level != C] == [8, 8, 8]


def test_visits_that_return_late_are_read_too() -> None:
    """Steps of 90°: back at rest 7° and 5° into the next step, which visits again."""
    rows: list[Row] = [(O, 63, 73), (C, 97, 120), (H, 140, 165), (C, 185, 403)]
    project = stepped(4, lane(*rows))
    found = reading(project)
    texts = [shown_text(cell) for cell in completed(found.column)]
    assert texts == ["open, then closed", "half, then closed", "closed", "closed"]
    assert rows_of(write_states(project, {"mint": found.column}).project) == rows_of(project)


def test_a_visit_that_says_too_little_is_explained() -> None:
    with pytest.raises(EditError, match="leaves a level open; write it as in: closed, then half"):
        read_cell("open, then", LEVELS, "Mint")
    with pytest.raises(EditError, match="names the same level twice in a row"):
        read_cell("open, then open", LEVELS, "Mint")
    with pytest.raises(EditError, match='"ajar" is not one of'):
        read_cell("ajar, then open", LEVELS, "Mint")
