"""Slides of followers: a bar from the roller's axle, or from a flat face, to the output.

Frame: see `shaftscore.layout.followers`. The bar is as wide as interference takes it and has straight sides
where it runs in its guide.
"""

from __future__ import annotations

from shaftscore.layout.followers import WALL_MM, FollowerLayout, half_width_mm, part_code
from shaftscore.make.solids.bars import (
    HOOK_MM,
    BarHole,
    code_marks,
    no_code_note,
    refuse_thin,
    rooms_between,
)
from shaftscore.make.solids.lever import axle_mm
from shaftscore.make.solids.marks import stroke_width
from shaftscore.make.solids.outlines import bar_path, box_path
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.model import Project, TranslatingFlat
from shaftscore.stack import BulgePath


def slide_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make a lane's slide; raises SolidError where its holes leave too little material."""
    parts, code = layout.parts, part_code(layout.lane, "S")
    half = half_width_mm(layout.lane)
    holes = [BarHole("output", parts.arm_mm, parts.output_hole_mm / 2)]
    is_flat = isinstance(layout.lane.follower, TranslatingFlat)
    if not is_flat:
        holes.append(BarHole("roller", 0.0, axle_mm(layout) / 2))
    if parts.spring_hook_mm is not None:
        holes.append(BarHole("spring hook", parts.spring_hook_mm, HOOK_MM / 2))
    refuse_thin(code, holes, half)
    edge = [BarHole("face", 0.0, 0.0)] if is_flat else []
    rooms = rooms_between([*holes, *edge], half, stroke_width(project.print.nozzle_mm))
    marks, revision_at = code_marks(project, code, rooms, parts.thickness_mm)
    return plain_part(
        project,
        PlainPart(
            kind="slide",
            code=code,
            label=f"slide of {layout.lane.label}",
            thickness_mm=parts.thickness_mm,
            contour=_contour(parts.arm_mm, half, is_flat=is_flat),
            holes=tuple(hole.path for hole in holes),
            marks=marks,
            revision_at=revision_at,
            count=len(layout.bands.levers),
            stack_id=project.stack_of(layout.lane).id,
            notes=no_code_note(code, marks),
        ),
    )


def _contour(arm_mm: float, half_mm: float, *, is_flat: bool) -> BulgePath:
    """Return the outline: a flat face is square, a roller's end is round."""
    if is_flat:
        return box_path(complex(0, -half_mm), complex(arm_mm + 2 * WALL_MM, half_mm))
    return bar_path([(0.0, half_mm), (arm_mm, half_mm)])
