"""One describing function a rule: (finding, project) -> the sentence what, by how much, against which limit.

Each function's text lists the finding's fields that it reads; who makes the finding must give them.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType

from shaftscore.judge.findings.describing import (
    drive,
    fits,
    flow,
    heights,
    machine,
    shaft,
    shape,
    springs,
    timing,
)
from shaftscore.judge.findings.record import Finding
from shaftscore.model import Project

Describe = Callable[[Finding, Project], str]
"""A describing function."""

DESCRIBE: Mapping[str, Describe] = MappingProxyType(
    {
        "no-time": timing.no_time,
        "pass-through": timing.pass_through,
        "overlap": timing.overlap,
        "interlock": timing.interlock,
        "starvation": flow.starvation,
        "collision": flow.collision,
        "double-release": flow.release,
        "missed-release": flow.release,
        "misrouted": flow.misrouted,
        "wrong-order": flow.wrong_order,
        "pressure-angle": shape.pressure_angle,
        "self-locking": shape.self_locking,
        "undercut": shape.undercut,
        "sharp-crest": shape.sharp_crest,
        "tight-hollow": shape.tight_hollow,
        "knife-edge": shape.knife_edge,
        "velocity-jump": shape.velocity_jump,
        "acceleration-jump": shape.acceleration_jump,
        "drop-late": shape.drop_late,
        "drop-one-way": shape.drop_one_way,
        "face-width": shape.face_width,
        "float": drive.float_,
        "weak-spring": springs.weak_spring,
        "spring-solid": springs.spring_solid,
        "spring-stress": springs.spring_stress,
        "contact-stress": drive.contact_stress,
        "overload": drive.overload,
        "shaft-bends": shaft.shaft_bends,
        "joint-opens": shaft.joint_opens,
        "interference": machine.interference,
        "weak-gear": drive.weak_gear,
        "weak-stage": drive.weak_stage,
        "wrong-hand": drive.wrong_hand,
        "off-speed": drive.off_speed,
        "weak-part": machine.weak_part,
        "bad-part": machine.bad_part,
        "off-edge": heights.off_edge,
        "between-layers": heights.between_layers,
        "too-large": machine.too_large,
        "free-part": fits.free_part,
        "joint-slips": fits.joint_slips,
        "thin-margin": fits.thin_margin,
        "unlikely": fits.thin_margin,
        "not-checked": machine.not_checked,
    }
)
"""The describing function of every rule."""
