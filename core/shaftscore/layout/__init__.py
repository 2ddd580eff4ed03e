"""Where every part of the machine is, and how it moves through the cycle.

Pure geometry, no solids: what parts are made from, how they are put together and what they do follow from
here for the export, the drawings, the views and the proof of the assembly. Frame of the machine: the axis
of its first stack is z, z = 0 the bottom face of that stack, x along the reference line (station 0°), as
seen from the top, mm.
"""

from shaftscore.layout.placed import Course, Placement, PlanPose, standing, turning
from shaftscore.layout.stacks import stack_placements

__all__ = ["Course", "Placement", "PlanPose", "stack_placements", "standing", "turning"]
