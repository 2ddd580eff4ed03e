"""From blocks to segments: dwells that join, moves that fill gaps, blocks that clash."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.base.angles import Arcs
from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, program
from shaftscore.kinematics.motion.segments import Dwell, Move
from shaftscore.model import Block, Lane
from tests.core.kinematics.motion.making import any_lane, block, lane, motion, turned


def shape(made: LaneMotion) -> list[tuple[str, float, float]]:
    return [(type(s).__name__, s.start_deg, s.length_deg) for s in made.segments]


def test_moves_fill_the_gaps() -> None:
    made = motion(block("low", 0, 100), block("high", 150, 200))
    assert shape(made) == [("Dwell", 0, 100), ("Move", 100, 50), ("Dwell", 150, 50), ("Move", 200, 160)]
    rise, fall = (s for s in made.segments if isinstance(s, Move))
    assert (rise.from_mm, rise.to_mm, rise.from_level, rise.to_level, rise.block) == (0, 9, "low", "high", 1)
    assert (fall.from_mm, fall.to_mm, fall.block) == (9, 0, 0)


JOINED = {
    "touching": ((block("low", 10, 20), block("low", 20, 50), block("high", 100, 110)), [(10, 40, (0, 1))]),
    "overlapping": (
        (block("low", 10, 40), block("low", 20, 50), block("high", 100, 110)),
        [(10, 40, (0, 1))],
    ),
    "one in another": (
        (block("low", 10, 90), block("low", 20, 50), block("high", 100, 110)),
        [(10, 80, (0, 1))],
    ),
    "through 0, touching": (
        (block("low", 0, 30), block("high", 100, 110), block("low", 300, 360)),
        [(300, 90, (2, 0))],
    ),
    "through 0, overlapping": (
        (block("low", 5, 30), block("high", 100, 110), block("low", 300, 380)),
        [(300, 90, (2, 0))],
    ),
    "a chain through 0": (
        (block("low", 5, 30), block("low", 30, 40), block("high", 100, 110), block("low", 300, 380)),
        [(300, 100, (3, 0, 1))],
    ),
    "all past 0 held by one that wraps": (
        (block("low", 5, 30), block("high", 100, 110), block("low", 300, 420)),
        [(300, 120, (2, 0))],
    ),
    "momentary within": (
        (block("low", 10, 90), block("low", 50, 50), block("high", 100, 110)),
        [(10, 80, (0, 1))],
    ),
}


@pytest.mark.parametrize(("blocks", "expected"), JOINED.values(), ids=JOINED)
def test_blocks_of_one_level_that_meet_are_one_dwell(
    blocks: tuple[Block, ...], expected: list[tuple[float, float, tuple[int, ...]]]
) -> None:
    dwells = [s for s in motion(*blocks).segments if isinstance(s, Dwell) and s.level == "low"]
    assert [(d.start_deg, d.length_deg, d.blocks) for d in dwells] == expected


def test_blocks_of_one_level_apart_stay_apart_with_a_rest_between() -> None:
    made = motion(block("low", 0, 10), block("low", 50, 60))
    assert shape(made) == [("Dwell", 0, 10), ("Move", 10, 40), ("Dwell", 50, 10), ("Move", 60, 300)]
    assert np.all(made.at(np.linspace(0, 360, 100)) == 0)


WHOLE = {
    "one block": (block("mid", 50, 80),),
    "one momentary block": (block("mid", 50, 50),),
    "one full block": (block("mid", 50, 410),),
    "blocks all the way round": (block("mid", 0, 200), block("mid", 150, 365)),
}


@pytest.mark.parametrize("blocks", WHOLE.values(), ids=WHOLE)
def test_one_dwell_alone_rests_all_turn(blocks: tuple[Block, ...]) -> None:
    made = motion(*blocks)
    (rest,) = made.segments
    assert isinstance(rest, Dwell)
    assert rest.length_deg == 360
    assert rest.blocks == tuple(range(len(blocks)))
    assert np.all(made.at(np.linspace(0, 720, 50))[0] == 4)


def test_no_block_is_no_motion() -> None:
    assert program(lane()) == NoMotion("empty")


CLASHES = {
    "touching": ((block("low", 0, 100), block("high", 100, 150)), [(0, 1, (100, 0), 0)]),
    "overlapping": ((block("low", 0, 110), block("high", 100, 150)), [(0, 1, (100, 10), 10)]),
    "touching through 0": ((block("low", 0, 50), block("high", 300, 360)), [(1, 0, (0, 0), 0)]),
    "overlapping through 0": ((block("low", 5, 50), block("high", 300, 380)), [(1, 0, (5, 15), 15)]),
    "one within": ((block("low", 0, 110), block("high", 20, 50)), [(0, 1, (20, 30), 90)]),
    "momentary within": ((block("low", 0, 110), block("high", 20, 20)), [(0, 1, (20, 0), 90)]),
    "same start": ((block("low", 0, 50), block("high", 0, 70)), [(0, 1, (0, 50), 50)]),
    "two momentary at one place": ((block("low", 30, 30), block("high", 30, 30)), [(0, 1, (30, 0), 0)]),
    "a hair apart": ((block("low", 0, 100), block("high", 100 + 5e-10, 150)), [(0, 1, (100 + 5e-10, 0), 0)]),
    "one over all": (
        (block("low", 0, 50), block("high", 60, 420), block("low", 100, 120)),
        [(1, 2, (100, 20), 320), (1, 0, (0, 50), 60)],
    ),
    "three": (
        (block("low", 0, 100), block("high", 90, 130), block("mid", 120, 150)),
        [(0, 1, (90, 10), 10), (1, 2, (120, 10), 10)],
    ),
}


@pytest.mark.parametrize(("blocks", "expected"), CLASHES.values(), ids=CLASHES)
def test_blocks_of_different_levels_that_meet_clash(
    blocks: tuple[Block, ...], expected: list[tuple[int, int, tuple[float, float], float]]
) -> None:
    made = program(lane(*blocks))
    assert isinstance(made, NoMotion)
    assert made.reason == "clash"
    assert [(c.first, c.second, c.span.spans[0], c.short_deg) for c in made.clashes] == [
        (first, second, pytest.approx(span), pytest.approx(short)) for first, second, span, short in expected
    ]


def test_the_whole_turn_against_itself_clashes() -> None:
    made = program(lane(block("low", 40, 400), block("high", 40, 400)))
    assert isinstance(made, NoMotion)
    assert made.clashes[0].span == Arcs.full()


@given(any_lane(), st.floats(0, 360))
def test_a_move_longer_than_a_billionth_of_a_degree_is_a_motion_wherever_it_lies(
    one: Lane, by: float
) -> None:
    assert isinstance(program(one), LaneMotion)
    assert isinstance(program(turned(one, by)), LaneMotion)


def test_a_moment_between_two_moves() -> None:
    made = motion(block("low", 0, 100), block("mid", 150, 150), block("high", 200, 250))
    assert [s for s in shape(made) if s[2] == 0] == [("Dwell", 150, 0)]
    assert made.at(np.array([150.0]))[:2, 0] == pytest.approx([4, 0])


def test_the_law_is_that_of_the_block_it_leads_to() -> None:
    made = motion(block("low", 0, 100), block("high", 150, 200, "cycloidal"), law="parabolic")
    rise, fall = (s for s in made.segments if isinstance(s, Move))
    assert (rise.law.name, fall.law.name) == ("cycloidal", "parabolic")


def test_the_double_harmonic_runs_mirrored_on_falls() -> None:
    made = motion(block("low", 0, 100), block("high", 150, 200), law="double-harmonic")
    rise, fall = (s for s in made.segments if isinstance(s, Move))
    assert (rise.mirrored, fall.mirrored) == (False, True)
    up = rise.at(np.array([110.0]))[0, 0] / 9
    down = fall.at(np.array([360 - 160 * 10 / 50]))[0, 0] / 9
    assert up == pytest.approx(down)


def test_symmetric_laws_are_never_mirrored() -> None:
    made = motion(block("low", 0, 100), block("high", 150, 200), law="modified-trapezoid")
    assert not any(s.mirrored for s in made.segments if isinstance(s, Move))


@given(any_lane())
def test_segments_cover_the_turn_without_gaps(one: Lane) -> None:
    made = program(one)
    assert isinstance(made, LaneMotion)
    starts, lengths = made.starts_deg, made.lengths_deg
    assert np.all(np.diff(starts) >= 0)
    assert lengths.sum() == pytest.approx(360, abs=1e-9)
    np.testing.assert_allclose(starts[:-1] + lengths[:-1], starts[1:], atol=1e-9)
    assert sorted(i for s in made.segments if isinstance(s, Dwell) for i in s.blocks) == list(
        range(len(one.blocks))
    )


def test_segments_that_do_not_cover_the_turn_are_refused() -> None:
    with pytest.raises(ValueError, match="cover 360 degrees, got 100"):
        LaneMotion((Dwell(0.0, 100.0, 4.0, "mid", (0,)),))


def test_kinds_that_need_more_than_the_lane_say_so() -> None:
    made = program(Lane(id="rider", kind="rider", disc_of="other"))
    assert isinstance(made, NoMotion)
    assert (made.reason, "rider" in made.what) == ("kind", True)
