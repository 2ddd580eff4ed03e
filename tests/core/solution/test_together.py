"""Many lanes solved in one call are solved as each is by itself, to the last digit: reuse counts on it.

The reference of each kernel is the way of one lane: `LaneMotion.runs` and `stretches`, `all_level_intervals`,
`nodes_of`, `plainly`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.motion.states import all_level_intervals, level_intervals_together
from shaftscore.kinematics.motion.together import MotionGroup
from shaftscore.kinematics.profiles import Profile
from shaftscore.kinematics.profiles.nodes_together import nodes_together
from shaftscore.kinematics.profiles.pieces import nodes_of
from shaftscore.kinematics.profiles.plainly import plainly, plainly_together
from shaftscore.model import Disc, Lane, SwingingRoller, TranslatingFlat, TranslatingRoller, replaced
from shaftscore.model.lanes import Follower
from shaftscore.solution import solve
from tests.core.kinematics.motion.making import any_lane, block, lane
from tests.machines import gate, machine

INDEX = lane(block("low", 300, 340), block("mid", 100, 160), id="steps", kind="index", law="cycloidal")
CORNERS = lane(block("low", 10, 80), block("top", 200, 210), law="constant-velocity")
STILL = lane(block("mid", 20, 40))
LANES = st.lists(any_lane() | st.sampled_from((INDEX, CORNERS, STILL)), min_size=1, max_size=5)
ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0)
FOLLOWERS: tuple[Follower, ...] = (
    ROLLER,
    replaced(ROLLER, offset_mm=3.0),
    replaced(ROLLER, roller_radius_mm=8.0, closure="groove"),
    replaced(ROLLER, roller_radius_mm=0.0),
    TranslatingFlat(kind="translating-flat", face_width_mm=40.0),
    SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=60.0,
        pivot_distance_mm=90.0,
        pivot_side="clockwise",
    ),
)


def motions(lanes: Sequence[Lane]) -> list[LaneMotion]:
    """The motion of each lane, made anew, so that no table of another is known to it."""
    made = [program(one) for one in lanes]
    return [motion for motion in made if isinstance(motion, LaneMotion)]


@settings(max_examples=40)
@given(LANES)
def test_motions_of_a_group_are_those_of_each_alone(lanes: list[Lane]) -> None:
    alone, together = motions(lanes), motions(lanes)
    group = MotionGroup.of(together)
    for own, shared in zip(alone, together, strict=True):
        for name in ("segment", "x0", "x1", "s0", "s1"):
            np.testing.assert_array_equal(getattr(own.runs, name), getattr(shared.runs, name))
        np.testing.assert_array_equal(own.at(np.arange(720) / 2), shared.at(np.arange(720) / 2))
        assert own.velocity_jumps() == shared.velocity_jumps()
    states = [all_level_intervals(one, motion) for one, motion in zip(lanes, alone, strict=True)]
    assert level_intervals_together(lanes, group) == states


@settings(max_examples=40)
@given(LANES, st.data())
def test_nodes_of_a_group_are_those_of_each_alone(lanes: list[Lane], data: st.DataObject) -> None:
    followers = [data.draw(st.sampled_from((None, *FOLLOWERS))) for _ in lanes]
    found = nodes_together(MotionGroup.of(motions(lanes)), followers)
    for motion, follower, nodes in zip(motions(lanes), followers, found, strict=True):
        assert (nodes is None) == (follower is None)
        if nodes is not None and follower is not None:
            own = nodes_of(motion, follower)
            assert nodes.pieces == own.pieces
            for name in ("theta_deg", "lift", "piece", "judged", "rise"):
                np.testing.assert_array_equal(getattr(nodes, name), getattr(own, name))


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
def test_what_is_plain_of_many_is_what_is_plain_of_each(turn: str) -> None:
    """Discs of all sizes, so that every limit is kept by some and broken by others."""
    profiles = list(_profiles(turn))
    found, alone = plainly_together(profiles), [plainly(profile) for profile in profiles]
    assert [one.is_good for one in found] == [one.is_good for one in alone]
    assert {one.is_good for one in alone} == {True, False}
    for one, other in zip(found, alone, strict=True):
        assert one.radii_mm == pytest.approx(other.radii_mm, rel=1e-12)


def _profiles(turn: str) -> list[Profile]:
    """Profiles under every follower on discs of many sizes, and one with corners."""
    lanes = [
        replaced(
            gate(
                f"G{number}x{size:.0f}",
                20.0 + number,
                60.0,
                law="constant-velocity" if size == 90 else "cycloidal",
            ),
            follower=follower,
            disc=Disc(base_radius_mm=size),
        )
        for number, follower in enumerate(FOLLOWERS)
        for size in (36.0, 60.0, 80.0, 90.0, 100.0)
    ]
    solved = solve(machine(*lanes, turn=turn)).lanes.values()
    return [lane.profile for lane in solved if lane.profile is not None]
