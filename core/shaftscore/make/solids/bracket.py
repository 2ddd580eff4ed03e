"""Brackets of followers: the post of a pivot's rod, and the guide of a slide, each with screw holes.

Frames: see `shaftscore.layout.followers`; z = 0 is the face that the foot is screwed to. A post ends a
washer below its lever. A guide is a block with a tunnel for each bar, open at both ends.
"""

from __future__ import annotations

from shaftscore.built.heights import HeightBand
from shaftscore.layout.bars import BarHole, turning_hole
from shaftscore.layout.bracket_feet import (
    EAR_MM,
    ROOF_MM,
    SCREW_MM,
    guide_inset_mm,
    guide_side_mm,
    own_screws,
)
from shaftscore.layout.brackets import (
    FOOT_MM,
    HIGHER_MM,
    bracket_faults,
    foot_radius_mm,
    guide_bars,
    post_height_mm,
)
from shaftscore.layout.followers import SLIDING_MM, FollowerLayout, half_width_mm, part_code
from shaftscore.make.solids.bars import code_marks, no_code_note, rooms_between
from shaftscore.make.solids.marks import stroke_width
from shaftscore.make.solids.outlines import bar_path, box_path
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.model import Project
from shaftscore.stack.followers import TURNING_MM, post_radius_mm
from shaftscore.stack.paths import circle


def bracket_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the bracket of a lane's follower; raises FollowerLayoutError where it cannot be made."""
    for fault in bracket_faults(project.print, layout):
        raise fault
    if layout.pivot is None:
        return _guide(project, layout)
    return _post(project, layout)


def _post(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the post of a lever's pivot, twice for a straight-line lever: both links are level."""
    code, rod = part_code(layout.lane, "K"), layout.parts.pivot_rod_mm
    if layout.is_sleeve:
        return _sleeve(project, layout, code)
    height = post_height_mm(layout)
    radius = post_radius_mm(rod)
    bore = turning_hole("rod", 0.0, rod)
    screws = [turning_hole("screw", screw.real, SCREW_MM) for screw in own_screws(layout)]
    contour = bar_path([(0.0, foot_radius_mm(rod)), *(screw.boss for screw in screws)])
    rim = BarHole("post", 0.0, foot_radius_mm(rod))
    half = screws[0].boss[1]
    rooms = rooms_between([rim, *screws], half, stroke_width(project.print.nozzle_mm))
    marks, revision_at = code_marks(project, code, rooms, FOOT_MM)
    raised = (("post", circle(radius), (0.0, height)),) if height > FOOT_MM + HIGHER_MM else ()
    return plain_part(
        project,
        PlainPart(
            kind="bracket",
            code=code,
            label=f"bracket of {layout.lane.label}",
            thickness_mm=FOOT_MM,
            contour=contour,
            holes=(bore.path, *(screw.path for screw in screws)),
            raised=raised,
            marks=marks,
            revision_at=revision_at,
            count=1 if layout.guide is None else 2,
            stack_id=project.stack_of(layout.lane).id,
            notes=no_code_note(code, marks),
        ),
    )


def _sleeve(project: Project, layout: FollowerLayout, code: str) -> MadePart:
    """Make the sleeve between a lever and the one below it on the same rod; twice for a straight-line one."""
    rod, height = layout.parts.pivot_rod_mm, post_height_mm(layout)
    radius = post_radius_mm(rod)
    return plain_part(
        project,
        PlainPart(
            kind="bracket",
            code=code,
            label=f"sleeve of {layout.lane.label}",
            thickness_mm=height,
            contour=circle(radius),
            holes=(turning_hole("rod", 0.0, rod).path,),
            count=1 if layout.guide is None else 2,
            stack_id=project.stack_of(layout.lane).id,
        ),
    )


def _guide(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the guide of a slide."""
    code, half = part_code(layout.lane, "K"), half_width_mm(layout.lane)
    length, bars = layout.guide_length_mm, guide_bars(layout)
    top, side = bars[-1].top_mm + ROOF_MM, guide_side_mm(layout.lane)
    screws = tuple(circle(SCREW_MM / 2 + TURNING_MM, screw) for screw in own_screws(layout))
    tunnel = half + SLIDING_MM
    box = box_path(complex(-1, -tunnel), complex(length + 1, tunnel))
    stroke = stroke_width(project.print.nozzle_mm)
    long = length - 2 * (guide_inset_mm() + SCREW_MM / 2 + TURNING_MM + stroke)
    rooms = [(complex(length / 2, way * (side + EAR_MM / 2)), long, EAR_MM - 2 * stroke) for way in (-1, 1)]
    marks, revision_at = code_marks(project, code, rooms, FOOT_MM)
    return plain_part(
        project,
        PlainPart(
            kind="bracket",
            code=code,
            label=f"guide of {layout.lane.label}",
            thickness_mm=FOOT_MM,
            contour=box_path(complex(0, -side - EAR_MM), complex(length, side + EAR_MM)),
            holes=screws,
            raised=(("guide", box_path(complex(0, -side), complex(length, side)), (0.0, top)),),
            sunk=tuple(("tunnel", box, _tunnel(bar)) for bar in bars),
            marks=marks,
            revision_at=revision_at,
            stack_id=project.stack_of(layout.lane).id,
            notes=no_code_note(code, marks),
        ),
    )


def _tunnel(bar: HeightBand) -> tuple[float, float]:
    """Return the heights of the tunnel of a bar, mm."""
    return bar.bottom_mm - SLIDING_MM, bar.top_mm + SLIDING_MM
