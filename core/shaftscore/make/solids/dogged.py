"""The dogs of a part: pegs on its top face and the pockets in its bottom one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Project, Stack
from shaftscore.stack import BulgePath, dog_paths, pocket_depth


@dataclass(frozen=True)
class DogShapes:
    """Outlines of pegs and pockets, nominal and for a printer; heights and the radii they lie between."""

    pegs: tuple[BulgePath, ...]
    pockets: tuple[BulgePath, ...]
    printer_pegs: tuple[BulgePath, ...]
    printer_pockets: tuple[BulgePath, ...]
    height_mm: float
    depth_mm: float
    inner_mm: float
    outer_mm: float

    @property
    def grown_mm(self) -> float:
        """By how much pegs or pockets reach farther out in a printer's file than the pockets drawn, mm."""
        drawn, *made = (
            path.largest_radius for path in (self.pockets[0], self.printer_pockets[0], self.printer_pegs[0])
        )
        return max(made) - drawn

    def printed(self) -> DogShapes:
        """Return the shapes as a printer's file holds them."""
        return replace(self, pegs=self.printer_pegs, pockets=self.printer_pockets)

    def scaled(self, factor: float) -> DogShapes:
        """Return the shapes enlarged in plan by a factor."""
        pegs, pockets = (tuple(path.scaled(factor) for path in paths) for paths in (self.pegs, self.pockets))
        return replace(self, pegs=pegs, pockets=pockets)


def dog_shapes(project: Project, stack: Stack, name: str) -> DogShapes | None:
    """Make the dogs of a part of a stack; None if the stack has none.

    Raises SolidError if nothing of them is left.
    """
    if stack.dogs is None:
        return None
    depth = pocket_depth(stack)
    gap = stack.pocket_clearance_mm
    inner, outer = stack.dogs.reach(gap)
    try:
        return DogShapes(
            pegs=dog_paths(stack.dogs, 0.0),
            pockets=dog_paths(stack.dogs, gap),
            printer_pegs=dog_paths(stack.dogs, project.print.contour_mm),
            printer_pockets=dog_paths(stack.dogs, gap + project.print.hole_mm),
            height_mm=stack.dogs.height_mm,
            depth_mm=depth,
            inner_mm=inner,
            outer_mm=outer,
        )
    except ValueError as error:
        raise SolidError(f"{name}: {error}") from error
