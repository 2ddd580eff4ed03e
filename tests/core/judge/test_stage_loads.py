"""Torque through an intermittent stage: power is neither made nor lost in it."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.judge.loads.course import geared_at
from shaftscore.judge.loads.stage import peak_force_n
from shaftscore.judge.report import examine_as_drawn
from shaftscore.layout.stepping import step_stages
from shaftscore.model import Load, replaced
from tests.stage_machine import counted_machine, stage_machine


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
    rests = np.abs(geared_at(loads.lanes["b"].solved.course, even)[1]) < 1e-9
    assert np.mean(rests) == pytest.approx(1 - 0.4, abs=1e-3)  # 144 of 360 degrees in motion, IG01
    assert np.all(master[rests] == 0.0)


def test_a_strong_load_bends_pin_and_slots_and_a_fast_pin_is_told() -> None:
    """By hand, amid a step: T / (c - a) = force, pin 32 F l / (pi d^3) at l = 0.5 + 2.5 mm."""
    project = stage_machine(pin_diameter_mm=2)
    load = Load(moving_mass_g=20, friction_n=2.0, spring_preload_n=150.0, spring_rate_n_per_mm=10.0)
    lanes = tuple(replaced(lane, load=load, blocks=project.lanes[0].blocks) for lane in project.lanes)
    report = examine_as_drawn(replaced(project, lanes=lanes))
    weak = {str(one.facts["what"]): one for one in report.findings if one.rule == "weak-stage"}
    assert set(weak) == {"slots", "pin"}
    (stage,) = step_stages(project)
    force = peak_force_n(report.loads, stage)
    assert weak["pin"].value == pytest.approx(32 * force * 3.0 / (np.pi * 2.0**3))
    own = np.abs(report.loads.lanes["b"].torque_at(np.linspace(0, 360, 3601), 6.0)).max()
    assert own * 1000 / stage.shape.wheel_mm <= force <= 1.001 * own * 1000 / stage.shape.end_mm
    fast = replaced(project, shaft=replaced(project.shaft, speed_rpm=150.0))
    (told,) = [one for one in examine_as_drawn(fast).findings if one.rule == "weak-stage"]
    assert told.value == pytest.approx(22.249 * 2 * np.pi * 2.5, rel=1e-4)  # crank radius by its own test


def test_one_counted_tooth_carries_the_torque_and_a_third_stack_adds_its_own() -> None:
    """By hand: force = torque / (3.6 mm x 20 / 2), Lewis F / (b m Y) with Y = 0.320 of 20 teeth (its table).

    A third stack, stepped on by the second through equal wheels, takes as much torque through a ratio of 1
    while it is in mesh, so that the teeth of the first stage carry the two together at most.
    """
    load = Load(moving_mass_g=20, friction_n=2.0, spring_preload_n=700.0, spring_rate_n_per_mm=10.0)
    plain = counted_machine()
    lanes = tuple(replaced(lane, load=load, blocks=plain.lanes[0].blocks) for lane in plain.lanes)
    project = replaced(plain, lanes=lanes)
    report = examine_as_drawn(project)
    (stage,) = step_stages(project)
    own = np.abs(report.loads.lanes["b"].torque_at(np.linspace(0, 360, 3601), 6.0)).max()
    force = peak_force_n(report.loads, stage)
    assert force == pytest.approx(1000 * own / 36.0, rel=0.02)
    (weak,) = [one for one in report.findings if one.rule == "weak-stage"]
    assert (weak.facts["what"], weak.value) == ("teeth", pytest.approx(force / (5 * 3.6 * 0.320)))
    fast = replaced(plain, shaft=replaced(plain.shaft, speed_rpm=60.0))
    (told,) = [one for one in examine_as_drawn(fast).findings if one.rule == "weak-stage"]
    assert (told.facts["what"], told.value) == ("tooth speed", pytest.approx(36.0 * 2 * np.pi))
    ones, tens = project.stacks
    steps = replaced(tens.steps_from, stack="tens")
    third = replaced(tens, id="hundreds", driven_end="bottom", steps_from=steps)
    further = replaced(lanes[1], id="c", code="C1", stack="hundreds")
    longer = replaced(project, stacks=(ones, tens, third), lanes=(*lanes, further))
    first = step_stages(longer)[0]
    both = peak_force_n(examine_as_drawn(longer).loads, first)
    assert force <= both <= 2.02 * force
    idle = replaced(longer, lanes=(lanes[0], replaced(lanes[1], load=None), further))
    assert peak_force_n(examine_as_drawn(idle).loads, first) > 0.5 * force
