"""Forces and torque against closed forms that need no book."""

from __future__ import annotations

from math import degrees, pi

import numpy as np
import pytest

from shaftscore.judge.loads import Camshaft, LaneLoads, camshaft, lane_loads, machine_loads
from shaftscore.model import (
    Block,
    Disc,
    Lane,
    Load,
    Project,
    Shaft,
    Stack,
    SwingingRoller,
    TranslatingFlat,
    TranslatingRoller,
)
from shaftscore.solution import Incremental, solve

GRID = np.arange(0.0, 360.0, 0.05)


def machine(
    *lanes: Lane, speed_rpm: float = 30.0, stacks: tuple[Stack, ...] = (Stack(id="main"),)
) -> Project:
    return Project(
        format="shaftscore-project",
        version=2,
        shaft=Shaft(turn="clockwise", speed_rpm=speed_rpm),
        stacks=stacks,
        lanes=lanes,
    )


def lane(load: Load | None, follower: object = None, law: str = "cycloidal", **more: object) -> Lane:
    blocks = (
        Block(level="up", start_deg=120.0, end_deg=180.0),
        Block(level="down", start_deg=300.0, end_deg=390.0),
    )
    values = {"id": "a", "levels": {"down": 0.0, "up": 10.0}, "blocks": blocks, "law": law, "load": load}
    values["follower"] = follower or TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0)
    values["disc"] = Disc(base_radius_mm=60.0)
    return Lane(**(values | more))


def loads_of(project: Project, lane_id: str = "a") -> LaneLoads:
    loads = lane_loads(project, solve(project).lanes[lane_id])
    assert loads is not None
    return loads


def shaft_of(project: Project) -> Camshaft:
    return machine_loads(solve(project)).camshaft


FOLLOWERS = (
    TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.0),
    TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, offset_mm=9.0, contact_friction=0.0),
    TranslatingFlat(kind="translating-flat", face_width_mm=60.0, contact_friction=0.0),
    SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=6.0,
        arm_mm=70.0,
        pivot_distance_mm=95.0,
        pivot_side="clockwise",
        contact_friction=0.0,
    ),
    TranslatingRoller(
        kind="translating-roller", roller_radius_mm=6.0, output_ratio=2.0, contact_friction=0.0
    ),
)


@pytest.mark.parametrize("follower", FOLLOWERS, ids=lambda f: f.kind)
@pytest.mark.parametrize("at", ["roller", "output"])
def test_without_friction_a_turn_costs_no_work(follower: object, at: str) -> None:
    """Springs and inertia give back what they take: the torque's mean over a turn is 0."""
    load = Load(moving_mass_g=300, spring_preload_n=20, spring_rate_n_per_mm=1.5, external_n=2, at=at)
    project = machine(lane(load, follower), speed_rpm=90)
    torque = loads_of(project).forces(GRID, 90).torque_nm
    assert abs(torque.mean()) < 1e-5 * np.abs(torque).max()
    assert np.abs(torque).max() > 0.01


@pytest.mark.parametrize("at", ["roller", "output"])
def test_torque_over_a_rise_is_the_springs_energy(at: str) -> None:
    """5 N and 0.8 N/mm over 20 mm of travel hold 260 N mm (plain arithmetic)."""
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=6.0,
        contact_friction=0.0,
        output_ratio=1.0 if at == "roller" else 0.5,
    )
    load = Load(spring_preload_n=5, spring_rate_n_per_mm=0.8, at=at)
    project = machine(lane(load, follower, levels={"down": 0.0, "up": 20.0}), speed_rpm=0.01)
    theta = np.linspace(30.0, 120.0, 20001)
    torque = loads_of(project).forces(theta, 0.01).torque_nm
    assert np.trapezoid(torque, np.radians(theta)) * 1000 == pytest.approx(260.0, rel=1e-6)


