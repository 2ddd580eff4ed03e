"""Levers of followers, and the two links of a straight-line lever.

Frames: see `shaftscore.layout.followers`. A lever is a bar about its pivot, the axle of its roller and its
output or joint, as wide from pivot to roller as interference takes it; it gets narrower towards the output.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.built.guidance import GuidedLever
from shaftscore.layout.followers import FollowerLayout, half_width_mm, part_code
from shaftscore.layout.purchases import JOINT_MM
from shaftscore.make.solids.bars import (
    HOOK_MM,
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
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project, TranslatingFlat
from shaftscore.stack.followers import roller_axle_mm


def axle_mm(layout: FollowerLayout) -> float:
    """Return the diameter of the screw or pin on which a lane's roller turns, mm.

    Raises SolidError for a knife edge.
    """
    follower = layout.lane.follower
    if isinstance(follower, TranslatingFlat) or follower.roller_radius_mm == 0:
        raise SolidError(f"{layout.lane.label}: a knife edge cannot be made as a part; choose a roller")
    return roller_axle_mm(follower)


@dataclass(frozen=True)
class FlatBar:
    """A flat bar: the letter and number of its code, its name for people, holes, bosses, half width, mm."""

    letter: str
    number: int
    label: str
    holes: tuple[BarHole, ...]
    bosses: tuple[tuple[float, float], ...]
    half_mm: float
    count: int = 1


def lever_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make a lane's lever; raises SolidError where its holes leave too little material."""
    parts, half, end = layout.parts, half_width_mm(layout.lane), layout.parts.output_mm
    wide = (
        turning_hole("pivot", 0.0, parts.pivot_rod_mm),
        BarHole("roller", parts.arm_mm, axle_mm(layout) / 2),
    )
    narrow = [BarHole("output", end, parts.output_hole_mm / 2)]
    if layout.guide is not None:
        narrow = [turning_hole("joint", end, JOINT_MM)]
    if parts.spring_hook_mm is not None:
        narrow.append(BarHole("spring hook", parts.spring_hook_mm, HOOK_MM / 2))
    bosses = [(hole.at_mm, half) for hole in wide]
    bosses += [(hole.at_mm, min(half, hole.boss[1])) for hole in narrow]
    count, label = len(layout.bands.levers), f"lever of {layout.lane.label}"
    return _bar(project, layout, FlatBar("L", 0, label, (*wide, *narrow), tuple(bosses), half, count))


def coupler_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the coupler of a straight-line lever; raises SolidError where its holes leave too little."""
    assert layout.guide is not None
    return _link(project, layout, 1, "coupler", _coupler_holes(layout.guide, layout.parts.output_hole_mm))


def guide_link_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the guide link of a straight-line lever; raises SolidError where its holes leave too little."""
    assert layout.guide is not None
    pivot = turning_hole("pivot", 0.0, layout.parts.pivot_rod_mm)
    return _link(
        project, layout, 2, "guide link", (pivot, turning_hole("joint", layout.guide.guide_mm, JOINT_MM))
    )


def _link(
    project: Project, layout: FollowerLayout, number: int, name: str, holes: tuple[BarHole, ...]
) -> MadePart:
    bosses = tuple(hole.boss for hole in holes)
    half = max(radius for _, radius in bosses)
    return _bar(project, layout, FlatBar("G", number, f"{name} of {layout.lane.label}", holes, bosses, half))


def _coupler_holes(guide: GuidedLever, output_hole_mm: float) -> tuple[BarHole, ...]:
    return (
        turning_hole("joint with the lever", 0.0, JOINT_MM),
        BarHole("output", guide.point_mm, output_hole_mm / 2),
        turning_hole("joint with the guide link", guide.coupler_mm, JOINT_MM),
    )


def _bar(project: Project, layout: FollowerLayout, bar: FlatBar) -> MadePart:
    """Make a flat bar with holes, its code between them."""
    code, thick = part_code(layout.lane, bar.letter, bar.number), layout.parts.thickness_mm
    refuse_thin(code, bar.holes, bar.half_mm)
    rooms = rooms_between(bar.holes, bar.half_mm, stroke_width(project.print.nozzle_mm))
    marks, revision_at = code_marks(project, code, rooms, thick)
    return plain_part(
        project,
        PlainPart(
            kind="lever",
            code=code,
            label=bar.label,
            thickness_mm=thick,
            contour=bar_path(bar.bosses),
            holes=tuple(hole.path for hole in bar.holes),
            marks=marks,
            revision_at=revision_at,
            count=bar.count,
            stack_id=project.stack_of(layout.lane).id,
            notes=no_code_note(code, marks),
        ),
    )
