"""Levers of followers, and the two links of a straight-line lever.

Frames: see `shaftscore.layout.followers`. A lever is a bar about its pivot, the axle of its roller and its
output or joint, as wide from pivot to roller as interference takes it; it gets narrower towards the output.
"""

from __future__ import annotations

from shaftscore.base.wording import millimetres
from shaftscore.built.bearings import BEARINGS
from shaftscore.built.guidance import GuidedLever
from shaftscore.layout.followers import FollowerLayout, half_width_mm, output_arm_mm, part_code
from shaftscore.make.solids.bars import (
    HOOK_MM,
    JOINT_MM,
    BarHole,
    code_marks,
    no_code_note,
    refuse_thin,
    rooms_between,
    turning_hole,
)
from shaftscore.make.solids.marks import stroke_width
from shaftscore.make.solids.outlines import bar_path
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.make.solids.revision import bar_hash
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project
from shaftscore.stack.followers import AXLE_MM


def axle_mm(layout: FollowerLayout) -> float:
    """Return the diameter of the screw or pin on which a lane's roller turns, mm.

    Raises SolidError for a knife edge.
    """
    follower = layout.lane.follower
    radius = getattr(follower, "roller_radius_mm", 0.0)
    if radius == 0:
        raise SolidError(f"{layout.lane.label}: a knife edge cannot be made as a part; choose a roller")
    bearing = BEARINGS.get(getattr(follower, "bearing", None) or "")
    return float(min(AXLE_MM, radius) if bearing is None else bearing.bore_mm)


def lever_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make a lane's lever; raises SolidError where its holes leave too little material."""
    parts, code = layout.parts, part_code(layout.lane, "L")
    half = half_width_mm(layout.lane)
    screw = BarHole("roller", parts.arm_mm, axle_mm(layout) / 2)
    end = output_arm_mm(parts)
    is_led = layout.guide is not None
    joint = turning_hole("joint", end, JOINT_MM) if is_led else BarHole("output", end, parts.output_hole_mm / 2)
    if abs(end - parts.arm_mm) < 1e-9:
        raise SolidError(f"{code}: the output is at the roller; set the output arm to another length")
    wide = [turning_hole("pivot", 0.0, parts.pivot_rod_mm), screw]
    holes = [*wide, joint]
    if parts.spring_hook_mm is not None:
        holes.append(BarHole("spring hook", parts.spring_hook_mm, HOOK_MM / 2))
    refuse_thin(code, holes, half)
    bosses = [(hole.at_mm, half) for hole in wide]
    bosses += [(hole.at_mm, min(half, hole.boss[1])) for hole in holes[2:]]
    count = len(layout.bands.levers)
    return _bar(project, layout, "L", f"lever of {layout.lane.label}", holes, bosses, half, count)


def link_parts(project: Project, layout: FollowerLayout) -> tuple[MadePart, ...]:
    """Make the coupler and the guide link of a straight-line lever; nothing for other kinds.

    Raises SolidError where their holes leave too little material.
    """
    guide, parts = layout.guide, layout.parts
    if guide is None:
        return ()
    coupler = _coupler_holes(guide, parts.output_hole_mm)
    link = (
        turning_hole("pivot", 0.0, parts.pivot_rod_mm),
        turning_hole("joint", guide.guide_mm, JOINT_MM),
    )
    made = []
    for number, (name, holes) in enumerate((("coupler", coupler), ("guide link", link)), start=1):
        half = max(hole.boss[1] for hole in holes)
        refuse_thin(part_code(layout.lane, "G", number), holes, half)
        bosses = [hole.boss for hole in holes]
        title = f"{name} of {layout.lane.label}"
        made.append(_bar(project, layout, "G", title, list(holes), bosses, half, 1, number))
    return tuple(made)


def _coupler_holes(guide: GuidedLever, output_hole_mm: float) -> tuple[BarHole, ...]:
    return (
        turning_hole("joint with the lever", 0.0, JOINT_MM),
        BarHole("output", guide.point_mm, output_hole_mm / 2),
        turning_hole("joint with the guide link", guide.coupler_mm, JOINT_MM),
    )


def _bar(
    project: Project,
    layout: FollowerLayout,
    letter: str,
    label: str,
    holes: list[BarHole],
    bosses: list[tuple[float, float]],
    half_mm: float,
    count: int,
    number: int = 0,
) -> MadePart:
    """Make a flat bar with holes, its code between them."""
    code, thick = part_code(layout.lane, letter, number), layout.parts.thickness_mm
    if thick < 1.0:
        raise SolidError(f"{code}: it is {millimetres(thick)} thick; at least 1.0 mm required")
    sizes = [thick, *(value for boss in bosses for value in boss)]
    sizes += [value for hole in holes for value in (hole.at_mm, hole.radius_mm)]
    made_from = bar_hash(project, f"bar {code}", sizes)
    rooms = rooms_between(holes, half_mm, stroke_width(project.print.nozzle_mm))
    marks = code_marks(project, (code, made_from), rooms, thick)
    return plain_part(
        project,
        PlainPart(
            kind="lever",
            code=code,
            label=label,
            thickness_mm=thick,
            contour=bar_path(bosses),
            made_from=made_from,
            holes=tuple(hole.path for hole in holes),
            marks=marks,
            count=count,
            stack_id=project.stack_of(layout.lane).id,
            notes=no_code_note(code, marks),
        ),
    )