def test_friction_alone_is_the_work_of_a_turn() -> None:
    """A friction of 2 N over 10 mm up and 10 mm down takes 40 N mm."""
    follower = FOLLOWERS[0]
    load = Load(spring_preload_n=30, friction_n=2)
    shaft = shaft_of(machine(lane(load, follower)))
    assert shaft.energy_j * 1000 == pytest.approx(40.0, rel=2e-3)


@pytest.mark.parametrize("speed_rpm", [1.0, 400.0])
def test_a_start_from_rest_asks_for_all_forces_but_inertia(speed_rpm: float) -> None:
    """A constant force F over a cycloidal rise h in β asks for F 2h/β at most, whatever the mass and speed.

    The closed form of the law's peak velocity (2 h / β); friction at rest is that of the movement to come.
    """
    load = Load(
        moving_mass_g=2000, spring_preload_n=30, friction_n=2, external_n=8, spring_tolerance_percent=0
    )
    shaft = shaft_of(machine(lane(load, FOLLOWERS[0]), speed_rpm=speed_rpm))
    assert shaft.start_nm * 1000 == pytest.approx(40.0 * 2 * 10.0 / (pi / 2), rel=1e-5)
    assert shaft.peak is not None
    assert (shaft.peak.value > 1.5 * shaft.start_nm) == (speed_rpm > 100)


def test_without_friction_and_springs_a_start_asks_for_nothing() -> None:
    assert shaft_of(machine(lane(Load(moving_mass_g=500), FOLLOWERS[0]))).start_nm == 0.0


def test_contact_friction_drags_at_the_contact_radius_in_a_dwell() -> None:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, contact_friction=0.1)
    forces = loads_of(machine(lane(Load(spring_preload_n=10), follower))).forces(np.array([350.0]), 30.0)
    assert forces.contact_n[0] == pytest.approx(10.0)
    assert forces.torque_nm[0] == pytest.approx(0.1 * 10 * 60.0 / 1000)


def test_float_speed_is_where_the_least_contact_force_is_nothing() -> None:
    load = Load(moving_mass_g=500, spring_preload_n=10, spring_rate_n_per_mm=0.4)
    project = machine(lane(load), speed_rpm=30)
    limit = loads_of(project).float_speed
    assert limit is not None
    at_limit = loads_of(machine(lane(load), speed_rpm=limit.value)).least_contact
    assert at_limit is not None
    assert at_limit.value == pytest.approx(0.0, abs=1e-6)


def test_float_speed_against_the_closed_form_of_the_cycloid() -> None:
    """No spring rate: contact goes where m a_max = preload, a_max = 2π h ω²/β² (the cycloid's Ca)."""
    beta = np.radians(90.0)
    load = Load(moving_mass_g=500, spring_preload_n=10)
    omega = np.sqrt(10 / (0.5 * 2 * pi * 0.010 / beta**2))
    limit = loads_of(machine(lane(load))).float_speed
    assert limit is not None
    assert limit.value == pytest.approx(omega * 30 / pi, rel=1e-7)


def test_a_stack_that_turns_three_times_a_cycle_weighs_three_times() -> None:
    load = Load(spring_preload_n=10, spring_rate_n_per_mm=1)
    slow = shaft_of(machine(lane(load), speed_rpm=90))
    geared = Stack(id="fast", turns=3, efficiency=0.8)
    fast = shaft_of(machine(lane(load, stack="fast"), speed_rpm=30, stacks=(Stack(id="main"), geared)))
    assert slow.peak is not None
    assert fast.peak is not None
    assert fast.peak.value == pytest.approx(slow.peak.value * 3 / 0.8, rel=1e-6)
    master = np.arange(0.0, 120.0, 5.0)  # in a third of a turn the fast stack turns once
    assert fast.torque_at(master) == pytest.approx(slow.torque_at(3 * master) * 3 / 0.8, rel=1e-6)


