"""weak-stage: a pin, a slot's lip or a counted tooth that is bent too much, or that is too fast.

In each step the wheel gives its stack the torque of its followers and turns the mass of discs and wheel. The
pin presses the slot at its distance from the wheel's axis, which changes through the step. It is a beam that
the plate holds, pressed in the middle of the wheel; the lip is a tapered beam, pressed where the pin enters
(`shaftscore.built.geneva`). Allowed are two thirds of the yield of an ordinary steel pin, and a third of the
strength of the weakest disc's material for the wheel, as for teeth. Of counted teeth one carries all at its
tip (`shaftscore.built.lewis`). A stack that is stepped on in its turn adds the most that it asks for in any
of its steps, without the torque that its mass takes.

The mass is that of solid discs: an upper bound. A wheel starts each step with a jump of acceleration, which
the clearance of the slot turns into a knock that grows with the speed of the pin; counted teeth start it
with a jump of speed.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite, pi

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.base.tolerance import over
from shaftscore.base.wording import millimetres, rpm
from shaftscore.built.geneva import GenevaShape, lip_stress_mpa, pin_stress_mpa
from shaftscore.built.lewis import allowed_mpa, form_factor, tooth_stress_mpa
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.judge.loads.machine import MachineLoads
from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.intermittent import stage_of
from shaftscore.layout.bed import stack_material
from shaftscore.layout.stacks import stages_of
from shaftscore.layout.stepping import RUN_MM, CountedStepStage, GenevaStepStage, StepStage
from shaftscore.model import Project, Stack
from shaftscore.model.materials import density_g_cm3, materials_of
from shaftscore.stack import stack_plan

STAGE_RULES = ("weak-stage",)
"""Rules judged for intermittent stages."""

PIN_MPA = 160.0
"""Bending stress that a pin may have: two thirds of 240 MPa, an ordinary steel (from memory)."""

PIN_SPEED_MM_S = 300.0
"""Speed of a pin over which a printed wheel is said to knock (common practice, no source)."""

TOOTH_SPEED_MM_S = 150.0
"""Speed of counted teeth, which carry the wheel along at once, over which they are said to knock, mm/s.

