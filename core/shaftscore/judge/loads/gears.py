"""weak-gear: teeth of the drive train that the peak torque bends by more than their material allows.

The torque goes from the master shaft back through the train: each stage's driver gives what its driven
wheel needs, and its losses. The force is that at the reference circle; the wheel of fewer teeth is the
weaker one. Allowed is a third of the material's strength (`lewis.SAFETY`), of the weakest disc of the first
stack, whose material the wheels are made of. Without loads the torque is that which the source gives.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import isfinite

import numpy as np

from shaftscore.base.tolerance import over
from shaftscore.base.wording import millimetres, plain, up_to
from shaftscore.built.gears import MODULES_MM
from shaftscore.built.lewis import allowed_mpa, face_for_mm, form_factor, tangential_force_n, tooth_stress_mpa
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.judge.loads import drive as train
from shaftscore.judge.loads.machine import MachineLoads
from shaftscore.layout.coupled import HubWheel, hub_wheels
from shaftscore.layout.gears import LEAST_TEETH, face_mm, is_made
from shaftscore.layout.train import pinion_plans
from shaftscore.model import Project, Stack, Stage
from shaftscore.model.materials import materials_of

GEAR_RULES = ("weak-gear",)
"""Rules judged for a project with a drive."""

MOST_FACE_MODULES = 12.0
"""Wider teeth do not carry along their whole width (common practice, no source)."""

FACE_STEP_MM = 0.5
"""Face widths in cures are rounded up to this."""


@dataclass(frozen=True)
class ToothLoad:
    """The load on the weaker wheel of a stage.

    number: of the stage, from 1. torque_nm: at its driven wheel. teeth, factor: of the weaker wheel, and its
    form factor. drives: whether that is the driver.
    """

    number: int
    stage: Stage
    torque_nm: float
    teeth: int
    factor: float
    drives: bool

    def force_n(self, module_mm: float) -> float:
        """Return the tangential force with a module in mm, N: losses count, as the driver gives them too."""
        radius = module_mm * self.stage.driven_teeth / 2
        return tangential_force_n(self.torque_nm, radius) / self.stage.efficiency_used

    @property
    def stress_mpa(self) -> float:
        """Stress at the root, MPa."""
        module = self.stage.module_mm or 1.0
        return tooth_stress_mpa(self.force_n(module), face_mm(self.stage), module, self.factor)

    def face_for(self, module_mm: float, allowed_mpa: float, reserve: float) -> float:
        """Return the face width that holds a stress in MPa with a reserve, a factor, mm; rounded up."""
        width = face_for_mm(self.force_n(module_mm) * reserve, allowed_mpa, module_mm, self.factor)
        return up_to(width, FACE_STEP_MM)


def tooth_loads(project: Project, torque_nm: float) -> Iterator[ToothLoad]:
    """Yield the load of each stage that is made, last one first; torque_nm: at the master shaft.

    Wheels of too few teeth to be made have a finding of their own.
    """
    stages = () if project.drive is None else project.drive.stages
    for number in range(len(stages), 0, -1):
        stage = stages[number - 1]
        if is_made(stage) and min(stage.driver_teeth, stage.driven_teeth) >= LEAST_TEETH:
            yield _load(number, stage, torque_nm)
        torque_nm /= stage.driven_teeth / stage.driver_teeth * stage.efficiency_used


def _load(number: int, stage: Stage, torque_nm: float) -> ToothLoad:
    own = form_factor(stage.driver_teeth)
    mate = form_factor(stage.driven_teeth, internal=stage.kind == "internal")
    teeth = stage.driver_teeth if own <= mate else stage.driven_teeth
    return ToothLoad(number, stage, torque_nm, teeth, min(own, mate), own <= mate)


def gear_material(project: Project) -> tuple[str, float | None]:
    """Return the name of the weakest material of the first stack's discs, and its strength in MPa.

    None where one of them states no strength.
    """
    table = materials_of(project)
    discs = project.discs_of(project.stacks[0])
    named = sorted({lane.disc.material for lane in discs}) or ["PLA"]
    known = {name: table[name].strength_mpa for name in named}
    missing = [name for name, strength in known.items() if strength is None]
    if missing:
        return missing[0], None
    name = min(named, key=lambda one: known[one] or 0.0)
    return name, known[name]


def gear_findings(project: Project, peak_nm: float | None) -> Iterator[Finding]:
    """Judge the teeth of every stage that is made; peak_nm: at the master shaft, None without loads."""
    drive = project.drive
    if drive is None or (peak_nm is not None and not isfinite(peak_nm)):
        return
    torque = train.given_torque_nm(drive) if peak_nm is None else peak_nm
    loads = [load for load in tooth_loads(project, torque) if load.torque_nm > 0]
    if not loads:
        return
    material, strength = gear_material(project)
    if strength is None:
        why = f"The teeth of the gears are not checked: {material} states no strength."
        yield found("not-checked", (), place=GEAR_PLACE, why=why)
        return
    allowed = allowed_mpa(strength)
    for load in loads:
        if over(load.stress_mpa, allowed, allowed):
            yield _weak(project, load, allowed)


def stack_gear_findings(machine: MachineLoads) -> Iterator[Finding]:
    """Judge the wheels by which stacks are geared to one another, at the peak of what each drives."""
    project = machine.project
    try:
        wheels = hub_wheels(project)
    except ValueError:  # a bad part, which says why
        return
    geared = [
        (place, stack)
        for place, stack in enumerate(project.stacks)
        if stack.id in wheels and wheels[stack.id].mate
    ]
    material, strength = gear_material(project)
    if not geared:
        return
    if strength is None:
        why = f"The teeth of the wheels between stacks are not checked: {material} states no strength."
        yield found("not-checked", (), place=STACK_GEAR_PLACE, why=why)
        return
    for place, stack in geared:
        yield from _weak_between(machine, stack, wheels, allowed_mpa(strength), STACK_PLACE + place)


def _weak_between(
    machine: MachineLoads, stack: Stack, wheels: Mapping[str, HubWheel], allowed: float, place: int
) -> Iterator[Finding]:
    """Yield a finding where the teeth between a stack and the one that drives it are too weak."""
    own = wheels[stack.id]
    teeth = min(own.wheel.teeth, wheels[own.mate].wheel.teeth)
    module = own.wheel.module_mm
    force = tangential_force_n(_stack_peak_nm(machine, stack, wheels), own.wheel.reference_mm)
    stress = tooth_stress_mpa(force, own.face_mm, module, form_factor(teeth))
    if not over(stress, allowed, allowed):
        return
    wanted = next((row for row in MODULES_MM if _holds(row, module, stress, allowed)), None)
    text = "A stronger material, or more teeth." if wanted is None else f"Module {plain(wanted)} mm."
    yield found(
        "weak-gear",
        (),
        value=stress,
        limit=allowed,
        place=place,
        cure=Cure(sentence=text),
        stack=stack.label,
        teeth=teeth,
        wheel="driven wheel" if teeth == own.wheel.teeth else "driver",
    )


STACK_PLACE = 100
"""Findings of stacks come after those of stages, which are fewer."""


def _holds(module_mm: float, now_mm: float, stress_mpa: float, allowed_mpa: float) -> bool:
    """Return whether a larger module holds with reserve: force, width and module all change with it."""
    return module_mm > now_mm and stress_mpa * (now_mm / module_mm) ** 3 * MODULE_RESERVE <= allowed_mpa


MODULE_RESERVE = 1.5
"""Reserve of the modules that are named for geared stacks: the default of a drive's torque."""


