"""The stack: which disc lies where on its shaft, and the features that all its parts share.

`plan` gives z ranges, `paths` exact plan-view curves, `bore` the hole for the shaft, `dogs` and `pins`
what keys the parts to one another, `thickness` and `walls` what must be left of the material. Plan view is as
seen from the top of the stack, x towards the zero mark, angles counterclockwise, mm.
"""

from shaftscore.stack.bore import bore_path
from shaftscore.stack.dogs import dog_gap, dog_paths, pocket_depth
from shaftscore.stack.paths import BulgePath
from shaftscore.stack.pins import pin_paths
from shaftscore.stack.plan import Layer, StackPlan, stack_plan, turn_sign
from shaftscore.stack.thickness import FLOOR_MM, GAP_MM, mark_depth

__all__ = [
    "FLOOR_MM",
    "GAP_MM",
    "BulgePath",
    "Layer",
    "StackPlan",
    "bore_path",
    "dog_gap",
    "dog_paths",
    "mark_depth",
    "pin_paths",
    "pocket_depth",
    "stack_plan",
    "turn_sign",
]
