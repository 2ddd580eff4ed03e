"""What a hand turns the shaft by: a knob, or a crank arm where a hand drives the machine.

Own frame: the rod's axis at the origin, a crank's arm along +x, z = 0 the face towards the plate.
"""

from __future__ import annotations

import cmath
import math

from shaftscore.layout.crank import LOBE_MM, WALL_MM, axle_mm, crank_of, knob_radius_mm, turned_hub_mm
from shaftscore.layout.frame_heights import KNOB_MM
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.model import Project, Stack
from shaftscore.stack import BulgePath, bore_path
from shaftscore.stack.paths import circle

LOBES = 8
"""Lobes of a knob."""


def knob_part(project: Project, stack: Stack) -> MadePart:
    """Make the knob or the crank arm for the rod of a stack; raises SolidError if it cannot be made."""
    crank = crank_of(project)
    bore = bore_path(stack.bore, stack.fit_clearance_mm)
    hub = turned_hub_mm(stack)
    holes: tuple[BulgePath, ...] = (bore,)
    if crank is None:
        contour = lobed(knob_radius_mm(stack))
    else:
        contour = arm(hub, axle_mm() + WALL_MM, crank.radius_mm)
        holes = (bore, circle(axle_mm(), complex(crank.radius_mm)))
    return plain_part(
        project,
        PlainPart(
            kind="knob",
            code="KNOB",
            label="knob" if crank is None else "crank arm",
            thickness_mm=KNOB_MM,
            contour=contour,
            holes=holes,
        ),
    )


def lobed(radius_mm: float) -> BulgePath:
    """Return a circle with lobes for the fingers: arcs outward between arcs inward, radius over the lobes."""
    root, step = radius_mm - LOBE_MM, math.tau / (2 * LOBES)
    ends = tuple(cmath.rect(root, step * number) for number in range(2 * LOBES))
    outward = 2 * (radius_mm - root * math.cos(step / 2)) / abs(ends[1] - ends[0])
    return BulgePath(ends, (outward, -outward / 3) * LOBES)


def arm(hub_mm: float, end_mm: float, long_mm: float) -> BulgePath:
    """Return circles on +x of radii hub_mm at 0 and end_mm at long_mm, with the tangents that join them."""
    tilt = math.acos((hub_mm - end_mm) / long_mm)
    hub = cmath.rect(hub_mm, tilt)
    end = long_mm + cmath.rect(end_mm, tilt)
    bulges = (math.tan((math.tau - 2 * tilt) / 4), 0.0, math.tan(2 * tilt / 4), 0.0)
    return BulgePath((hub, hub.conjugate(), end.conjugate(), end), bulges)
