from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs, turn_to
from shaftscore.make.drawing.timing.hits import Grip
from shaftscore.model import Stack
from shaftscore_app.timing.snap import Hold, SnapKind, Target, free_shift, marks, snap, zone_ends
from tests.app.timing.machines import gate, machine

PX = 2.0  # px per degree: 6 px are 3 degrees, 8 px are 4 degrees, the 2 px that hold are 1 degree
STEP = Target(SnapKind.MARK, 150.0, "step 6")
ZONE = Target(SnapKind.ZONE, 150.0, "free from here", (Grip.START,))


def edges(start: float, length: float = 12.0) -> dict[Grip, float]:
    return {Grip.START: start, Grip.END: start + length}


def snapped(start: float, *targets: Target, held: Hold | None = None) -> tuple[float, str, Grip | None]:
    found = snap(edges(start), targets, PX, 0.5, held=held)
    why = found.hold.target.words if found.hold else ""
    return round(start + found.shift_deg, 9), why, found.hold.grip if found.hold else None


@pytest.mark.parametrize(
    ("start", "to", "grip"),
    [
        (147.0, 150.0, Grip.START),
        (146.9, 147.0, None),
        (152.9, 150.0, Grip.START),
        (135.2, 138.0, Grip.END),
        (140.9, 138.0, Grip.END),
        (143.0, 143.0, None),
        (143.26, 143.5, None),
    ],
)
def test_a_mark_within_6_px_draws_the_nearer_edge(start: float, to: float, grip: Grip | None) -> None:
    place, _, holds = snapped(start, STEP)
    assert (place, holds) == (to, grip)


def test_the_end_of_a_free_zone_reaches_8_px_and_wins_over_a_nearer_mark() -> None:
    assert snapped(146.0, ZONE)[:2] == (150.0, "free from here")
    assert snapped(145.9, ZONE)[1] == ""
    near = Target(SnapKind.MARK, 147.0, "cursor")
    assert snapped(146.5, near, ZONE)[:2] == (150.0, "free from here")


def test_what_holds_keeps_holding_2_px_beyond_its_reach() -> None:
    held = Hold(STEP, Grip.START)
    assert snapped(146.0, STEP, held=held)[:2] == (150.0, "step 6")
    assert snapped(145.9, STEP, held=held)[1] == ""
    assert snapped(146.0, STEP)[1] == ""
    gone = Hold(Target(SnapKind.MARK, 200.0, "cursor"), Grip.START)
    assert snapped(199.0, STEP, held=gone)[1] == ""


def test_what_holds_is_not_left_for_a_nearer_mark() -> None:
    other = Target(SnapKind.MARK, 147.0, "cursor")
    assert snapped(147.4, STEP, other, held=Hold(STEP, Grip.START))[0] == 150.0
    assert snapped(147.4, STEP, other)[0] == 147.0


def test_the_grid_has_the_old_place_too() -> None:
    home = edges(139.7)
    assert 139.8 + snap(edges(139.8), (), 100.0, 0.5, origin=home).shift_deg == pytest.approx(139.7)
    assert 139.9 + snap(edges(139.9), (), 100.0, 0.5, origin=home).shift_deg == pytest.approx(140.0)
    assert 139.94 + free_shift(edges(139.94), {}) == pytest.approx(139.9)


def test_within_2_px_of_the_old_place_nothing_else_draws() -> None:
    near = Target(SnapKind.MARK, 140.5, "cursor")
    home = edges(139.7)
    assert 140.7 + snap(edges(140.7), (near,), PX, 0.5, origin=home).shift_deg == pytest.approx(139.7)
    assert 140.8 + snap(edges(140.8), (near,), PX, 0.5, origin=home).shift_deg == pytest.approx(140.5)


@given(st.floats(-720, 720), st.floats(0, 359.9), st.integers(-2, 2))
def test_whole_turns_do_not_change_the_snap(start: float, mark: float, turns: int) -> None:
    target = Target(SnapKind.MARK, mark, "mark")
    here = snap(edges(start), (target,), PX, 0.5)
    there = snap(edges(start + 360.0 * turns), (target,), PX, 0.5)
    assert there.hold == here.hold or abs(abs(here.shift_deg) - 3.0) < 1e-6
    if here.hold is not None and there.hold == here.hold:
        edge = edges(start)[here.hold.grip] + here.shift_deg
        assert turn_to(edge, mark) == pytest.approx(0.0, abs=1e-6)


def test_marks_are_steps_cursor_and_the_ends_of_other_lanes() -> None:
    project = machine(gate("Assam", 60.0), gate("Mint", 200.0))
    found = {(target.words, target.deg) for target in marks(project, "mint", 290.0)}
    assert {("step 6", 150.0), ("cursor", 290.0)} <= found
    assert {
        ("start of Assam open", 60.0),
        ("end of Assam open", 72.0),
        ("end of Assam closed", 36.0),
    } <= found
    assert not any("Mint" in words for words, _ in found)


def test_marks_are_own_angles_of_the_held_lane() -> None:
    stacks = (Stack(id="main"), Stack(id="fast", turns=3))
    project = machine(gate("Assam", 60.0), gate("Mint", 200.0, stack="fast"), gap_deg=None, stacks=stacks)
    found = {target.words: target.deg for target in marks(project, "mint", 50.0)}
    assert found["cursor"] == 150.0
    assert found["step 2"] == 90.0
    assert found["end of Assam open"] == 216.0
    slow = {(target.words, round(target.deg, 9)) for target in marks(project, "assam")}
    assert {("start of Mint open", round(deg, 9)) for deg in (200 / 3, 560 / 3, 920 / 3)} <= slow


def test_free_zones_end_where_the_start_or_the_end_may_stand() -> None:
    ends = zone_ends(Arcs.of([(146.9, 10.0), (355.0, 10.0)]), 12.0)
    assert [(end.deg, end.words, end.grips) for end in ends] == [
        (146.9, "free from here", (Grip.START,)),
        (355.0, "free from here", (Grip.START,)),
        (pytest.approx(168.9), "free to here", (Grip.END,)),
        (pytest.approx(17.0), "free to here", (Grip.END,)),
    ]
    assert zone_ends(Arcs.full(), 12.0) == ()
