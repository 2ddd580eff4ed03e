"""Shafts of stacks against formulas of handbooks and a second route.

One load between two bearings (any handbook of mechanics; worked examples of the same formulas, with their
sources, are in tests/published/test_beams.py): deflection F a² b² / (3 E I L) under the load, F L³ / (48 E I)
in the middle; moment F a b / L; reactions F b / L and F a / L; twist T l / (G J).
"""

from __future__ import annotations

from math import pi

import numpy as np
import numpy.typing as npt
import pytest

from shaftscore.base.angles import wrap
from shaftscore.judge.report import examine
from shaftscore.judge.shaft import OWN_DEG, StackShaft
from shaftscore.model import CrankSource, Drive, Lane, Material, Stack, Stage, replaced
from tests.core.judge.shaft.machines import (
    E_STEEL,
    ROLLER,
    built,
    of_rule,
    presser,
    rod,
    shaft_of,
    stack,
    weight,
)
from tests.machines import gate

Reals = npt.NDArray[np.float64]


def inertia(across: float) -> float:
    return pi * across**4 / 64


def test_one_disc_in_the_middle() -> None:
    shaft = shaft_of(built(presser("A", 20.0)))
    length = 40 + 40 + 5.0  # disc 5 mm thick
    assert shaft.case.plan.height_mm == 5.0
    wanted = 20 * length**3 / (48 * E_STEEL * inertia(6))
    assert shaft.deflection_mm["a"].value == pytest.approx(wanted, rel=1e-9)
    assert shaft.lift_errors_mm["a"].value == pytest.approx(-wanted, rel=1e-9), "the follower sinks"
    assert shaft.stress_mpa.value == pytest.approx(20 * length / 4 / (pi * 6**3 / 32), rel=1e-9)
    assert [one.value for one in shaft.reactions_n] == pytest.approx([10.0, 10.0])


def test_one_disc_off_the_middle() -> None:
    shaft = shaft_of(built(presser("A", 20.0), own=stack(rod(below_mm=10.0, above_mm=70.0))))
    a, b, length = 12.5, 72.5, 85.0
    wanted = 20 * a**2 * b**2 / (3 * E_STEEL * inertia(6) * length)
    assert shaft.deflection_mm["a"].value == pytest.approx(wanted, rel=1e-9)
    assert [one.value for one in shaft.reactions_n] == pytest.approx([20 * b / length, 20 * a / length])
    assert shaft.stress_mpa.value == pytest.approx(20 * a * b / length / (pi * 6**3 / 32), rel=1e-9)


@pytest.mark.parametrize(("bearing", "friction"), [("ball", 0.0015), ("plain", 0.2)])
def test_friction_of_the_bearings(bearing: str, friction: float) -> None:
    """0.5 μ F d of all reactions: 20 N on a shaft of 6 mm."""
    shaft = shaft_of(built(presser("A", 20.0), own=stack(rod(bearing=bearing))))
    assert shaft.peak_friction_nm.value == pytest.approx(friction * 20 * 3 / 1000)


def test_the_friction_is_added_to_what_the_drive_must_give() -> None:
    """By hand: plain bearings add 0.2 x 20 N x 3 mm = 0.012 N·m to the peak of the lane."""
    lanes = (presser("A", 20.0),)
    peak = examine(built(*lanes)).loads.camshaft.peak.value  # type: ignore[union-attr]
    between = (peak + 0.006) * 1000  # N mm of the crank, without reserve
    drive = Drive(
        source=CrankSource(kind="crank", radius_mm=100.0, hand_force_n=between / 100, turn="clockwise"),
        torque_reserve=1.0,
    )
    plain = examine(built(*lanes, own=stack(rod(bearing="plain")), drive=drive))
    (found,) = of_rule(plain, "overload")
    assert found.value == pytest.approx(peak + 0.012, rel=1e-6)
    assert of_rule(examine(built(*lanes, drive=drive)), "overload") == []


def test_friction_can_move_the_peak() -> None:
    """Where the friction is 1 N·m at one angle alone, the peak is there: the lane's torque and 1 N·m."""
    loads = examine(built(presser("A", 20.0))).loads
    assert loads is not None
    shaft = loads.camshaft
    friction = np.where(np.arange(len(shaft.total)) == 777, 1.0, 0.0)
    found = shaft.peak_with(friction)
    assert found is not None
    assert found.theta_deg == pytest.approx(77.7)
    assert found.value == pytest.approx(shaft.total[777] + 1.0)
    assert shaft.peak_with(0 * friction) is shaft.peak


