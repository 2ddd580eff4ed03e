"""What a hand turns a machine by: a knob on the first stack's rod, or a crank, an arm with a handle."""

from __future__ import annotations

from shaftscore.base.wording import millimetres
from shaftscore.built.fasteners import fastener
from shaftscore.layout.bed import Size
from shaftscore.layout.frame_heights import KNOB_MM
from shaftscore.layout.frame_plan import FrameError
from shaftscore.model import CrankSource, Project, Stack

WALL_MM = 6.0
"""Material about the bore and about the handle's axle (common practice, no source)."""

HANDLE_MM = 6.0
"""Diameter of the screw on which a handle turns: M6."""

KNOB_RADIUS_MM = 20.0
"""Radius of a knob over its lobes, at least."""

LOBE_MM = 2.0
"""How far the lobes of a knob stand out."""


def crank_of(project: Project) -> CrankSource | None:
    """Return the crank that drives the machine, if one does."""
    source = None if project.drive is None else project.drive.source
    return source if isinstance(source, CrankSource) else None


def turned_hub_mm(stack: Stack) -> float:
    """Return the radius of the material about the bore of a knob or crank arm, mm."""
    return stack.bore.outer_radius_mm + stack.fit_clearance_mm + WALL_MM


def axle_mm() -> float:
    """Return the radius of the hole for the handle's screw, mm."""
    return fastener(HANDLE_MM).hole_mm / 2


def knob_radius_mm(stack: Stack) -> float:
    """Return the radius of the knob on a stack's rod over its lobes, mm."""
    return max(KNOB_RADIUS_MM, turned_hub_mm(stack) + LOBE_MM)


def turned_size_mm(project: Project, stack: Stack) -> Size:
    """Return width, depth and height of the knob or crank arm on a stack's rod, mm."""
    crank, hub, end = crank_of(project), turned_hub_mm(stack), axle_mm() + WALL_MM
    if crank is None:
        return 2 * knob_radius_mm(stack), 2 * knob_radius_mm(stack), KNOB_MM
    return hub + crank.radius_mm + end, 2 * max(hub, end), KNOB_MM


def refuse_short_crank(project: Project, stack: Stack) -> None:
    """Raise FrameError where the handle's axle would run into the bore of the crank arm."""
    crank, least = crank_of(project), turned_hub_mm(stack) + axle_mm()
    if crank is not None and crank.radius_mm <= least:
        told = f"the radius of the crank is {millimetres(crank.radius_mm)}"
        raise FrameError(f"{told}; over {millimetres(least)} required")
