"""Whether parts have room on the printer's bed, and which of them may be divided where they have none.

Plates and the bars of followers are divided by keyed joints (`make.solids.split`), pillars are made in
several lengths on their rod. What has teeth, a fit on a rod or a running edge is made in one piece.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.tolerance import over
from shaftscore.base.wording import millimetres, plain
from shaftscore.model import Disc, Print, Project
from shaftscore.model.materials import is_printed

Size = tuple[float, float, float]
"""Width, depth and height, mm."""


def stack_material(project: Project, stack_id: str) -> str:
    """Return what parts of a stack are made of beside its discs: what most of those are made of."""
    discs = next((project.discs_of(stack) for stack in project.stacks if stack.id == stack_id), ())
    names = [lane.disc.material for lane in discs or project.lanes if lane.has_disc]
    return max(names, key=names.count, default=Disc().material)


def fits_bed(printer: Print, size_mm: Size) -> bool:
    """Return whether a size, mm, has room on the bed, turned by a quarter or not."""
    wide, deep, high = size_mm
    bed = (printer.bed_x_mm, printer.bed_y_mm)
    flat = any(
        not over(one, bed[0]) and not over(other, bed[1]) for one, other in ((wide, deep), (deep, wide))
    )
    return flat and not over(high, printer.bed_z_mm)


def in_file_mm(printer: Print, size_mm: Size) -> Size:
    """Return a size as a printer's file holds it, mm: with the correction of contours and of shrinkage."""
    wide, deep, high = size_mm
    scale = 1 / (1 - printer.shrinkage_percent / 100)
    return (wide + 2 * printer.contour_mm) * scale, (deep + 2 * printer.contour_mm) * scale, high


def over_bed(project: Project, stack_id: str, size_mm: Size) -> bool:
    """Return whether a part of a stack is printed and has no room on the bed; size as drawn, mm."""
    printer = project.print
    return is_printed(stack_material(project, stack_id)) and not fits_bed(
        printer, in_file_mm(printer, size_mm)
    )


def bed_faults(project: Project, stack_id: str, name: str, size_mm: Size) -> Iterator[str]:
    """Yield that a part which is made in one piece has no room on the bed; name: of the part."""
    if over_bed(project, stack_id, size_mm):
        wide, deep, high = (millimetres(side, 0) for side in in_file_mm(project.print, size_mm))
        bed = project.print
        sides = " x ".join(plain(side) for side in (bed.bed_x_mm, bed.bed_y_mm, bed.bed_z_mm))
        told = f"{name} of {wide} x {deep} x {high} is larger than the printer’s {sides} mm"
        yield f"{told} and is made in one piece; a larger bed, or a smaller part, is required"