Half of that of a pin (common practice, no source)."""

PLACES = 121
"""Places of a step that are looked at."""


def stage_findings(machine: MachineLoads) -> Iterator[Finding]:
    """Judge the stages that can be made."""
    for stage in stages_of(machine.project):
        force = peak_force_n(machine, stage)
        if isinstance(stage, GenevaStepStage):
            if isfinite(force):
                yield from _weak(machine.project, stage, force)
            radius, most, what = stage.shape.crank_mm, PIN_SPEED_MM_S, "speed"
        else:
            assert isinstance(stage, CountedStepStage), "a stage has a pin or counted teeth"
            if isfinite(force):
                yield from _weak_teeth(machine.project, stage, force)
            radius, most, what = stage.shape.pair.pinion.reference_mm, TOOTH_SPEED_MM_S, "tooth speed"
        yield from _fast(machine.project, stage, (radius, most, what))


def _weak_teeth(project: Project, stage: CountedStepStage, force_n: float) -> Iterator[Finding]:
    """Yield a finding of counted teeth, or of those of their wheel, that are bent too much."""
    steps, name = stage.steps, stack_material(project, stage.driven.id)
    strength = materials_of(project)[name].strength_mpa
    if strength is None:
        return
    factor = min(form_factor(count) for count in (steps.teeth, steps.driven_teeth))
    stress = tooth_stress_mpa(force_n, steps.thickness_mm, steps.module_mm, factor)
    allowed = allowed_mpa(strength)
    if over(stress, allowed, allowed):
        wide = millimetres(steps.thickness_mm * stress / allowed * RESERVE)
        yield _found(
            stage, "teeth", stress, allowed, f"Wheels of {wide}, a larger module or a stronger material."
        )


def _weak(project: Project, stage: GenevaStepStage, force_n: float) -> Iterator[Finding]:
    """Yield findings of a pin and of lips that are bent too much."""
    steps, name = stage.steps, stack_material(project, stage.driven.id)
    strength = materials_of(project)[name].strength_mpa
    pin = pin_stress_mpa(force_n, RUN_MM + steps.thickness_mm / 2, stage.shape.pin_mm)
    if over(pin, PIN_MPA, PIN_MPA):
        yield _found(stage, "pin", pin, PIN_MPA, "A thicker pin, or a larger centre distance.")
    if strength is None:
        return
    lip, allowed = lip_stress_mpa(stage.shape, force_n, steps.thickness_mm), allowed_mpa(strength)
    if over(lip, allowed, allowed):
        wide = millimetres(steps.thickness_mm * lip / allowed * RESERVE)
        yield _found(stage, "slots", lip, allowed, f"A wheel of {wide}, or a stronger material.")


RESERVE = 1.1
"""Reserve of the thickness that is named."""


def _fast(project: Project, stage: StepStage, judged: tuple[float, float, str]) -> Iterator[Finding]:
    """Yield a finding of a pin or teeth too fast at the highest speed; judged: radius, limit, which it is."""
    radius, most, what = judged
    rate = float(project.rates[stage.driving.id])
    top = project.shaft.top_speed_rpm
    speed = radius * 2 * pi * top * rate / 60
    if over(speed, most, most):
        smaller = "centre distance" if what == "speed" else "module"
        cure = f"At most {rpm(top * most / speed)} at the master, or a smaller {smaller}."
        yield _found(stage, what, speed, most, cure)


def _found(stage: StepStage, what: str, value: float, limit: float, cure: str) -> Finding:
    place = PLACE + 10 * stage.number + ("pin", "slots", "speed", "teeth", "tooth speed").index(what)
    return found(
        "weak-stage",
        (),
        value=value,
        limit=limit,
        place=place,
        cure=Cure(sentence=cure),
        stack=stage.driven.label,
        what=what,
    )


PLACE = 300
"""Findings of stages come after those of gears."""


def peak_force_n(machine: MachineLoads, stage: StepStage) -> float:
    """Return the greatest force of pin or tooth over all steps at the highest speed, N."""
    project, steps = machine.project, stage.steps
    motion, count = stage_of(steps), steps.driver_turns
    crank = np.linspace(0.0, motion.engaged_deg, PLACES)
    turned, _, bend, _ = motion.course(crank)
    speed = 2 * pi * project.shaft.top_speed_rpm * float(project.rates[stage.driving.id]) / 60
    own = np.concatenate([turned + motion.step_deg * step for step in range(count)])
    inertia = np.tile(bend * speed**2 * inertia_kg_m2(machine, stage), count)
    torque = np.abs(_torque_nm(machine, stage.driven, wrap(own)) + inertia)
    torque += _further_nm(machine, stage.driven, wrap(own))
    if isinstance(stage.shape, GenevaShape):
        arm = [stage.shape.pin_arm_mm(np.radians(one - motion.engaged_deg / 2)) for one in crank]
    else:
        arm = [stage.shape.pair.wheel.reference_mm] * len(crank)
    return float(np.max(1000 * torque / np.tile(arm, count)))


def _torque_nm(machine: MachineLoads, stack: Stack, own_deg: Reals) -> Reals:
    """Return the torque of the followers of a stack at angles of its own, (n,) degrees, N·m."""
    total = np.zeros(len(own_deg))
    for loads in machine.lanes.values():
        if loads.solved.stack == stack.id:
            total += loads.torque_at(own_deg, loads.top_rpm)
    return total


def _further_nm(machine: MachineLoads, stack: Stack, own_deg: Reals) -> Reals:
    """Return the most that stacks ask for that a stack steps on, at angles of its own, (n,) degrees, N·m.

    Of each the step in which it asks for most counts, followers alone, through the ratio of its stage there.
    """
    total = np.zeros(len(own_deg))
    for other in machine.project.stacks:
        steps = other.steps_from
        if steps is None or steps.stack != stack.id:
            continue
        motion = stage_of(steps)
        turned, ratio, *_ = motion.course(wrap(own_deg - steps.start_deg))
        asked = np.zeros(len(own_deg))
        for step in range(steps.driver_turns):
            there = wrap(turned + step * motion.step_deg)
            asked = np.maximum(
                asked, np.abs(_torque_nm(machine, other, there)) + _further_nm(machine, other, there)
            )
        total += asked * ratio / other.efficiency
    return total


def inertia_kg_m2(machine: MachineLoads, stage: StepStage) -> float:
    """Return the moment of inertia of wheel and discs of the driven stack, solid, by radii in mm: kg m²."""
    project, stack = machine.project, stage.driven
    density = density_g_cm3(project, stack_material(project, stack.id)) or 0.0
    own = [loads.profile for loads in machine.lanes.values() if loads.solved.stack == stack.id]
    reach = max((profile.max_radius_mm for profile in own), default=0.0)
    high = sum(one.top_mm - one.bottom_mm for one in stack_plan(project, stack).discs)
    rounds = ((stage.shape.wheel_mm, stage.wheel_thick_mm), (reach, high))
    return sum(pi / 2 * (radius / 1000) ** 4 * thick / 1000 * density * 1000 for radius, thick in rounds)