def test_the_peak_of_the_sum_is_no_less_than_any_fine_sample() -> None:
    load = Load(moving_mass_g=50, spring_preload_n=10, spring_rate_n_per_mm=1)
    shifted = lane(
        load,
        id="b",
        blocks=(
            Block(level="up", start_deg=0.013, end_deg=0.02),
            Block(level="down", start_deg=20.1, end_deg=340.0),
        ),
    )
    shaft = shaft_of(machine(lane(load), shifted))
    fine = shaft.torque_at(np.arange(0, 360, 0.003))
    assert shaft.peak is not None
    assert shaft.peak.value >= fine.max() - 1e-9
    assert shaft.peak.value == pytest.approx(fine.max(), rel=1e-5)


def test_a_guide_with_overhang_locks() -> None:
    """Locks from tan α = B / (μ (2A + B)) on."""
    follower = TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=6.0,
        guide_length_mm=10.0,
        overhang_mm=60.0,
        guide_friction=0.3,
    )
    project = machine(lane(Load(spring_preload_n=10), follower, disc=Disc(base_radius_mm=20.0)))
    forces = loads_of(project).forces(GRID, 30.0)
    lock = degrees(np.arctan(10 / (0.3 * (120 + 10))))
    rising = forces.direction > 0
    assert np.array_equal(~np.isfinite(forces.contact_n), rising & (np.abs(forces.at.pressure_deg) >= lock))
    assert not np.all(np.isfinite(forces.contact_n))


def test_a_groove_pulls_as_well_as_it_pushes() -> None:
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, closure="groove")
    loads = loads_of(machine(lane(Load(moving_mass_g=400), follower), speed_rpm=200))
    forces = loads.forces(GRID, 200.0)
    assert loads.float_speed is None
    assert np.all(forces.contact_n >= 0)
    assert np.any(forces.driving_n < -1)


def test_lanes_that_did_not_change_are_reused() -> None:
    load = Load(spring_preload_n=10)
    first = solve(machine(lane(load), lane(load, id="b")))
    changed = machine(first.project.lanes[0], lane(Load(spring_preload_n=11), id="b"))
    kept = Incremental()
    before = machine_loads(first, kept)
    after = machine_loads(solve(changed, first), Incremental(kept.now))
    assert after.lanes["a"] is before.lanes["a"]
    assert after.lanes["b"] is not before.lanes["b"]


def test_no_load_record_no_loads() -> None:
    project = machine(lane(Load()), lane(None, id="b"))
    assert set(machine_loads(solve(project)).lanes) == {"a"}
    assert camshaft(project, {}).peak is None


def test_a_rider_is_pressed_on_the_disc_that_it_rides_on() -> None:
    """Its own record of a disc says nothing: the host's thickness less two chamfers, and its material."""
    follower = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0)
    host = lane(Load(spring_preload_n=10.0))
    rider = Lane(
        id="b",
        kind="rider",
        disc_of="a",
        follower=follower,
        station_deg=90.0,
        disc=Disc(thickness_mm=20.0, edge_chamfer_mm=1.0, material="PETG"),
        load=Load(spring_preload_n=10.0),
    )
    loads = loads_of(machine(host, rider), "b")
    assert loads.contact_width_mm == pytest.approx(5.0 - 2 * 0.4)
    assert loads.disc is loads_of(machine(host, rider), "a").disc


def test_a_groove_is_pressed_over_its_depth() -> None:
    """3 mm deep, less the chamfer of its edge and the gap of the roller over its floor (0.3 mm)."""
    groove = TranslatingRoller(kind="translating-roller", roller_radius_mm=6.0, closure="groove")
    disc = Disc(base_radius_mm=60.0, thickness_mm=12.0, groove_depth_mm=3.0)
    loads = loads_of(machine(lane(Load(friction_n=5.0), groove, disc=disc)))
    assert loads.contact_width_mm == pytest.approx(3.0 - 0.4 - 0.3)
