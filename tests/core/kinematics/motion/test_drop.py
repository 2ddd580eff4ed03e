"""Drops: the edge's shape, the free fall against closed forms and against a plain integration."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from shaftscore.kinematics.motion.lane import LaneMotion, NoMotion, Surroundings, program, surroundings
from shaftscore.kinematics.motion.states import level_intervals
from shaftscore.model import (
    Disc,
    Lane,
    Limits,
    Load,
    Project,
    Shaft,
    Stack,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from tests.core.kinematics.motion.making import block, lane

LIMITS = Limits()
ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0)
LOAD = Load(moving_mass_g=50.0, spring_preload_n=5.0, spring_rate_n_per_mm=0.5, spring_tolerance_percent=0.0)


def hammer(gap: float, until: float = 320.0, **fields: object) -> Lane:
    made = {"load": LOAD, "disc": Disc(base_radius_mm=30.0), "follower": ROLLER, **fields}
    return lane(
        block("hi", 100, 200),
        block("lo", 200 + gap, until, "drop"),
        levels={"lo": 0.0, "hi": 10.0},
        **made,
    )


def dropped(one: Lane, rpm: float, limits: Limits = LIMITS) -> LaneMotion:
    made = program(one, Surroundings(rpm, limits))
    assert isinstance(made, LaneMotion), made
    return made


def pitch_radius(values: np.ndarray, radius_at_0: float) -> np.ndarray:
    """Radius of curvature of the pitch curve of a central translating roller (handbook formula)."""
    y, slope, bend = values[0] + radius_at_0, values[1], values[2]
    return (y**2 + slope**2) ** 1.5 / (y**2 + 2 * slope**2 - y * bend)


def test_a_slow_machine_lets_the_follower_stay_on_the_edge() -> None:
    made = dropped(hammer(40.0), 5.0)
    theta = np.linspace(0, 360, 3000)
    np.testing.assert_allclose(made.at(theta), made.edge.at(theta), atol=1e-6)
    (drop,) = made.drops
    assert (drop.block, drop.start_deg, drop.late_deg) == (1, 200, 0)
    assert (drop.edge_deg, drop.fall_deg) == pytest.approx((40, 40))


def test_a_fast_machine_lets_it_fall_freely() -> None:
    """From rest at z = 10 mm under 5 N + 0.5 N/mm z, 50 g: z + 10 = 20 cos(100 t), so z = 0 at pi/300 s."""
    made = dropped(hammer(12.0), 1500.0)
    (drop,) = made.drops
    assert drop.fall_deg == pytest.approx(np.pi / 300 * 1500 * 6, abs=1e-9)
    assert drop.late_deg == pytest.approx(drop.fall_deg - 12, abs=1e-9)
    seconds = np.linspace(0, np.pi / 300, 50)
    np.testing.assert_allclose(made.at(200 + seconds * 9000)[0], 20 * np.cos(100 * seconds) - 10, atol=1e-9)


def test_without_a_spring_rate_it_falls_along_a_parabola() -> None:
    """4 N on 40 g: 100 m/s^2, 10 mm in sqrt(2 * 0.01 / 100) s."""
    load = Load(
        moving_mass_g=40.0,
        spring_preload_n=3.0,
        spring_tolerance_percent=0.0,
        external_n=2.0,
        friction_n=1.0,
    )
    made = dropped(hammer(12.0, load=load), 1200.0)
    assert made.drops[0].fall_deg == pytest.approx(np.sqrt(2 * 0.01 / 100) * 7200, abs=1e-9)


@pytest.mark.parametrize("rpm", [100.0, 150.0, 200.0, 300.0, 600.0])
@pytest.mark.parametrize("gap", [14.0, 25.0])
def test_the_fall_is_that_of_a_plain_integration(rpm: float, gap: float) -> None:
    """The follower as a mass that the edge can only push: integrated by scipy until it meets the edge."""
    made = dropped(hammer(gap), rpm)
    (drop,) = made.drops
    omega = rpm * 2 * np.pi / 60

    def pull(z: float) -> float:
        return -1e6 / 50 / omega**2 * (5 + 0.5 * z)

    theta = 200 + np.linspace(0, drop.edge_deg, 40001)
    edge = made.edge.at(theta)
    off = np.flatnonzero(edge[2] < pull(edge[0]))
    if not len(off):
        assert drop.fall_deg == pytest.approx(drop.edge_deg)
        return
    begin = np.radians(theta[off[0]] - 200)

    def above(phi: float, state: np.ndarray) -> float:
        return float(state[0] - made.edge.at(np.array([200 + np.degrees(phi)]))[0, 0])

    meets = lambda phi, state: above(phi, state) if phi > begin + 1e-3 else 1.0  # noqa: E731
    meets.terminal = True  # type: ignore[attr-defined]
    fall = solve_ivp(
        lambda _, state: [state[1], pull(state[0])],
        (begin, np.radians(110)),
        [edge[0, off[0]], edge[1, off[0]]],
        events=meets,
        rtol=1e-10,
        atol=1e-12,
        dense_output=True,
        max_step=0.01,
    )
    phi = np.linspace(begin, fall.t[-1], 200)[:-1]
    np.testing.assert_allclose(made.at(200 + np.degrees(phi))[0], fall.sol(phi)[0], atol=2e-3)
    landing = max(np.degrees(fall.t[-1]), drop.edge_deg)
    assert drop.fall_deg == pytest.approx(landing, abs=0.01)


@pytest.mark.parametrize("rpm", [5.0, 60.0, 120.0, 200.0, 400.0, 1500.0])
@pytest.mark.parametrize("gap", [2.0, 14.0, 40.0])
def test_the_output_never_runs_ahead_of_the_edge_and_only_falls(rpm: float, gap: float) -> None:
    made = dropped(hammer(gap), rpm)
    theta = np.linspace(200, 200 + made.drops[0].fall_deg, 20001)
    assert (made.at(theta)[0] - made.edge.at(theta)[0]).min() > -1e-9
    assert made.at(theta)[1].max() < 1e-9
    assert np.abs(np.diff(made.at(theta)[0])).max() < 0.1
    assert made.at(theta[-1:])[0, 0] == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("gap", [2.0, 14.0, 20.0, 60.0])
def test_the_edge_takes_the_gap_or_as_little_more_as_the_fillets_allow(gap: float) -> None:
    made = dropped(hammer(gap), 60.0).edge
    (fall,) = (s for s in made.segments if getattr(s, "rise_mm", 0) < 0)
    steepest = dropped(hammer(0.5), 60.0).drops[0].edge_deg
    assert fall.length_deg == pytest.approx(max(gap, steepest), abs=1e-9)
    assert made.velocity_jumps() == ()


@pytest.mark.parametrize("crest", [0.5, 1.0, 3.0])
def test_the_edge_leaves_the_top_over_the_crest_radius(crest: float) -> None:
    """The roller's centre runs on a circle of crest (5 % over the limit) and roller radius."""
    made = dropped(hammer(2.0), 60.0, Limits(crest_radius_mm=crest)).edge
    (fall,) = (s for s in made.segments if getattr(s, "rise_mm", 0) < 0)
    theta = 200 + fall.length_deg * np.linspace(1e-6, 1, 3000)
    radius = pitch_radius(made.at(theta), 35.0)
    convex = radius[radius > 0]
    assert crest + 5 < convex.min()
    assert convex.min() == pytest.approx(1.05 * crest + 5, rel=1e-3)
    assert radius[:50] == pytest.approx(1.05 * crest + 5, rel=1e-4)