def _stack_peak_nm(machine: MachineLoads, stack: Stack, wheels: Mapping[str, HubWheel]) -> float:
    """Return the greatest torque that goes into a stack and those that it drives, at its own shaft, N·m."""
    driven = {stack.id}
    for other, wheel in wheels.items():  # in the order in which they drive one another
        if wheel.mate in driven:
            driven.add(other)
    by_lane = machine.camshaft.by_lane  # empty where the torque is not added up, which is then said
    on = {lane: loads.solved.stack for lane, loads in machine.lanes.items()}
    own = [by_lane[lane] for lane, stack_id in on.items() if stack_id in driven and lane in by_lane]
    turns = machine.project.turns_of(stack)
    return float(np.max(np.abs(np.sum(own, axis=0)), initial=0.0)) / turns if own else 0.0


GEAR_PLACE, STACK_GEAR_PLACE = 900, 901
"""Places of these findings among those of fields that are not checked."""


def _weak(project: Project, load: ToothLoad, allowed: float) -> Finding:
    return found(
        "weak-gear",
        (),
        value=load.stress_mpa,
        limit=allowed,
        place=load.number,
        cure=_cure(project, load, allowed),
        stage=load.number,
        teeth=load.teeth,
        wheel="driver" if load.drives else "driven wheel",
    )


def _cure(project: Project, load: ToothLoad, allowed: float) -> Cure:
    """Return wider teeth, or a larger module, that hold with the drive's reserve."""
    assert project.drive is not None, "teeth belong to a drive"
    reserve = project.drive.torque_reserve

    def holds(edited: Project) -> bool:
        own = next(one for one in tooth_loads(edited, _torque(edited, load)) if one.number == load.number)
        return own.stress_mpa * reserve <= allowed * (1 + 1e-9) and _is_sound(edited)

    cure = first_verified(project, _attempts(load, allowed, reserve), holds)
    return cure or Cure(
        sentence=f"A stronger material, or a larger module and centre distance in stage {load.number}."
    )


def _torque(edited: Project, load: ToothLoad) -> float:
    """Return the torque at the master shaft that loads a stage as before, N·m."""
    stages = () if edited.drive is None else edited.drive.stages[load.number :]
    torque = load.torque_nm
    for stage in stages:
        torque *= stage.driven_teeth / stage.driver_teeth * stage.efficiency_used
    return torque


def _is_sound(project: Project) -> bool:
    """Return whether the wheels of a project can be made."""
    try:
        pinion_plans(project)
    except ValueError:
        return False
    return True


def _attempts(load: ToothLoad, allowed: float, reserve: float) -> Iterator[Attempt]:
    """Yield a wider face, then ever larger modules with the face that they need."""
    module = load.stage.module_mm or 1.0
    for wanted in (module, *(row for row in MODULES_MM if row > module)):
        face = max(load.face_for(wanted, allowed, reserve), face_mm(load.stage))
        if face > MOST_FACE_MODULES * wanted:
            continue
        fields: dict[str, object] = {"number": load.number, "face_mm": face}
        text = f"Face width {millimetres(face)} in stage {load.number}."
        if wanted > module:
            fields["module_mm"] = wanted
            text = f"Module {plain(wanted)} mm and face width {millimetres(face)} in stage {load.number}."
        yield Attempt("set_stage", fields, text)
