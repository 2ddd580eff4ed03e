"""Motion through a Geneva stage against a route of its own: closed forms differentiated by mpmath.

The wheel: phi = atan2(lambda sin t, 1 - lambda cos t), lambda = sin(pi / n); the rise of a lane with the
cycloidal law: s = h (x - sin(2 pi x) / (2 pi)), x the share of the move (textbook formulas, from memory).
"""

from __future__ import annotations

import mpmath as mp
import numpy as np
import pytest

from shaftscore.judge.loads import machine_loads
from shaftscore.solution import solve
from shaftscore.solution.cycles import motion_at, stepped_peaks
from tests.core.judge.loads.test_stepped import stepped

SLOTS, START, RISE, LOW_END, HIGH_START = 6, 90.0, 8.0, 10.0, 50.0


def _output(seconds: mp.mpf) -> mp.mpf:
    """Return the output in the first step by time from the master's 0, mm; 30 rev/min are 180 deg/s."""
    lam = mp.sin(mp.pi / SLOTS)
    half = mp.mpf(90) - mp.mpf(180) / SLOTS
    t = mp.radians(180 * seconds - START - half)
    wheel = mp.mpf(180) / SLOTS + mp.degrees(mp.atan2(lam * mp.sin(t), 1 - lam * mp.cos(t)))
    x = (wheel - LOW_END) / (HIGH_START - LOW_END)
    return RISE * (x - mp.sin(2 * mp.pi * x) / (2 * mp.pi))


@pytest.mark.parametrize("master_deg", [135.0, 150.0, 158.0])
def test_velocity_acceleration_and_jerk_are_those_through_the_stage(master_deg: float) -> None:
    project = stepped({"moving_mass_g": 40, "friction_n": 0})
    lanes = [project.lanes[0].model_copy(update={"law": "cycloidal"})]
    solved = solve(project.model_copy(update={"lanes": tuple(lanes)})).lanes["arm"]
    found = motion_at(solved, np.array([master_deg / 6]))[1][:, 0]
    with mp.workdps(50):
        seconds = mp.mpf(master_deg) / 180
        for order in range(4):
            expected = float(mp.diff(_output, seconds, order))
            assert found[order] == pytest.approx(expected, rel=1e-8), order


def test_the_force_of_inertia_is_mass_by_the_composed_acceleration() -> None:
    """F = m s'' along the travel of a translating follower (Newton), s'' by differences of positions."""
    light, heavy = (solve(stepped({"moving_mass_g": grams, "friction_n": 0})) for grams in (100, 600))
    solved = heavy.lanes["arm"]
    circle = np.linspace(16.0, 33.0, 4001)
    step_s = float(circle[1] - circle[0]) * 6 / 180
    output = motion_at(solved, circle)[1][0]
    bend = np.gradient(np.gradient(output, step_s), step_s)[10:-10]
    own = solved.course.own(circle)[0]
    forces = [machine_loads(one).lanes["arm"].forces(own, 30.0).driving_n[10:-10] for one in (light, heavy)]
    more = forces[1] - forces[0]
    assert more == pytest.approx(0.5 * bend / 1000, abs=2e-3 * float(np.max(np.abs(more))))


def test_peaks_are_those_of_positions() -> None:
    solved = solve(stepped({"moving_mass_g": 40, "friction_n": 0})).lanes["arm"]
    circle = np.linspace(15.0, 36.0, 400_001)
    step_s = float(circle[1] - circle[0]) * 6 / 180
    output = motion_at(solved, circle)[1][0]
    velocity, _, _ = stepped_peaks(solved)
    assert velocity == pytest.approx(float(np.max(np.abs(np.gradient(output, step_s)))), rel=1e-4)
