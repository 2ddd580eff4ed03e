"""Bodies of the parts: plan-view features, marks on the face, closed triangle meshes.

`part` gathers what a part is made from and `dogged` its dogs, `strokes`, `face` and `marks` draw on a
disc's face, `rings` moves outlines, `solid` makes the body, `revision` hashes what it is made from. The
solid library is loaded only where a body is made.
"""

from core.solids.part import Groove, Part, disc_part, printed, spacer_part
from core.solids.solid import Mesh, mark_shape, part_mesh
from core.solids.trouble import SolidError

__all__ = [
    "Groove",
    "Mesh",
    "Part",
    "SolidError",
    "disc_part",
    "mark_shape",
    "part_mesh",
    "printed",
    "spacer_part",
]
