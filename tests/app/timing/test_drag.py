"""The story of a drag, in angles and millimetres, without a window."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs, ahead, wrap
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.checks.free_zones import copy_zones
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Lane, Project, Stack
from shaftscore.solution import solve
from shaftscore_app.timing.drag import Drag, DragHabits, HeldBlock, Pointer, Press
from shaftscore_app.timing.pointing import _zones
from shaftscore_app.timing.snap import SnapKind, Target, marks
from tests.app.timing.machines import block, gate, index_of, machine, two_gates

PROJECT = two_gates()
MINT = BlockRef("mint", index_of(PROJECT, "mint", "open"))
FAR = Pointer(deg=205.0, mm=10.0, way_px=0.0, px_per_deg=2.5)
NO_MARKS = DragHabits(grid_deg=0.5)


def taken(
    project: Project = PROJECT,
    ref: BlockRef = MINT,
    *,
    grip: Grip = Grip.WHOLE,
    at: float = 205.0,
    mm: float = 10.0,
    targets: tuple[Target, ...] = (),
    habits: DragHabits = NO_MARKS,
) -> Drag:
    return Drag(project, Press(ref, grip, at, mm), habits, targets)


def to(deg: float, mm: float = 10.0, *, free: bool = False, flip: bool = False) -> Pointer:
    return Pointer(deg, mm, way_px=50.0, px_per_deg=2.5, free=free, flip=flip)


def moved(drag: Drag, pointer: Pointer) -> HeldBlock:
    held = drag.move(pointer)
    assert held is not None
    return held


def test_a_press_is_no_drag_before_4_px() -> None:
    drag = taken()
    assert drag.move(replace(FAR, deg=206.4, way_px=3.9)) is None
    assert drag.release() is None
    drag = taken()
    assert drag.move(replace(FAR, deg=206.6, way_px=4.0)) is not None


def test_the_angle_between_pointer_and_start_is_kept() -> None:
    held = moved(taken(at=205.0), to(235.0))
    assert (held.start_deg, held.end_deg, held.moved_deg) == (230.0, 242.0, 30.0)
    held = moved(taken(at=211.0), to(241.0))
    assert held.start_deg == 230.0


def test_a_drop_gives_one_edit_named_by_where_the_block_stands() -> None:
    drag = taken()
    for deg in (206.0, 220.0, 235.0):
        moved(drag, to(deg))
    edited = drag.release()
    assert edited is not None
    assert edited.name == "Move Mint open to 230.0°"
    assert edited.selection == (BlockRef("mint", index_of(edited.project, "mint", "open")),)
    assert drag.release() is None


def test_each_preview_is_an_edit_of_the_project_at_the_press() -> None:
    drag = taken()
    moved(drag, to(350.0))
    wandered = moved(drag, to(235.0))
    straight = moved(taken(), to(235.0))
    assert wandered.edited == straight.edited


def test_a_drop_where_it_began_gives_nothing() -> None:
    drag = taken()
    assert moved(drag, to(235.0)).changed
    held = moved(drag, to(205.1))
    assert (held.changed, held.start_deg, held.moved_deg) == (False, 200.0, 0.0)
    assert drag.release() is None


def test_cancel_gives_nothing_and_the_drag_is_over() -> None:
    drag = taken()
    moved(drag, to(235.0))
    drag.cancel()
    assert drag.release() is None
    assert drag.move(to(240.0)) is None


def test_a_block_is_dragged_through_360_as_often_as_one_likes() -> None:
    drag = taken()
    once = moved(drag, to(205.0 + 170.0))
    assert (wrap(once.start_deg), once.moved_deg) == (10.0, 170.0)
    twice = moved(drag, to(205.0 + 530.0))
    assert twice.start_deg == 10.0
    back = moved(drag, to(205.0 - 250.0))
    assert wrap(back.start_deg) == 310.0
    edited = drag.release()
    assert edited is not None
    assert edited.name == "Move Mint open to 310.0°"


@given(st.integers(-4000, 4000), st.integers(-3, 3))
def test_whole_turns_of_the_pointer_do_not_matter(quarters: int, turns: int) -> None:
    way = quarters / 4 + 0.1  # never half way between two lines of the grid
    here = moved(taken(), to(205.0 + way))
    there = moved(taken(), to(205.0 + way + 360.0 * turns))
    assert wrap(there.start_deg) == pytest.approx(wrap(here.start_deg), abs=1e-6)
    assert there.edited == here.edited


@given(st.floats(0, 359.5), st.floats(-720, 720))
def test_turning_the_machine_turns_the_drag(turn: float, way: float) -> None:
    turn, way = round(turn * 2) / 2, round(way * 2) / 2
    project = two_gates(wrap(60.0 + turn), wrap(200.0 + turn))
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    here = moved(taken(), to(205.0 + way))
    there = moved(taken(project, ref, at=205.0 + turn), to(205.0 + turn + way))
    assert wrap(there.start_deg - here.start_deg) == pytest.approx(turn, abs=1e-6)
    assert there.changed == here.changed


def test_the_moves_keep_their_length_and_the_neighbour_gives() -> None:
    held = moved(taken(), to(215.0))
    assert held.edited is not None
    blocks = held.edited.project.lane("mint").blocks
    closed = next(made for made in blocks if made.level == "closed")
    assert (closed.start_deg, closed.end_deg) == (246.0, 546.0)


def test_shift_leaves_the_neighbours_and_the_setting_turns_it_round() -> None:
    def closed_start(*, flip: bool, moves_keep: bool) -> float:
        habits = DragHabits(moves_keep=moves_keep)
        held = moved(taken(habits=habits), to(215.0, flip=flip))
        assert held.edited is not None
        return next(b.start_deg for b in held.edited.project.lane("mint").blocks if b.level == "closed")

    assert closed_start(flip=True, moves_keep=True) == 236.0
    assert closed_start(flip=False, moves_keep=True) == 246.0
    assert closed_start(flip=False, moves_keep=False) == 236.0
    assert closed_start(flip=True, moves_keep=False) == 246.0


@pytest.mark.parametrize(
    ("mm", "level"), [(10.0, "open"), (5.1, "open"), (4.9, "closed"), (-3.0, "closed"), (14.0, "open")]
)
def test_the_level_changes_half_way(mm: float, level: str) -> None:
    assert moved(taken(), to(206.0, mm)).level == level


def test_the_height_between_pointer_and_level_is_kept() -> None:
    drag = taken(mm=7.0)
    assert moved(drag, to(205.0, 2.1)).level == "open"
    assert moved(drag, to(205.0, 1.9)).level == "closed"


def test_an_edge_is_stretched_and_the_other_stays() -> None:
    end = moved(taken(grip=Grip.END, at=212.0), to(222.0))
    assert (end.start_deg, end.end_deg) == (200.0, 222.0)
    start = moved(taken(grip=Grip.START, at=200.0), to(190.0))
    assert (start.start_deg, start.end_deg) == (190.0, 212.0)
    assert start.edited is not None
    assert start.edited.name == "Stretch Mint open to 190.0° to 212.0°"


def test_an_edge_stops_where_nothing_is_left_of_the_block() -> None:
    end = moved(taken(grip=Grip.END, at=212.0), to(150.0))
    assert (end.start_deg, end.end_deg) == (200.0, 200.0)
    start = moved(taken(grip=Grip.START, at=200.0), to(250.0))
    assert (start.start_deg, start.end_deg) == (212.0, 212.0)


def test_an_edge_does_not_change_the_level() -> None:
    assert moved(taken(grip=Grip.END, at=212.0), to(222.0, 0.0)).level == "open"


def test_alt_leaves_grid_and_marks() -> None:
    target = (Target(SnapKind.MARK, 230.0, "step"),)
    drag = taken(targets=target)
    assert moved(drag, to(234.0)).start_deg == 230.0
    assert moved(drag, to(234.04, free=True)).start_deg == pytest.approx(229.0)
    assert moved(drag, to(234.26, free=True)).start_deg == pytest.approx(229.3)
    off = taken(targets=target, habits=DragHabits(snapping=False))
    assert moved(off, to(234.26)).start_deg == pytest.approx(229.3)


def test_the_grid_rounds_the_edge_that_moves() -> None:
    assert moved(taken(), to(215.2)).start_deg == 210.0
    assert moved(taken(habits=DragHabits(grid_deg=5.0)), to(218.0)).start_deg == 215.0
    assert moved(taken(grip=Grip.END, at=212.0), to(222.3)).end_deg == 222.5


def test_a_mark_holds_an_edge_and_says_why() -> None:
    held = moved(taken(targets=marks(PROJECT, "mint")), to(216.0))
    assert held.start_deg == 210.0
    assert held.hold is not None
    assert (held.hold.grip, held.hold.target.words) == (Grip.START, "step 8")


def test_the_end_of_a_free_zone_draws_the_block_once_zones_are_known() -> None:
    zones = {"open": Arcs.of([(231.3, 40.0)]), "closed": Arcs.empty()}
    asked: list[str] = []

    def free(level: str) -> Arcs:
        asked.append(level)
        return zones[level]

    drag = Drag(PROJECT, Press(MINT, Grip.WHOLE, 205.0, 10.0), NO_MARKS, (), free)
    held = moved(drag, to(234.0))
    assert held.start_deg == pytest.approx(231.3)
    assert held.hold is not None
    assert held.hold.target.words == "free from here"
    moved(drag, to(236.0))
    assert asked == ["open"]
    assert drag.free_starts("closed") == Arcs.empty()


def test_a_locked_block_does_not_move() -> None:
    edited = apply_edit(PROJECT, "set_locked", refs=(MINT,), locked=True)
    drag = taken(edited.project)
    assert drag.move(to(235.0)) is None
    assert drag.release() is None


def test_on_a_stack_that_turns_three_times_the_block_goes_three_times_as_far() -> None:
    stacks = (Stack(id="main"), Stack(id="fast", turns=3))
    project = machine(gate("Mint", 200.0, stack="fast"), stacks=stacks)
    ref = BlockRef("mint", index_of(project, "mint", "open"))
    held = moved(taken(project, ref, at=68.0), to(78.0))
    assert (held.start_deg, held.moved_deg) == (230.0, 30.0)


def test_a_block_between_two_levels_stays_between_them_and_the_ring_goes() -> None:
    lane = Lane(
        id="flap",
        name="Flap",
        levels={"shut": 0.0, "cup": 8.0, "tray": 16.0},
        blocks=(block("shut", 0, 60), block("cup", 90, 120), block("tray", 150, 300)),
    )
    project = machine(lane)
    ref = BlockRef("flap", 1)
    far = Target(SnapKind.MARK, 290.0, "far")
    held = moved(taken(project, ref, at=100.0, mm=8.0, targets=(far,)), to(300.0, 8.0))
    assert held.edited is not None
    start = held.edited.project.lane("flap").blocks[held.ref.index].start_deg
    assert 60.0 < start < 280.0
    assert held.start_deg == start
    assert held.hold is None


@given(
    st.lists(st.tuples(st.floats(-400, 800), st.floats(-5, 15), st.booleans(), st.booleans()), max_size=12),
    st.sampled_from(list(Grip)),
)
def test_any_story_ends_in_a_sound_project_or_none(
    story: list[tuple[float, float, bool, bool]], grip: Grip
) -> None:
    drag = taken(grip=grip, targets=marks(PROJECT, "mint", 290.0))
    held = None
    for deg, mm, free, flip in story:
        held = moved(drag, to(deg, mm, free=free, flip=flip))
    edited = drag.release()
    assert (edited is None) == (held is None or not held.changed)
    if edited is not None and held is not None:
        assert edited.project != PROJECT
        assert edited.project.lane("assam") is PROJECT.lane("assam")
        made = edited.project.lane("mint").blocks[held.ref.index]
        assert (made.level, made.start_deg, made.end_deg) == (held.level, held.start_deg, held.end_deg)
        if grip is Grip.WHOLE:
            assert ahead(0.0, made.length_deg) == pytest.approx(12.0, abs=1e-5)


# Several blocks, and copies

ASSAM = BlockRef("assam", index_of(PROJECT, "assam", "open"))


def grouped(*, copies: bool = False, ref: BlockRef = MINT, project: Project = PROJECT) -> Drag:
    press = Press(ref, Grip.WHOLE, 205.0, 10.0, (ASSAM, MINT), copies=copies)
    return Drag(project, press, NO_MARKS)


def starts(project: Project, lane_id: str, level: str = "open") -> list[float]:
    return [made.start_deg for made in project.lane(lane_id).blocks if made.level == level]


@given(way=st.integers(-300, 300))
def test_several_blocks_keep_their_times_to_each_other(way: int) -> None:
    drag = grouped()
    held = moved(drag, to(205.0 + way))
    if way == 0:
        assert held.edited is None
        return
    assert held.edited is not None
    (assam,), (mint,) = (starts(held.edited.project, name) for name in ("assam", "mint"))
    assert ahead(assam, mint) == pytest.approx(140.0)
    assert mint == pytest.approx(wrap(200.0 + way))
    edited = drag.release()
    assert edited is held.edited
    assert [ref.lane_id for ref in edited.selection] == ["assam", "mint"]


def three_levels(name: str, cup_locked: bool = False) -> Lane:
    return Lane(
        id=name,
        name=name,
        levels={"shut": 0.0, "cup": 8.0, "tray": 16.0},
        blocks=(block("cup", 60, 100, locked=cup_locked), block("tray", 130, 180), block("shut", 220, 380)),
    )


CUPS = (BlockRef("mint", MINT.index), BlockRef("rear", 0), BlockRef("front", 0))
"""The first is of a lane of two levels, and at the upper one."""


def lifted(*, mm: float, deg: float = 80.0, locked: bool = False) -> tuple[Drag, HeldBlock]:
    """Take the cups of two lanes of three levels, with a gate that is open, by the front one."""
    project = machine(three_levels("front"), three_levels("rear", locked), gate("Mint", 200.0), gap_deg=None)
    drag = Drag(project, Press(CUPS[2], Grip.WHOLE, 80.0, 8.0, CUPS), NO_MARKS)
    return drag, moved(drag, to(deg, mm))


def levels_at(held: HeldBlock) -> list[tuple[str, float]]:
    """Return level and start of each selected block."""
    assert held.edited is not None
    found = [held.edited.project.lane(ref.lane_id).blocks[ref.index] for ref in held.edited.selection]
    return [(made.level, made.start_deg) for made in found]


def test_several_blocks_go_up_by_as_many_levels_each_in_its_own_lane() -> None:
    drag, held = lifted(mm=16.0)
    assert (held.level, held.keeping) == ("tray", 1)
    assert levels_at(held) == [("open", 200.0), ("tray", 60.0), ("tray", 60.0)]
    edited = drag.release()
    assert edited is held.edited
    assert edited.name == "Change the level of 2 blocks"


def test_several_blocks_go_down_and_none_keeps_its_level_that_has_another() -> None:
    _, held = lifted(mm=0.0)
    assert (held.level, held.keeping) == ("shut", 0)
    assert [level for level, _ in levels_at(held)] == ["closed", "shut", "shut"]


def test_several_blocks_go_to_another_level_and_sideways_in_one_step() -> None:
    drag, held = lifted(mm=16.0, deg=84.0)
    assert levels_at(held) == [("open", 204.0), ("tray", 64.0), ("tray", 64.0)]
    assert (held.start_deg, held.moved_deg) == (64.0, 4.0)
    edited = drag.release()
    assert edited is not None
    assert edited.name == "Move 3 blocks by +4.0° to another level"


def test_a_locked_one_of_several_keeps_its_level_and_is_not_counted_twice() -> None:
    _, held = lifted(mm=16.0, locked=True)
    assert levels_at(held) == [("open", 200.0), ("cup", 60.0), ("tray", 60.0)]
    assert held.keeping == 1


def test_several_blocks_back_at_their_level_are_no_step() -> None:
    drag, _ = lifted(mm=16.0)
    assert moved(drag, to(80.0, 8.0)).edited is None
    assert drag.release() is None


def test_copies_stay_at_their_level() -> None:
    held = moved(grouped(copies=True), to(235.0, 0.0))
    assert held.level == "open"


def test_what_is_locked_of_several_stays() -> None:
    project = apply_edit(PROJECT, "set_locked", refs=(ASSAM,), locked=True).project
    held = moved(grouped(project=project), to(235.0))
    assert held.edited is not None
    assert starts(held.edited.project, "assam") == [60.0]
    assert starts(held.edited.project, "mint") == [230.0]


@given(way=st.integers(30, 100))
def test_copies_go_and_what_was_stays(way: int) -> None:
    drag = grouped(copies=True)
    held = moved(drag, to(205.0 + way))
    assert held.edited is not None
    for name, start in (("assam", 60.0), ("mint", 200.0)):
        assert sorted(starts(held.edited.project, name)) == [start, start + way]
    assert held.start_deg == 200.0 + way
    copied = held.edited.project.lane(held.ref.lane_id).blocks[held.ref.index]
    assert copied.start_deg == 200.0 + way


def test_copies_of_several_blocks_have_their_free_zones() -> None:
    press = Press(MINT, Grip.WHOLE, 205.0, 10.0, (ASSAM, MINT), copies=True)
    solution = solve(PROJECT)
    drag = Drag(PROJECT, press, NO_MARKS, zones=partial(_zones, solution, press))
    held = moved(drag, to(235.0))
    ways = copy_zones(solution, (ASSAM, MINT))
    assert held.zones is not None
    assert not ways.is_empty
    assert held.zones.covers(ways.shift(200.0))
    assert ways.shift(200.0).covers(held.zones)


def test_copies_back_home_are_none() -> None:
    drag = grouped(copies=True)
    moved(drag, to(260.0))
    assert moved(drag, to(205.0)).edited is None
    assert drag.release() is None


def test_a_locked_block_can_be_copied() -> None:
    project = apply_edit(PROJECT, "set_locked", refs=(MINT,), locked=True).project
    assert grouped(project=project).move(to(260.0)) is None
    assert grouped(project=project, copies=True).move(to(260.0)) is not None
