"""Stuck lanes: forces by the balance of power and by closed forms, clutches by hand."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from shaftscore.bringup.strengths import post_moments
from shaftscore.bringup.stuck import StuckLanes, stuck_lanes
from shaftscore.bringup.stuck_items import stuck_items, stuck_sentences
from shaftscore.built.posts import PostRod
from shaftscore.judge.loads import machine_loads
from shaftscore.model import Drive, Load, MotorSource, Pins, Stack, Stage, TranslatingRoller
from shaftscore.solution import solve
from tests.machines import lane, machine
from tests.samples import sample

LIFT_MM, RISE_DEG = 10.0, 60.0


def _stuck(stall_nm: float, *, preload_n: float = 5.0) -> StuckLanes:
    """A lane that rises by simple harmonic motion, behind a 3:1 stage without loss."""
    moved = lane(
        "A",
        ("closed", 0, 120),
        ("open", 120 + RISE_DEG, 260),
        law="simple-harmonic",
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0),
        load=Load(spring_preload_n=preload_n, spring_tolerance_percent=0.0),
    )
    source = MotorSource(
        kind="motor",
        rated_speed_rpm=18.0,
        rated_torque_nm=0.05,
        stall_torque_nm=stall_nm / 3,
        turn="clockwise",
    )
    stage = Stage(driver_teeth=12, driven_teeth=36, kind="internal", efficiency=1.0)
    pins = Pins(count=2, radius_mm=15.0, across_mm=3.0)
    project = machine(
        moved, drive=Drive(source=source, stages=(stage,)), stacks=(Stack(id="main", pins=pins),)
    )
    solution = solve(project)
    return stuck_lanes(solution, machine_loads(solution))


def test_force_at_the_steepest_place_is_the_torque_over_its_slope() -> None:
    """Simple harmonic motion: s' is at most π h / (2 β) (any text on cams): 15 mm for 10 mm over 60°."""
    (one,) = _stuck(2.0).lanes
    steepest = pi * LIFT_MM / (2 * np.radians(RISE_DEG))
    assert steepest == pytest.approx(15.0)
    assert one.least_force is not None
    assert one.least_force[0] == pytest.approx(2000 / steepest, rel=1e-6)
    assert one.least_force[1] == pytest.approx(150.0, abs=0.1)
    assert np.all(one.capped_n <= one.force_n(2.0) + 1e-9)
    assert np.all((one.theta_deg > 119.9) & (one.theta_deg < 180.1))  # a spring: no jam on the fall


@pytest.mark.parametrize("name", ["tea_blender", "paper_theatre"])
def test_power_in_is_power_out(name: str) -> None:
    """T ω = F v, with v from two positions of the solved motion, read 0.001° apart."""
    solution = solve(sample(name))
    for one in stuck_lanes(solution, machine_loads(solution)).lanes:
        own, loads = one.solved, 1.0
        at = one.theta_deg[len(one.theta_deg) // 2] * own.turns
        lift = own.profile.at(np.array([at - 5e-4, at + 5e-4])).lift[0]
        speed = abs(lift[1] - lift[0]) / 1000  # m by 0.001° of turn
        force = one.force_n(loads)[len(one.theta_deg) // 2]
        assert force * speed == pytest.approx(loads * np.radians(0.001), rel=2e-3)


def test_pins_yield_at_the_torque_of_their_shear_area() -> None:
    """Two pins of 3 mm at 15 mm of steel, 235 MPa (EN 10025-2 S235), half of it in shear: 24.9 N·m."""
    (one,) = _stuck(2.0).lanes
    pins = next(part for part in one.strengths.parts if part.name == "Pins")
    assert pins.torque_nm == pytest.approx(2 * pi / 4 * 9 * 117.5 * 15 / 1000)


def test_clutch_slips_between_the_peak_and_the_weakest_part() -> None:
    """Over peak x 1.5 and under the weakest part / 1.5; a strong motor needs it, a weak one does not."""
    strong, weak = _stuck(20.0), _stuck(0.16)
    lane_, slip = strong.lanes[0], strong.slip
    assert lane_.weakest is not None
    assert slip.most_nm == pytest.approx(lane_.weakest.torque_nm / 1.5)
    assert slip.least_nm is not None
    assert slip.least_nm < slip.most_nm
    assert slip.exists
    assert slip.is_needed
    assert slip.stall_shares == pytest.approx((slip.least_nm / 20, slip.most_nm / 20))
    assert not weak.slip.is_needed
    assert not _stuck(20.0, preload_n=120.0).slip.exists


def test_no_guarded_place_breaks_below_the_setting() -> None:
    stuck = _stuck(20.0)
    (one,) = stuck.lanes
    for torques in one.yield_torques.values():
        assert np.min(torques[one.guarded]) >= stuck.slip.most_nm * 1.5 - 1e-9
    assert one.end_mm == pytest.approx(0.05 * LIFT_MM)


@pytest.mark.parametrize(
    ("rod", "moments"),
    [
        (PostRod(30.0, 0.0, 1.0, 1.0), (30.0, 0.0)),
        (PostRod(30.0, 20.0, 1.0, 1.0), (10.0, 30.0)),
        (PostRod(30.0, 0.0, 1.0, 1.0, 40.0), (7.5, 0.0)),
    ],
)
def test_moments_of_posts(rod: PostRod, moments: tuple[float, float]) -> None:
    """A cantilever has F l at its foot; a beam on two hinges F a b / L under the force: any handbook."""
    assert post_moments(rod) == pytest.approx(moments)


def test_items_of_a_stuck_flap_go_to_its_other_end() -> None:
    """By the sample's own description: six scoops a turn go to the cup, else to the tray."""
    stuck = {one.level: one for one in stuck_items(solve(sample("tea_blender")), "flap")}
    assert dict(stuck["tray"].ends) == {"cup": -6, "tray": 6}
    assert stuck["shut"].lost == 6
    assert stuck["cup"].is_harmless
    assert list(stuck_sentences(stuck["tray"])) == ["A turn brings Cup 6 items fewer and Tray 6 items more."]


def test_levers_on_one_rod_are_named() -> None:
    solution = solve(sample("tea_blender"))
    first = stuck_lanes(solution, machine_loads(solution)).lanes[0]
    assert first.beside == ("Ceylon", "Sencha", "Mint", "Ginger", "Rose")
