"""Torque through an intermittent stage: power is neither made nor lost in it."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.judge.report import examine_as_drawn
from shaftscore.model import Load, replaced
from tests.stage_machine import stage_machine


def test_the_work_at_the_master_is_that_at_the_stepped_stack() -> None:
    """Over ten cycles the stepped stack turns once: the integrals of torque over angle agree (power balance).

    The master's own lane takes the same work in each cycle. An efficiency of 0.8 asks for a quarter more.
    """
    project = stage_machine()
    ones, tens = project.stacks
    load = Load(moving_mass_g=20, friction_n=0.4, spring_preload_n=3.0, spring_rate_n_per_mm=0.3)
    blocks = project.lanes[0].blocks
    lanes = tuple(replaced(lane, load=load, blocks=blocks) for lane in project.lanes)
    lossy = replaced(tens, efficiency=0.8)
    loads = examine_as_drawn(replaced(project, stacks=(ones, lossy), lanes=lanes)).loads
    even = np.linspace(0.0, 360.0, 40_000, endpoint=False)
    own = loads.lanes["b"].torque_at(even, 6.0)
    master = loads.camshaft.torque_of("b", even)  # over the round: ten cycles
    work = float(np.mean(own)) * 2 * np.pi / 0.8
    assert float(np.mean(master)) * 2 * np.pi * 10 == pytest.approx(work, rel=2e-3)
    rests = np.abs(loads.lanes["b"].on_circle(even)[1]) < 1e-9
    assert np.mean(rests) == pytest.approx(1 - 0.4, abs=1e-3)  # 144 of 360 degrees in motion, IG01
    assert np.all(master[rests] == 0.0)
