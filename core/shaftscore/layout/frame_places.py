"""Where the parts of the frame are in the machine."""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.layout.frame_heights import KNOB_GAP_MM
from shaftscore.layout.frame_plan import BOTH, FramePlan, plate_code
from shaftscore.layout.placed import Placement, standing
from shaftscore.layout.stack_turns import stack_course
from shaftscore.model import Project


def frame_placements(project: Project, plan: FramePlan) -> Iterator[Placement]:
    """Yield plates, pillars and the knob, by the codes of their parts."""
    for side in BOTH:
        code = plate_code(side)
        yield Placement(code, f"{side} plate", "frame", plan.plates[side][0], standing())
    for hole in plan.holes:
        if hole.is_pillar:
            for piece in range(plan.pillar_pieces):
                name = f"pillar {hole.name}" + (f", piece {piece + 1}" if plan.pillar_pieces > 1 else "")
                bottom = plan.plates["bottom"][1] + piece * plan.between_mm / plan.pillar_pieces
                yield Placement("PILLAR", name, "frame", bottom, standing(hole.at))
    stack = plan.shafts[0].stack
    course = stack_course(project, stack, plan.shafts[0].at)
    yield Placement("KNOB", "knob", f"stack {stack.id}", plan.plates["top"][1] + KNOB_GAP_MM, course)
