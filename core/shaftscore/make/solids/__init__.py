"""Bodies of the parts: plan-view features, marks on the face, closed triangle meshes.

`part` gathers what a part is made from and `dogged` its dogs, `coupon` does so for the plate that shows
the fit; `strokes`, `face` and `marks` draw on a disc's face, `rings` moves outlines and `splines` fits
them, `solid` makes the body and `exact` the one of exact surfaces, `revision` hashes what it is made from.
The solid libraries are loaded only where a body is made.
"""

from shaftscore.make.solids.coupon import CLEARANCES_MM, coupon_part
from shaftscore.make.solids.layers import mark_shape
from shaftscore.make.solids.part import Groove, MadePart, disc_part, printed, spacer_part
from shaftscore.make.solids.solid import Mesh, part_mesh
from shaftscore.make.solids.trouble import SolidError

__all__ = [
    "CLEARANCES_MM",
    "Groove",
    "MadePart",
    "Mesh",
    "SolidError",
    "coupon_part",
    "disc_part",
    "mark_shape",
    "part_mesh",
    "printed",
    "spacer_part",
]
