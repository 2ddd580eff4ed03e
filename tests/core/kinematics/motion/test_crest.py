"""The way over a crest, for every follower: in the disc's own frame it is one circle about the fillet."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.kinematics.motion.crest import Swing, TravelLine, flat_crest, path_of, roller_crest
from shaftscore.kinematics.motion.lane import LaneMotion, program, surroundings
from shaftscore.model import Disc, Follower, Limits, Load, Project, Shaft, SwingingRoller, TranslatingRoller
from shaftscore.solution import solve
from shaftscore.solution.lane import motion_of
from tests.core.kinematics.motion.making import block, lane


def roller(offset: float | str = 0.0) -> TranslatingRoller:
    return TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm=offset)


def arm(side: str) -> SwingingRoller:
    return SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=70.0,
        pivot_distance_mm=80.0,
        pivot_side=side,  # type: ignore[arg-type]
    )


FOLLOWERS = {
    "in line": roller(),
    "offset to the clockwise side": roller(8.0),
    "offset to the other side": roller(-8.0),
    "pivot on the clockwise side": arm("clockwise"),
    "pivot on the other side": arm("counterclockwise"),
}
every = pytest.mark.parametrize("follower", FOLLOWERS.values(), ids=FOLLOWERS)
senses = pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])


def project(follower: Follower, turn: str, base: float | str = 30.0) -> Project:
    one = lane(
        block("hi", 130, 200),
        block("lo", 240, 320, "drop"),
        levels={"lo": 0.0, "hi": 10.0},
        load=Load(moving_mass_g=50.0, spring_preload_n=5.0),
        follower=follower,
        disc=Disc(base_radius_mm=base),  # type: ignore[arg-type]
    )
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn=turn, speed_rpm=10.0),  # type: ignore[arg-type]
        lanes=(one,),
    )


def centre(follower: Follower, base: float, lift: np.ndarray) -> np.ndarray:
    """Roller centres in the station's frame, from the words of the file format (not from the code)."""
    if isinstance(follower, TranslatingRoller):
        offset = float(follower.offset_mm)
        return np.sqrt((base + 5) ** 2 - offset**2) + lift - 1j * offset
    assert isinstance(follower, SwingingRoller)
    start, distance, length = base + 5, 80.0, 70.0
    x = (start**2 + distance**2 - length**2) / (2 * start)
    y = np.sqrt(distance**2 - x**2) * (1 if follower.pivot_side == "counterclockwise" else -1)
    pivot = x + 1j * y
    ways = [pivot + (start - pivot) * np.exp(1j * sign * lift / length) for sign in (1, -1)]
    return max(ways, key=lambda way: abs(way[np.argmax(lift)]))


@every
@senses
def test_the_centre_keeps_its_distance_from_the_fillet(follower: Follower, turn: str) -> None:
    whole = project(follower, turn)
    made = program(whole.lanes[0], surroundings(whole, whole.lanes[0]))
    assert isinstance(made, LaneMotion)
    phi = np.linspace(0, np.radians(4.0), 50)
    lift = made.edge.at(200 + np.degrees(phi))[0]
    sense = 1 if turn == "counterclockwise" else -1
    places = centre(follower, 30.0, lift) * np.exp(-1j * sense * phi)
    pitch = 5 + 1.05 * Limits().crest_radius_mm
    fillet = places[0] * (1 - pitch / abs(places[0]))
    # The crest alone: from where the flank begins, the distance grows.
    on_crest = np.abs(np.abs(places - fillet) - pitch) < 1e-6
    assert on_crest[:8].all()
    assert lift[on_crest].min() < 9.9


@every
@pytest.mark.parametrize("sense", [1, -1])
def test_derivatives_over_the_crest_are_those_of_its_way(follower: Follower, sense: int) -> None:
    offset = follower.offset_mm if isinstance(follower, TranslatingRoller) else 0.0
    path = path_of(follower, 30.0, float(offset))  # type: ignore[arg-type]
    assert path is not None
    crest = roller_crest(path, 10.0, 6.0, sense)
    assert crest is not None
    assert crest.fall(0.0)[:2] == pytest.approx((0, 0), abs=1e-12)
    for share in (0.2, 0.6, 0.9):
        phi, step = share * crest.limit_rad, 1e-5
        before, here, after = (crest.fall(phi + by) for by in (-step, 0.0, step))
        assert (after[0] - before[0]) / (2 * step) == pytest.approx(here[1], rel=1e-5)
        assert (after[1] - before[1]) / (2 * step) == pytest.approx(here[2], rel=1e-5)


def test_beyond_the_vertical_no_roller_rests_on_the_crest() -> None:
    crest = roller_crest(TravelLine(35.0, 0.0), 10.0, 6.0, 1)
    assert crest is not None
    # In line the way is vertical where the fillet's centre, 39 mm off the axis, is 6 mm aside.
    assert crest.limit_rad == pytest.approx(np.arcsin(6 / 39), rel=1e-6)
    with pytest.raises(ValueError, match=r"crest 0\.2 rad"):
        crest.fall(0.2)


def test_a_flat_face_keeps_to_the_fillets_support() -> None:
    crest = flat_crest(40.0, 2.0)
    assert crest is not None
    fallen, slope, bend = crest.fall(0.3)
    assert 40 + fallen == pytest.approx(2 + 38 * np.cos(0.3))
    assert 40 + fallen + bend == pytest.approx(2)
    assert slope == pytest.approx(-38 * np.sin(0.3))


def test_no_room_is_no_crest() -> None:
    assert roller_crest(TravelLine(3.0, 0.0), 1.0, 6.0, 1) is None
    assert flat_crest(1.0, 2.0) is None
    assert path_of(roller(40.0), 30.0, 40.0) is None
    assert path_of(arm("clockwise"), 200.0, 0.0) is None
    assert isinstance(path_of(arm("clockwise"), 30.0, 0.0), Swing)


@pytest.mark.parametrize("follower", [roller(), roller("auto"), arm("clockwise")])
def test_an_automatic_disc_gets_an_edge_for_the_radius_that_it_gets(follower: Follower) -> None:
    """What the solution makes with "auto" is what it makes with that radius and offset written down."""
    whole = project(follower, "clockwise", "auto")
    profile = solve(whole).lanes["lane"].profile
    assert profile is not None
    written = follower if not isinstance(follower, TranslatingRoller) else roller(profile.follower.offset_mm)  # type: ignore[union-attr]
    known = project(written, "clockwise", profile.base_radius_mm)
    automatic = motion_of(whole, whole.lanes[0])
    given = motion_of(known, known.lanes[0])
    assert isinstance(automatic, LaneMotion)
    assert isinstance(given, LaneMotion)
    assert automatic.drops[0].edge_deg == pytest.approx(given.drops[0].edge_deg, abs=1e-9)
    theta = np.linspace(200, 300, 500)
    np.testing.assert_allclose(automatic.edge.at(theta)[0], given.edge.at(theta)[0], atol=1e-9)
    low = profile.at(np.linspace(200.01, 199.99 + automatic.drops[0].edge_deg, 2000)).curvature
    assert 1 / low.max() == pytest.approx(1.05, rel=1e-3)