def test_friction_of_a_stack_that_turns_twice_counts_twice() -> None:
    once = examine(built(presser("A"), own=stack(rod(bearing="plain"))))
    twice = examine(built(presser("A"), own=stack(rod(bearing="plain"), turns=2, efficiency=0.8)))
    assert once.shafts is not None
    assert twice.shafts is not None
    assert once.shafts.friction_nm().max() == pytest.approx(0.012)
    assert twice.shafts.friction_nm().max() == pytest.approx(0.012 * 2 / 0.8)


def test_opposed_stations_of_two_equal_discs_cancel_but_for_their_distance() -> None:
    same = shaft_of(built(presser("A"), presser("B", start=200.0)))
    against = shaft_of(built(presser("A"), presser("B", start=200.0, station_deg=180.0)))
    assert same.deflection_mm["a"].value > 10 * against.deflection_mm["a"].value


def test_a_force_at_a_station_bends_the_shaft_away_from_it() -> None:
    shaft = shaft_of(built(presser("A", 20.0, station_deg=30.0)))
    force = shaft.forces_n[0]
    at = np.radians(30.0)
    assert force[:, 0] == pytest.approx([-20 * np.cos(at), -20 * np.sin(at)])


def test_the_force_turns_against_the_drive() -> None:
    """Statics: the moment of the contact force about the axis is the torque that the lane takes."""
    for turn, sign in (("clockwise", -1), ("counterclockwise", 1)):
        shaft = shaft_of(built(gate("A", 100, 130, load=weight(20.0), follower=ROLLER), turn=turn))
        one = shaft.case.lanes["a"]
        at = one.loads.profile.at(OWN_DEG)
        turned = np.exp(1j * np.radians(at.placement.direction * OWN_DEG))
        place = at.profile * turned
        moment = place.real * one.force_n[1] - place.imag * one.force_n[0]
        assert np.abs(one.own_torque_nm).max() > 0.01
        assert -sign * moment / 1000 == pytest.approx(one.own_torque_nm, abs=1e-9)


def numeric(shaft: StackShaft, z: Reals, at: int) -> tuple[Reals, Reals]:
    """Integrate u'' = -M / (E I) twice with the trapezoid rule, u 0 at both bearings: (m,) along x and y.

    A second route: reactions from the balance of moments, the moment by adding forces, no influence lines.
    """
    low, high = shaft.case.bearings_mm
    found = []
    for axis in (0, 1):
        forces = shaft.forces_n[:, axis, at]
        upper = -(forces * (shaft.places_mm - low)).sum() / (high - low)
        lower = -forces.sum() - upper
        moment = lower * (z - low)
        for force, place in zip(forces, shaft.places_mm, strict=True):
            moment = moment + force * np.maximum(z - place, 0.0)
        step = np.diff(z)
        bend = moment / shaft.case.figures.bending_nmm2
        slope = np.append(0.0, np.cumsum((bend[1:] + bend[:-1]) / 2 * step))
        line = np.append(0.0, np.cumsum((slope[1:] + slope[:-1]) / 2 * step))
        found.append(line - line[-1] * (z - low) / (high - low))
    return found[0], found[1]


def test_many_discs_by_a_second_route() -> None:
    stations = (10.0, 75.0, 140.0, 200.0, 310.0)
    lanes = [
        gate(f"L{i}", 40.0 + 30 * i, 60.0 + 30 * i, load=weight(8.0 + 5 * i), station_deg=s, follower=ROLLER)
        for i, s in enumerate(stations)
    ]
    shaft = shaft_of(built(*lanes, own=stack(rod(below_mm=22.0, above_mm=24.0))))
    low, high = shaft.case.bearings_mm
    z = np.linspace(low, high, 20001)
    for lane_id, worst in shaft.deflection_mm.items():
        at = int(np.argmin(np.abs(OWN_DEG - worst.own_deg)))
        x, y = numeric(shaft, z, at)
        place = shaft.places_mm[shaft.disc_ids.index(lane_id)]
        wanted = np.hypot(np.interp(place, z, x), np.interp(place, z, y))
        assert worst.value == pytest.approx(wanted, rel=1e-5)


