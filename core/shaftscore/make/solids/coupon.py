"""The fit coupon: a small plate with the bore of a stack, and its dogs, at steps of clearance.

It is printed first, on the printer and of the material that the discs will be made of. Each *cell* holds
the bore at one clearance, the pocket of the stack's long dog at the same clearance in the bottom face, and
the clearance in hundredths of a millimetre, engraved below. One peg stands on the top face, away from the
cells: with dogs two coupons are made, and the peg of the one tries the pockets of the other. The hole that
takes the shaft as it should names the clearance to use. Plan view as for all parts, the plate's middle at
the origin, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from shaftscore.layout.stacks import own_code
from shaftscore.make.solids.dogged import DogShapes
from shaftscore.make.solids.feet import with_feet
from shaftscore.make.solids.marks import LEAST_STROKES, Marks, stroke_width
from shaftscore.make.solids.part import MadePart, scale_of
from shaftscore.make.solids.revision import ANY_REVISION, coupon_hash, revision_of
from shaftscore.make.solids.rings import moved
from shaftscore.make.solids.strokes import GRID_HEIGHT, Polyline, text_strokes, text_width
from shaftscore.make.solids.trouble import SolidError
from shaftscore.model import Dogs, Project, Stack
from shaftscore.stack import FLOOR_MM, BulgePath, bore_path, dog_paths, mark_depth, turn_sign
from shaftscore.stack.paths import polygon
from shaftscore.stack.walls import COUPON_LEAST_MM, COUPON_WALL_MM

CLEARANCES_MM = (COUPON_LEAST_MM, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4)
"""Clearances on a coupon: from a press fit to a loose one on usual printers (common practice, no source)."""

COUPON_WORD = "FIT"
"""How the code of a coupon begins: the code of a lane has no more than two letters."""

COLUMNS = 4
"""Cells beside one another."""

THICK_MM = 5.0
"""Least thickness: that of a usual disc, so that a shaft is led as by one."""

WALL_MM = COUPON_WALL_MM
"""Material between holes; half of it from holes to the edge."""


@dataclass(frozen=True)
class _Layout:
    """Where things stand on the plate, mm.

    wide, high: of a cell. bore, pocket, number: heights of their middles above a cell's lower edge.
    letter: height of letters. foot: height of the strip below the cells, for code and peg.
    """

    wide: float
    high: float
    bore: float
    pocket: float
    number: float
    letter: float
    foot: float

    @property
    def size(self) -> complex:
        """Width and height of the plate."""
        rows = math.ceil(len(CLEARANCES_MM) / COLUMNS)
        return complex(COLUMNS * self.wide, self.foot + rows * self.high)

    def cell(self, place: int, height: float) -> complex:
        """Return the point at a height in the middle of a cell; cells are counted from the upper left."""
        row = place // COLUMNS
        x = (place - row * COLUMNS + 0.5) * self.wide
        return complex(x, self.size.imag - (row + 1) * self.high + height) - self.size / 2

    def in_foot(self, x: float) -> complex:
        """Return the point of the foot's middle line at x from the plate's left edge."""
        return complex(x, self.foot / 2) - self.size / 2


def is_coupon(code: str) -> bool:
    """Return whether a code is that of a coupon."""
    return code.startswith(COUPON_WORD)


def coupon_part(project: Project, stack: Stack, foot_mm: float = 0.0) -> MadePart:
    """Gather the coupon of a stack; raises SolidError if a hole of it cannot be made.

    foot_mm: of its foot chamfers, which are less where it has no room for them.
    """
    code = own_code(COUPON_WORD, project, stack)
    made_from = coupon_hash(project, stack, code, foot_mm)
    width = stroke_width(project.print.nozzle_mm)
    words = (code, revision_of(made_from))
    try:
        layout = _layout(stack, width, words)
        corner = layout.size / 2
        contour = polygon((corner.conjugate(), corner, -corner.conjugate(), -corner))
        plate = contour.flattened(1.0)
        printer_plate = moved(plate, project.print.contour_mm)
        holes, printer_holes = (_holes(stack, layout, grow) for grow in (0.0, project.print.hole_mm))
        dogs = None if stack.dogs is None else _dogs(project, stack.dogs, layout)
    except ValueError as error:
        raise SolidError(f"fit coupon of {stack.label}: {error}") from error
    thickness = max(THICK_MM, dogs.depth_mm + FLOOR_MM if dogs else 0.0)
    part = MadePart(
        kind="coupon",
        lane_id=None,
        code=code,
        label=f"fit coupon of {stack.label}",
        stack_id=stack.id,
        count=2 if dogs else 1,
        direction=turn_sign(project, stack),
        thickness_mm=thickness,
        chamfer_mm=0.0,
        outline=plate,
        printer_outline=printer_plate,
        fine=plate,
        contour=contour,
        groove=None,
        holes=holes,
        printer_holes=printer_holes,
        dogs=dogs,
        marks=Marks(MappingProxyType(_groups(layout, words, width)), width, mark_depth(thickness)),
        contour_mm=project.print.contour_mm,
        hash=made_from,
        notes=(),
        scale=scale_of(project.print.shrinkage_percent),
    )
    return with_feet(part, foot_mm)


def coupon_places(project: Project, stack: Stack) -> tuple[complex, ...]:
    """Return the middles of the holes of a stack's coupon, in the order of CLEARANCES_MM, mm.

    Raises ValueError if a hole of it cannot be made.
    """
    code = own_code(COUPON_WORD, project, stack)
    layout = _layout(stack, stroke_width(project.print.nozzle_mm), (code, ANY_REVISION))
    return tuple(layout.cell(place, layout.bore) for place in range(len(CLEARANCES_MM)))


def _layout(stack: Stack, width_mm: float, words: tuple[str, str]) -> _Layout:
    """Lay a cell out from its lower edge up: number, pocket, bore."""
    most = CLEARANCES_MM[-1]
    letter = max(4.0, LEAST_STROKES * width_mm)
    across = bore_path(stack.bore, most).largest_radius
    dog = 0.0 if stack.dogs is None else stack.dogs.width_mm + 2 * most
    number = WALL_MM / 2 + letter / 2
    pocket = number + letter / 2 + WALL_MM / 2 + dog / 2
    bore = pocket + dog / 2 + (WALL_MM if dog else 0.0) + across
    wide = max(2 * across, 2 * dog, _wide("00", letter)) + WALL_MM
    foot_wide = sum(_wide(word, letter) for word in words) + 2 * dog + 4 * WALL_MM
    return _Layout(
        wide=max(wide, foot_wide / COLUMNS),
        high=bore + across + WALL_MM / 2,
        bore=bore,
        pocket=pocket,
        number=number,
        letter=letter,
        foot=max(letter, dog) + 2 * WALL_MM,
    )


def _wide(text: str, letter_mm: float) -> float:
    return text_width(text) * letter_mm / GRID_HEIGHT


def _holes(stack: Stack, layout: _Layout, grow_mm: float) -> tuple[BulgePath, ...]:
    return tuple(
        bore_path(stack.bore, clearance + grow_mm).shifted(layout.cell(place, layout.bore))
        for place, clearance in enumerate(CLEARANCES_MM)
    )


def _dogs(project: Project, dogs: Dogs, layout: _Layout) -> DogShapes:
    """Put one peg in the foot, and a pocket in every cell: the long dog, lying along x."""

    def lying(grow_mm: float, at: complex) -> BulgePath:
        return dog_paths(dogs, grow_mm)[0].shifted(-dogs.radius_mm).turned(math.pi / 2).shifted(at)

    def pockets(grow_mm: float) -> tuple[BulgePath, ...]:
        return tuple(
            lying(clearance + grow_mm, layout.cell(place, layout.pocket))
            for place, clearance in enumerate(CLEARANCES_MM)
        )

    peg_at = layout.in_foot(layout.size.real - WALL_MM - dogs.width_mm)
    return DogShapes(
        pegs=(lying(0.0, peg_at),),
        pockets=pockets(0.0),
        printer_pegs=(lying(project.print.contour_mm, peg_at),),
        printer_pockets=pockets(project.print.hole_mm),
        height_mm=dogs.height_mm,
        depth_mm=dogs.height_mm + CLEARANCES_MM[-1],
        inner_mm=0.0,
        outer_mm=abs(layout.size) / 2,
    )


def _groups(layout: _Layout, words: tuple[str, str], width_mm: float) -> dict[str, tuple[Polyline, ...]]:
    """Engrave code and revision in the foot, and each clearance in its cell."""
    numbers = [
        _moved(
            text_strokes(f"{round(100 * clearance):02d}", layout.letter), layout.cell(place, layout.number)
        )
        for place, clearance in enumerate(CLEARANCES_MM)
    ]
    x, written = WALL_MM, dict[str, tuple[Polyline, ...]]()
    for name, word in zip(("code", "revision"), words, strict=True):
        wide = _wide(word, layout.letter)
        written[name] = _moved(text_strokes(word, layout.letter), layout.in_foot(x + wide / 2))
        x += wide + WALL_MM + width_mm / 2
    return {**written, "clearances": tuple(stroke for number in numbers for stroke in number)}


def _moved(strokes: list[Polyline], by: complex) -> tuple[Polyline, ...]:
    return tuple(np.asarray(stroke + by) for stroke in strokes)
