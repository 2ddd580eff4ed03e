"""The sleeves about the pillars' rods, which hold the plates apart. Own frame: upright, axis at 0."""

from __future__ import annotations

from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.solids.part import MadePart, PlainPart, plain_part
from shaftscore.model import Project
from shaftscore.stack.paths import circle


def pillar_part(project: Project, plan: FramePlan) -> MadePart:
    """Make the sleeves of all pillars; raises SolidError if they cannot be made."""
    across = next(hole.across_mm for hole in plan.holes if hole.name == "F1")
    outer, inner = circle(plan.pillar_outer_mm / 2), circle(across / 2)
    return plain_part(
        project,
        PlainPart(
            kind="pillar",
            code="PILLAR",
            label="pillar sleeve",
            thickness_mm=plan.between_mm / plan.pillar_pieces,
            contour=outer,
            holes=(inner,),
            count=plan.frame.pillars * plan.pillar_pieces,
            notes=_notes(project, plan),
        ),
    )


def _notes(project: Project, plan: FramePlan) -> tuple[str, ...]:
    """Return the note that sleeves are made in several lengths, if they are."""
    if plan.pillar_pieces == 1:
        return ()
    told = f"PILLAR: {plan.between_mm:.0f} mm are higher than the printer's {project.print.bed_z_mm:g} mm"
    return (f"{told}; made in {plan.pillar_pieces} equal lengths, one on the other about the rod",)