def test_twist_between_the_hub_and_a_disc() -> None:
    """T l / (G J): l from the bottom face to the disc's middle, G = E / 2.6."""
    shaft = shaft_of(built(presser("A", 20.0), presser("B", 20.0, 200.0)))
    torque = shaft.case.lanes["b"].own_torque_nm
    z = shaft.places_mm[1]
    own = shaft.torques_nm[1]
    assert own == pytest.approx(torque)
    g, j = E_STEEL / 2.6, pi * 6**4 / 32
    twist = 1000 * (torque * z + shaft.torques_nm[0] * shaft.places_mm[0]) / (g * j)
    assert shaft.twist_deg["b"].value == pytest.approx(np.degrees(twist[np.argmax(np.abs(twist))]), rel=1e-9)


def test_the_tooth_pushes_in_the_worst_direction() -> None:
    """By hand: torque over the pitch radius m z / 2 = 20 mm and over cos 20°, 5 mm under the stack."""
    stage = Stage(driver_teeth=10, driven_teeth=40, kind="external", module_mm=1.0, face_mm=10.0)
    source = CrankSource(kind="crank", radius_mm=80.0, turn="counterclockwise")
    lanes = (presser("A", 20.0),)
    bare = shaft_of(built(*lanes))
    geared = shaft_of(built(*lanes, drive=Drive(source=source, stages=(stage,))))
    assert geared.case.left_out == ()
    tooth = np.abs(bare.torques_nm[0]) * 1000 / 20 / np.cos(np.radians(20))
    assert geared.tooth_n == pytest.approx(tooth)
    assert geared.case.hub_mm == -5.0
    at_lower = (85 - 35) / 85  # share of the lower bearing, 35 mm below the hub
    wanted = 10 + tooth.max() * at_lower
    assert geared.reactions_n[0].value == pytest.approx(wanted)


@pytest.mark.parametrize("kind", ["belt", "chain"])
def test_the_force_of_a_belt_is_left_out_and_said(kind: str) -> None:
    stage = Stage(driver_teeth=10, driven_teeth=40, kind=kind, module_mm=1.0)
    source = CrankSource(kind="crank", radius_mm=80.0, turn="clockwise")
    shaft = shaft_of(built(presser("A"), drive=Drive(source=source, stages=(stage,))))
    assert shaft.case.left_out == (f"The force of the {kind} stage on the shaft is not counted.",)
    assert not shaft.tooth_n.any()


def test_a_stiff_shaft_changes_nothing() -> None:
    lanes = (presser("A", 20.0), presser("B", 20.0, 200.0))
    stiff = Material(name="stiff", modulus_gpa=2000.0, poisson=0.3, contact_mpa=600.0)
    own = stack(rod(20.0, material="stiff", below_mm=1.0, above_mm=1.0), 20.0, fixing="glued")
    with_rod = examine(built(*lanes, own=own, materials=(stiff,)))
    without = examine(built(*lanes, own=Stack(id="s", bore=own.bore, fixing="glued"), materials=(stiff,)))
    assert with_rod.findings == without.findings
    assert with_rod.shafts is not None
    assert max(map(abs, with_rod.shafts.lift_errors_mm.values())) < 1e-5
    assert max(map(abs, with_rod.shafts.twists_deg.values())) < 1e-4


def test_a_rider_presses_the_disc_that_it_runs_on() -> None:
    first = presser("A", 20.0, follower=ROLLER)
    rider = Lane(
        id="b", name="B", kind="rider", disc_of="a", station_deg=180.0, load=weight(20.0), follower=ROLLER
    )
    shaft = shaft_of(built(first, rider))
    assert shaft.disc_ids == ("a",)
    opposed = shaft.forces_n[0][:, 200]  # at 20° both are in a dwell: closed from 190° on to 40°
    assert opposed == pytest.approx([0.0, 0.0], abs=1e-9)


def test_angles_of_a_stack_that_turns_twice_are_of_the_master_shaft() -> None:
    own = stack(rod(1.0), turns=2)
    report = examine(built(gate("A", 100, 130, load=weight(20.0), follower=ROLLER), own=own))
    (found, *_) = of_rule(report, "shaft-bends")
    shaft = report.shafts.stacks["s"]  # type: ignore[union-attr]
    assert found.facts["at_deg"] == pytest.approx(shaft.deflection_mm["a"].own_deg / 2)
    assert wrap(float(found.facts["at_deg"])) < 180


def test_the_strongest_spring_bends_the_shaft() -> None:
    """A spring of 20 N that may be 20 % stronger bends it as 24 N do."""
    stated = shaft_of(built(presser("A", 24.0))).deflection_mm["a"].value
    lane = replaced(presser("A", 20.0), load=weight(20.0, spring_tolerance_percent=20.0))
    assert shaft_of(built(lane)).deflection_mm["a"].value == pytest.approx(stated, rel=1e-9)
