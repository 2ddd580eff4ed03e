"""Machines whose shaft is easy to work out by hand. All data are invented."""

from __future__ import annotations

from typing import Any

from shaftscore.judge.report import Report, examine
from shaftscore.judge.shaft import StackShaft
from shaftscore.model import Bore, Lane, Load, Project, Stack, TranslatingFlat, TranslatingRoller
from shaftscore.model.shaft import Rod
from tests.machines import gate, machine

FLAT = TranslatingFlat(kind="translating-flat", face_width_mm=60.0, contact_friction=0.0)
ROLLER = TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, contact_friction=0.0)
E_STEEL = 210_000.0
"""Elastic modulus of steel in the file format's table of materials, MPa."""


def weight(newtons: float, **more: Any) -> Load:
    """Return a load that presses with a constant force at rest, at any lift."""
    return Load(**{"spring_preload_n": newtons, "spring_tolerance_percent": 0.0, **more})


def presser(name: str, newtons: float = 20.0, start: float = 100.0, **more: Any) -> Lane:
    """Return a lane whose flat face presses with a constant force along its station line, always."""
    more.setdefault("follower", FLAT)
    return gate(name, start, start + 30, 60.0, load=weight(newtons), **more)


def rod(across: float = 6.0, **more: Any) -> Rod:
    return Rod(**{"across_mm": across, "below_mm": 40.0, "above_mm": 40.0, **more})


def stack(own: Rod, across: float = 8.0, **more: Any) -> Stack:
    return Stack(**{"id": "s", "bore": Bore(shape="round", across_mm=across), "rod": own, **more})


def built(*lanes: Lane, own: Stack | None = None, **more: Any) -> Project:
    return machine(*lanes, stacks=(own or stack(rod()),), **more)


def shaft_of(project: Project) -> StackShaft:
    """Return the one shaft of a project."""
    report = examine(project)
    assert report.shafts is not None
    (shaft,) = report.shafts.stacks.values()
    return shaft


def of_rule(report: Report, rule: str) -> list[Any]:
    return [finding for finding in report.findings if finding.rule == rule]
