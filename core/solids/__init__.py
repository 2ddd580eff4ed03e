"""Bodies of the parts: plan-view features, marks on the face, closed triangle meshes.

`part` gathers what a disc is made from, `strokes` and `marks` draw on its face, `rings` moves outlines,
`solid` makes the body. The solid library is loaded only where a body is made.
"""

from core.solids.part import DiscPart, Groove, SolidError, disc_part, printed
from core.solids.solid import Mesh, disc_mesh, mark_shape

__all__ = ["DiscPart", "Groove", "Mesh", "SolidError", "disc_mesh", "disc_part", "mark_shape", "printed"]