def test_the_foot_leaves_a_hollow_that_the_roller_finds() -> None:
    made = dropped(hammer(2.0), 60.0).edge
    (fall,) = (s for s in made.segments if getattr(s, "rise_mm", 0) < 0)
    radius = pitch_radius(made.at(200 + fall.length_deg * np.linspace(1e-6, 1, 3000), "left"), 35.0)
    assert -radius[radius < 0].max() >= LIMITS.hollow_margin_mm
    # At the very end it is the greater of hollow margin and crest radius, below the roller's.
    assert radius[-1] == pytest.approx(-LIMITS.crest_radius_mm, rel=1e-3)


def test_a_flat_face_goes_over_a_crest_of_that_radius() -> None:
    """Flat face: profile radius = base + s + s'' (handbook formula)."""
    flat = TranslatingFlat(kind="translating-flat", face_width_mm=200.0)
    made = dropped(hammer(2.0, follower=flat), 60.0).edge
    (fall,) = (s for s in made.segments if getattr(s, "rise_mm", 0) < 0)
    values = made.at(200 + fall.length_deg * np.linspace(1e-6, 1 - 1e-6, 3000))
    radius = 30 + values[0] + values[2]
    assert radius.min() == pytest.approx(1.05 * LIMITS.crest_radius_mm, abs=1e-3)


