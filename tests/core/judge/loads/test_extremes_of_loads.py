"""Extremes of force, torque, stress and grip against dense sampling: none is lost at the ends of pieces.

The reference samples the forces of the file format (section 6) at 2,000 places inside every stretch between
two joints of the motion, one-sided at its ends. Nothing of the search for extremes is used.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from shaftscore.base.angles import wrap
from shaftscore.judge.loads.lane import LaneLoads, lane_loads
from shaftscore.judge.loads.machine import machine_loads
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Lane, Load, SwingingRoller, TranslatingFlat, TranslatingRoller
from shaftscore.solution import solve
from tests.machines import block, lane, machine

Reals = npt.NDArray[np.float64]

FOLLOWERS = {
    "roller": TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0),
    "guided": TranslatingRoller(
        kind="translating-roller",
        roller_radius_mm=4.0,
        offset_mm=6.0,
        guide_length_mm=30.0,
        overhang_mm=15.0,
        guide_friction=0.2,
    ),
    "groove": TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove"),
    "flat": TranslatingFlat(kind="translating-flat", face_width_mm=80.0),
    "arm": SwingingRoller(
        kind="swinging-roller",
        roller_radius_mm=5.0,
        arm_mm=60.0,
        pivot_distance_mm=80.0,
        pivot_side="clockwise",
    ),
}
LAWS = (
    "parabolic",
    "simple-harmonic",
    "double-harmonic",
    "cycloidal",
    "modified-trapezoid",
    "modified-sine",
    "modified-constant-velocity",
    "polynomial-345",
    "polynomial-4567",
)


@st.composite
def loaded(draw: st.DrawFn) -> tuple[Lane, float]:
    law, follower = draw(st.sampled_from(LAWS)), draw(st.sampled_from(sorted(FOLLOWERS)))
    rise, fall = draw(st.integers(25, 120)), draw(st.integers(25, 120))
    load = Load(
        moving_mass_g=draw(st.sampled_from((0.0, 20.0, 150.0))),
        friction_n=draw(st.sampled_from((0.0, 1.5))),
        spring_preload_n=draw(st.sampled_from((0.0, 2.0, 8.0))),
        spring_rate_n_per_mm=draw(st.sampled_from((0.0, 0.4))),
        external_n=draw(st.sampled_from((0.0, 3.0))),
    )
    one = lane(
        "A",
        block("closed", 0, 60),
        block("open", 60 + rise, 360 - fall),
        law=law,
        follower=FOLLOWERS[follower],
        load=load,
        disc={"base_radius_mm": 40.0},
    )
    return one, draw(st.sampled_from((20.0, 120.0, 300.0)))


def loads_of(one: Lane, rpm: float) -> LaneLoads | None:
    project = machine(one, rpm=rpm)
    return lane_loads(project, solve(project).lanes["a"])


def dense(loads: LaneLoads, figure: Callable[[Reals], Reals], dwells: bool = False) -> Reals:
    """A figure at many places inside every stretch between joints, finite values alone.

    dwells: also where the follower rests.
    """
    found = []
    for piece in loads.profile.nodes.pieces:
        inset = 1e-6 * piece.length_deg
        theta = np.linspace(piece.start_deg + inset, piece.start_deg + piece.length_deg - inset, 2001)
        with np.errstate(all="ignore"):
            values = np.where(piece.moving or dwells, figure(wrap(theta)), np.nan)
        found.append(values[np.isfinite(values)])
    return np.concatenate(found)


def limits(loads: LaneLoads, theta: Reals) -> Reals:
    """The speed of the stack at which F of format section 6 is 0: steady + m a omega² = 0, rev/min."""
    forces = loads.forces(theta, 1.0)
    steady, inertia = forces.steady_n, forces.inertia_n_s2
    squared = np.where(inertia < 0, steady / -inertia, np.nan)
    return np.sqrt(np.where(steady <= 0, 0.0, squared)) * 30 / np.pi


@settings(max_examples=40)
@given(loaded())
def test_no_extreme_is_lost(made: tuple[Lane, float]) -> None:
    loads = loads_of(*made)
    if loads is None:
        return
    torque = dense(loads, lambda theta: loads.forces(theta, loads.speed_rpm).torque_nm)
    assert loads.peak_torque is not None
    if len(torque):
        assert loads.peak_torque.value >= torque.max() - 1e-9 * abs(torque).max()
    grip = dense(loads, lambda theta: loads.forces(theta, loads.speed_rpm).grip)
    assert loads.least_grip is not None
    assert loads.least_grip.value <= grip.min() + 1e-9
    contact = dense(loads, lambda theta: loads.forces(theta, loads.top_rpm).contact_n)
    if len(contact):
        assert loads.least_contact is not None
        assert loads.least_contact.value <= contact.min() + 1e-9 * abs(contact).max()
    # Without any force at rest contact is lost in a dwell, at every speed.
    speeds = dense(loads, lambda theta: limits(loads, theta), dwells=True)
    if not loads.is_groove and len(speeds):
        assert loads.float_speed is not None
        assert loads.float_speed.value <= speeds.min() * (1 + 1e-9)
        # Nor is anything found that is not there: the samples leave a millionth of it at most.
        assert loads.float_speed.value >= speeds.min() * (1 - 1e-4) - 1e-9


@pytest.mark.parametrize("move_deg", [0.02, 0.05, 0.3])
def test_the_sum_misses_no_move_that_is_shorter_than_its_grid(move_deg: float) -> None:
    """One lane alone: the sum at the master shaft is its own torque (format section 2)."""
    one = lane(
        "A",
        block("closed", 0, 60.03),
        block("open", 60.03 + move_deg, 250),
        law="cycloidal",
        load=Load(moving_mass_g=50.0, spring_preload_n=5.0, spring_tolerance_percent=0.0),
        disc={"base_radius_mm": 40.0},
    )
    shaft = machine_loads(solve(machine(one, rpm=0.01))).camshaft
    loads = loads_of(one, 0.01)
    assert loads is not None
    torque = dense(loads, lambda theta: loads.forces(theta, 0.01).torque_nm)
    assert shaft.peak is not None
    assert shaft.peak.value == pytest.approx(torque.max(), rel=1e-5)


@pytest.mark.parametrize("law", ["modified-trapezoid", "modified-sine", "modified-constant-velocity"])
def test_a_machine_just_above_its_float_speed_floats(law: str) -> None:
    """A spring whose rate makes the least contact lie just after a joint of the law."""
    worst = 0.0
    for rate in (0.5, 2.0, 8.0, 20.0):
        for fall in range(30, 110, 7):
            one = _springy(law, rate, fall)
            loads = loads_of(one, 100.0)
            assert loads is not None
            if loads.float_speed is None:
                continue
            true = float(dense(loads, lambda theta, of=loads: limits(of, theta)).min())
            worst = max(worst, loads.float_speed.value / true - 1)
    assert worst < 1e-7


def _springy(law: str, rate: float, fall: int) -> Lane:
    load = Load(moving_mass_g=100.0, spring_preload_n=1.0, spring_rate_n_per_mm=rate)
    return lane(
        "A",
        block("closed", 0, 60),
        block("open", 130, 360 - fall),
        law=law,
        load=load,
        disc={"base_radius_mm": 40.0},
    )


def test_float_is_found_from_its_very_speed_on() -> None:
    one = _springy("modified-trapezoid", 8.0, 58)
    loads = loads_of(one, 100.0)
    assert loads is not None
    true = float(dense(loads, lambda theta: limits(loads, theta)).min())
    for share, floats in ((0.9999, False), (1.0001, True)):
        report = examine(machine(one, rpm=true * share), stage=QUICK)
        assert ("float" in {finding.rule for finding in report.findings}) == floats, share
