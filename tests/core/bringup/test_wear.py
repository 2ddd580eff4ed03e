"""Wear: the worn volume is that of Archard's law, and timings shift as lowered outputs do."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest

from shaftscore.bringup.wear import GRID, contact_way, edge_depths, machine_wear
from shaftscore.judge.loads import LaneLoads, MachineLoads, machine_loads
from shaftscore.model import (
    Duty,
    Follower,
    Load,
    Material,
    Project,
    TranslatingFlat,
    TranslatingRoller,
    replaced,
)
from shaftscore.solution import Solution, solve
from tests.machines import lane, machine

ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, width_mm=4.0)
FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=60.0, width_mm=4.0)


def _project(follower: Follower, **more: object) -> Project:
    moved = lane(
        "A",
        ("closed", 0, 100),
        ("open", 190, 250),
        follower=follower,
        load=Load(spring_preload_n=8.0, spring_rate_n_per_mm=0.4),
    )
    return machine(moved, **more)


def _loads(project: Project) -> LaneLoads:
    return machine_loads(solve(project)).lanes["a"]


@pytest.mark.parametrize("follower", [FLAT, ROLLER], ids=["flat", "roller"])
def test_volume_worn_off_the_disc_is_force_times_way_slid(follower: Follower) -> None:
    """V = K ∮ F dx: depth along the edge, against the way slid, from points of the contact itself.

    A flat face slides by the distance of disc and face, ω (R + s); a roller by 2 % of the edge's length.
    """
    loads = _loads(_project(follower))
    way = contact_way(loads)
    edge = np.append(loads.profile.at(GRID).profile, loads.profile.at(GRID).profile[:1])
    ds = np.abs(np.diff(edge))
    depth = edge_depths(way)
    volume = float(np.sum((depth + np.roll(depth, -1)) / 2 * ds)) * loads.contact_width_mm
    if follower is FLAT:
        slid = (loads.profile.base_radius_mm + loads.profile.motion.at(GRID)[0]) * 2 * pi / len(GRID)
    else:
        slid = 0.02 * ds
    assert volume == pytest.approx(float(np.sum(way.normal_n * slid)) / 1000, rel=5e-3)


def test_state_shifts_as_its_output_is_lowered() -> None:
    """Lower the motion by what disc and roller lose in 10 hours and look where it enters its band."""
    worn = Material(
        name="PLA", modulus_gpa=3.3, poisson=0.36, contact_mpa=30, strength_mpa=50, wear_mm3_nkm=10.0
    )
    project = _project(ROLLER, materials=(worn,), duty=Duty(hours_per_day=10, days_per_year=100, years=3))
    solution = solve(project)
    wear = machine_wear(solution, machine_loads(solution))
    assert wear.hours_per_year == 1000
    (shift,) = wear.shifts
    assert shift.state == "open"
    motion = solution.lanes["a"].motion
    assert motion is not None
    edge = float(motion.at(np.array([shift.at_deg]))[0][0])
    own = _loads(project)
    lost = float(np.interp(shift.at_deg, GRID, edge_depths(contact_way(own)))) * 0.01 * 60 * 6 * 10
    lost /= np.cos(np.radians(own.profile.at(np.array([shift.at_deg])).pressure_deg[0]))
    entered = min(motion.crossings(edge + lost), key=lambda angle: abs(angle - shift.at_deg))
    assert abs(entered - shift.at_deg) == pytest.approx(10 * shift.deg_per_hour, rel=0.05)


def test_unknown_pairs_are_said_to_be_unknown_and_looked_at_soon() -> None:
    wear = machine_wear(*_solved(_project(ROLLER)))
    assert {one.part for one in wear.unknown} == {"Roller rim", "Roller bore"}  # steel on PLA, steel on steel
    assert wear.interval_h == 100
    assert wear.spares == ()  # no duty


def _solved(project: Project) -> tuple[Solution, MachineLoads]:
    solution = solve(project)
    return solution, machine_loads(solution)


def test_spares_cover_the_years_of_service() -> None:
    """A disc that lasts L hours in H hours of service takes ceil(H / L) - 1 more."""
    worn = Material(
        name="PLA", modulus_gpa=3.3, poisson=0.36, contact_mpa=30, strength_mpa=50, wear_mm3_nkm=50.0
    )
    project = _project(ROLLER, materials=(worn,))
    hours = machine_wear(*_solved(project)).parts[0].life_h
    shift = machine_wear(*_solved(project)).shifts[0].hours
    assert hours is not None
    life = min(hours, shift)
    days = 2.5 * life / 10
    service = Duty(hours_per_day=10, days_per_year=min(days, 366), years=max(days / 366, 1))
    wear = machine_wear(*_solved(replaced(project, duty=service)))
    assert [(one.part, one.count) for one in wear.spares] == [("disc", 2)]