def test_a_load_at_the_output_is_brought_to_the_roller() -> None:
    """At the output, the fall is that of the output's own mass and spring whatever the ratio."""
    roller = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, output_ratio=2.0)
    load = replaced(LOAD, at="output")
    made = dropped(hammer(12.0, follower=roller, load=load), 1500.0)
    assert made.drops[0].fall_deg == pytest.approx(np.pi / 300 * 9000, abs=1e-9)


def test_a_foot_above_the_base_leaves_the_spring_compressed() -> None:
    """From 10 to 4 mm: z + 10 = 20 cos(100 t), at 14 mm of it."""
    one = lane(
        block("hi", 100, 200),
        block("lo", 212, 320, "drop"),
        levels={"lo": 4.0, "hi": 10.0},
        load=LOAD,
        disc=Disc(base_radius_mm=30.0),
        follower=ROLLER,
    )
    assert dropped(one, 1500.0).drops[0].fall_deg == pytest.approx(np.arccos(14 / 20) / 100 * 9000, abs=1e-9)


def test_a_stack_that_turns_faster_leaves_less_time_to_fall() -> None:
    """The project's 500 rev/min are 1500 on a stack that turns three times a cycle."""
    one = hammer(12.0)
    whole = Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=500.0),
        stacks=(Stack(id="main", turns=3),),
        lanes=(one,),
    )
    made = program(one, surroundings(whole, one))
    assert isinstance(made, LaneMotion)
    assert made.drops == dropped(one, 1500.0).drops


def test_the_weakest_spring_counts() -> None:
    """A spring 20 % weaker than stated falls like one of 80 % of the force that is exactly as stated."""
    stated = replaced(LOAD, friction_n=0.4, spring_tolerance_percent=20.0)
    weak = replaced(stated, spring_preload_n=4.0, spring_rate_n_per_mm=0.4, spring_tolerance_percent=0.0)
    falls = [dropped(hammer(14.0, load=load), 300.0).drops[0].fall_deg for load in (stated, weak)]
    assert falls[0] == pytest.approx(falls[1], abs=1e-9)
    assert falls[0] > dropped(hammer(14.0, load=replaced(LOAD, friction_n=0.4)), 300.0).drops[0].fall_deg


def test_an_output_arm_is_a_ratio() -> None:
    """At the roller: 5 mm of roller lift, z + 10 = 15 cos(100 t) there."""
    arm = SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=60.0,
        pivot_distance_mm=70.0,
        pivot_side="clockwise",
        output_arm_mm=120.0,
    )
    made = dropped(hammer(12.0, follower=arm), 1500.0)
    assert made.drops[0].fall_deg == pytest.approx(np.arccos(10 / 15) / 100 * 9000, abs=1e-9)


