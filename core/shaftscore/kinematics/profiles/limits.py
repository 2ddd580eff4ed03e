"""What a disc is judged by: the limits that rule pressure angle, curvature and room about the bore.

`excess` measures a profile against all of them at once: each demand gives a number that is 0 where the
limit is just met, positive where it is broken, relative to the limit. Sizing brings the largest to 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from shaftscore.kinematics.followers import Reals
from shaftscore.kinematics.profiles.pieces import PieceNodes
from shaftscore.kinematics.profiles.trace import Kinematics
from shaftscore.model.lanes import Lane, SwingingRoller
from shaftscore.model.project import Project
from shaftscore.model.shaft import Bore, Stack

WALL_MM = 1.2
"""Least material between bore or dogs and the running rim: three lines of a 0.4 mm nozzle (common
practice, no source)."""

LEAST_CREST_MM = 0.01
"""A limit of 0 for crests still leaves this much, so that an automatic radius is never a cusp."""

CORNERS = {"round": 1.0, "d": 1.0, "hex": 2 / sqrt(3.0), "square": sqrt(2.0)}
"""Circle about a bore by its size across the flats."""


@dataclass(frozen=True)
class LaneLimits:
    """Limits of one lane's disc.

    rise_deg, fall_deg: pressure angle. crest_mm, hollow_mm: radii. clear_mm: least profile radius, from
    `clear_by` ("bore", "dogs", "pins" or "spacer"). max_radius_mm: largest disc. groove: both flanks count.
    rim_mm: what stands outside the pitch curve, mm.
    """

    rise_deg: float
    fall_deg: float
    crest_mm: float
    hollow_mm: float
    clear_mm: float
    clear_by: str
    max_radius_mm: float
    groove: bool
    rim_mm: float


def limits_of(project: Project, lane: Lane) -> LaneLimits:
    """Collect the limits of a lane's disc from its project, stack and follower."""
    limits, follower = project.limits, lane.follower
    swinging = isinstance(follower, SwingingRoller)
    rise = limits.swing_pressure_angle_deg if swinging else limits.pressure_angle_deg
    groove = follower.closure == "groove"
    clear_mm, clear_by = clearing(project.stack_of(lane), lane)
    return LaneLimits(
        rise_deg=rise,
        fall_deg=rise if groove else limits.return_pressure_angle_deg,
        crest_mm=limits.crest_radius_mm,
        hollow_mm=limits.hollow_margin_mm,
        clear_mm=clear_mm,
        clear_by=clear_by,
        max_radius_mm=project.max_disc_radius_mm,
        groove=groove,
        rim_mm=lane.disc.rim_mm if groove else 0.0,
    )


def clearing(stack: Stack, lane: Lane) -> tuple[float, str]:
    """Return the least profile radius that leaves a wall round bore, dogs and pins, mm, and what requires it.

    A follower taller than its disc reaches beside the spacers, so it must stay off them too.
    """
    wanted = {"bore": _bore_radius(stack.bore) + stack.fit_clearance_mm + WALL_MM}
    if stack.dogs is not None:
        wanted["dogs"] = stack.dogs.reach(stack.pocket_clearance_mm)[1] + WALL_MM
    if stack.pins is not None:
        wanted["pins"] = stack.pins.reach_mm[1] + WALL_MM
    if _reaches_beside(stack, lane):
        wanted["spacer"] = stack.spacer_radius_mm + stack.body_clearance_mm
    name = max(wanted, key=lambda key: wanted[key])
    return wanted[name], name


def _reaches_beside(stack: Stack, lane: Lane) -> bool:
    """Return whether a lane's follower is taller than its disc: its roller, its body or with its lever."""
    if lane.arm_thickness_mm is not None:
        return True
    return max(stack.follower_height_mm or 0.0, lane.follower.width_mm or 0.0) > lane.disc.thickness_mm


def _bore_radius(bore: Bore) -> float:
    return bore.across_mm / 2 * CORNERS[bore.shape]


@dataclass(frozen=True)
class Demand:
    """One demand: its name, and its excess (positive: broken) at each node, (..., n)."""

    name: str
    excess: Reals

    @property
    def worst(self) -> Reals:
        """The largest excess over the nodes, (...,)."""
        return np.asarray(np.max(self.excess, axis=-1))


def demands(at: Kinematics, nodes: PieceNodes, limits: LaneLimits) -> tuple[Demand, ...]:
    """Hold a profile at its nodes against all limits."""
    room = Demand(limits.clear_by, (limits.clear_mm - at.distance_mm) / limits.clear_mm)
    shape = (_flat_crest(at, limits),) if at.model.is_flat else _rolled(at, nodes, limits)
    judged = [Demand(demand.name, np.where(nodes.judged, demand.excess, -1.0)) for demand in shape]
    return (*judged, room)


def _rolled(at: Kinematics, nodes: PieceNodes, limits: LaneLimits) -> tuple[Demand, ...]:
    return (*_steepness(at, nodes.rise, limits), *_curvature(at, limits))


def _steepness(at: Kinematics, rise: Reals, limits: LaneLimits) -> tuple[Demand, ...]:
    angle = np.abs(at.pressure_deg)
    up = np.where(rise > 0, angle / limits.rise_deg - 1, -1.0)
    down = np.where(rise < 0, angle / limits.fall_deg - 1, -1.0)
    return Demand("pressure-angle", up), Demand("return-pressure-angle", down)


def _curvature(at: Kinematics, limits: LaneLimits) -> tuple[Demand, ...]:
    """Hold each flank against crest and hollow; a groove's outer flank sees the curve from outside."""
    bend = at.pitch_curvature
    crest = at.model.roller_radius_mm + max(limits.crest_mm, LEAST_CREST_MM)
    sharpest = np.abs(bend) if limits.groove else bend
    tightest = np.abs(bend) if limits.groove else -bend
    return Demand("crest-radius", sharpest * crest - 1), Demand(
        "hollow-margin", tightest * limits.hollow_mm - 1
    )


def _flat_crest(at: Kinematics, limits: LaneLimits) -> Demand:
    wanted = max(limits.crest_mm, LEAST_CREST_MM)
    return Demand("crest-radius", (wanted - at.pitch_radius_mm) / (wanted + np.abs(at.pitch_radius_mm)))