def test_without_mass_nothing_lags_behind() -> None:
    made = dropped(hammer(14.0, load=Load(spring_preload_n=1.0)), 3000.0)
    assert made.drops[0].fall_deg == pytest.approx(14)


def test_a_late_landing_shortens_the_state() -> None:
    one = hammer(12.0)
    made = dropped(one, 1500.0)
    (interval,) = level_intervals(one, made, "lo")
    landed = 200 + made.drops[0].fall_deg
    assert landed - 15 < interval.span.start < landed
    assert interval.blocks == (1,)


def test_a_fall_longer_than_its_block_is_caught_by_the_next_rise() -> None:
    """94 degrees of fall, 30 of gap and block; then the edge rises again under the follower."""
    one = hammer(12.0, until=230.0)
    made = dropped(one, 1500.0)
    (drop,) = made.drops
    assert drop.late_deg > 18
    assert drop.fall_deg < np.pi / 300 * 9000
    meeting = np.array([200 + drop.fall_deg])
    seconds = drop.fall_deg / 9000
    assert made.edge.at(meeting)[0, 0] == pytest.approx(20 * np.cos(100 * seconds) - 10, abs=1e-9)
    assert made.at(meeting, "left")[0, 0] == pytest.approx(made.at(meeting)[0, 0], abs=1e-9)
    theta = np.linspace(200, 460, 5001)
    assert (made.at(theta)[0] - made.edge.at(theta)[0]).min() > -1e-9
    after = theta[theta > meeting[0] + 1e-6]
    np.testing.assert_allclose(made.at(after), made.edge.at(after), rtol=1e-7, atol=1e-7)
    # Caught 1 mm and more above the level: the state never comes.
    assert level_intervals(one, made, "lo") == ()
    assert made.velocity_jumps() == ()


def test_a_drop_lands_hard_and_that_is_no_jump() -> None:
    made = dropped(hammer(12.0), 1500.0)
    assert made.velocity_jumps() == ()
    assert all(not 199 < step.theta_deg < 301 for step in made.acceleration_jumps())


def test_an_automatic_base_is_taken_as_three_rollers() -> None:
    free = dropped(hammer(2.0, disc=Disc(base_radius_mm="auto")), 60.0).drops[0]
    given = dropped(hammer(2.0, disc=Disc(base_radius_mm=15.0)), 60.0).drops[0]
    assert free == given


WHY = {
    "no surroundings": (hammer(12.0), None, "speed"),
    "a rise": (
        lane(block("hi", 100, 200, "drop"), block("lo", 220, 320), levels={"lo": 0.0, "hi": 10.0}, load=LOAD),
        60.0,
        "rise",
    ),
    "no load": (hammer(12.0, load=None), 60.0, "load"),
    "nothing pulls": (hammer(12.0, load=Load(moving_mass_g=10.0, friction_n=2.0)), 60.0, "-2.0 N"),
    "the lane falls on": (
        lane(
            block("hi", 100, 200),
            block("lo", 212, 220, "drop"),
            block("base", 250, 320),
            levels={"base": 0.0, "lo": 5.0, "hi": 10.0},
            load=LOAD,
            disc=Disc(base_radius_mm=30.0),
        ),
        1500.0,
        "no time",
    ),
    "an edge longer than gap and block": (hammer(1.0, until=202.0), 60.0, "no time"),
    "a disc too small": (hammer(12.0, disc=Disc(base_radius_mm=1.0)), 60.0, "crest radius of 20 mm"),
}


@pytest.mark.parametrize(("one", "rpm", "why"), WHY.values(), ids=WHY)
def test_a_drop_that_cannot_be_worked_out_says_why(one: Lane, rpm: float | None, why: str) -> None:
    limits = Limits(crest_radius_mm=20.0) if "20" in why else LIMITS
    made = program(one, None if rpm is None else Surroundings(rpm, limits))
    assert isinstance(made, NoMotion)
    assert made.reason == "law"
    assert why in made.what
