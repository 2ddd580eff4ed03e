"""The section of a shaft for paper, at a round scale, with dimensions and a row for every part.

Cut through the axis; the left half is broken off. A disc is hatched to its least radius, dashed to its
largest; dogs, their pockets, holes of pins and grooves are drawn where the plane through the zero mark cuts
them. Rows at the parts' own heights say what they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shaftscore.base.wording import plain
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.drawing.dimensions import dimension, round_scale, scale_bar, scale_text
from shaftscore.make.drawing.fonts import POINT_MM, shortened, width_mm
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Text, box, scene
from shaftscore.make.drawing.section_parts import (
    MeasuredHeight,
    SectionParts,
    SectionRow,
    measured_heights,
    section_parts,
)
from shaftscore.make.drawing.shaft_scene import HATCHES, ShaftLook, axis_mark, part_marks
from shaftscore.make.drawing.spreading import spread
from shaftscore.make.drawing.zero_plane import cuts_of
from shaftscore.make.solids import MadePart
from shaftscore.model import Stack
from shaftscore.solution import Solution
from shaftscore.stack import stack_plan

LEFT_MM, TABLES_MM, GAP_MM = 31.0, (61.0, 84.0), 4.0
"""Widths on paper for dimensions at the left, for rows at the right (from, to), and beside the section."""

STUB, STUB_MM = 1.15, 2.0
"""The broken half reaches so far beyond the spacers."""

SIZES_PT, ROW_MM, LEADING = (7.0, 8.0), 4.2, 1.15
"""Least and usual size of the rows' letters, their usual distance, and the least one over that size."""

FOOT_MM, HEAD_MM = 12.0, 8.0
"""Heights on paper below the section for the rod's dimension, and above it for the heads of the rows."""

BAR_MM = 9.0
"""Height on paper for the bar of 50 mm of a section at full size."""

NAME_X, RADII_MM = 10.0, 16.0
"""Where names begin in a row, and the width kept for radii, mm."""

DIMENSION_MM = 9.5
"""Distance of the dimension lines at the left, mm."""


@dataclass(frozen=True)
class SectionDrawing:
    """A section: its drawing, mm of paper from its lower left corner, its size and scale, what to measure."""

    scene: Scene
    wide_mm: float
    high_mm: float
    scale: float
    heights: tuple[MeasuredHeight, ...]

    @property
    def is_full_size(self) -> bool:
        """Return whether the stack can be laid on the page."""
        return self.scale == 1.0

    @property
    def scale_text(self) -> str:
        """Return its scale as it is said: "1:2"."""
        return scale_text(self.scale)


def stack_section(
    solution: Solution,
    stack: Stack,
    wide_mm: float,
    high_mm: float,
    *,
    frame: FramePlan | None = None,
    made: Mapping[str | None, MadePart] | None = None,
) -> SectionDrawing | None:
    """Return the section of a stack for a width and at most a height of paper, mm; None without discs.

    made: the parts that are written, by lane id (None: the spacer), whose dogs, pins and grooves are cut.
    """
    if not stack_plan(solution.project, stack).layers:
        return None
    drawn = section_parts(solution, stack, frame)
    low, top = drawn.ends_mm
    rows = len(drawn.rows) * ROW_MM
    across = (_stub_mm(drawn) + drawn.reach_mm, wide_mm - LEFT_MM - TABLES_MM[0] - GAP_MM)
    along = (top - low, high_mm - FOOT_MM - HEAD_MM - BAR_MM)
    scale = min(round_scale(*across), round_scale(*along))
    foot = FOOT_MM + (BAR_MM if scale == 1.0 else 0.0)
    high = max((top - low) * scale, min(rows, along[1])) + HEAD_MM + foot
    sheet = _SectionSheet(drawn, scale, wide_mm, (foot, high - HEAD_MM))
    marks = [*sheet.parts(made or {}), *sheet.dimensions(), *sheet.rows()]
    if scale == 1.0:
        marks += scale_bar(complex(wide_mm - 54.0, 2.0), "full size: this bar measures 50 mm")
    return SectionDrawing(scene(marks), wide_mm, high, scale, tuple(measured_heights(drawn)))


def _stub_mm(drawn: SectionParts) -> float:
    """Return how far the broken half reaches from the axis, mm."""
    collars = [one.right_mm for one in drawn.parts if one.kind in ("spacer", "clamp", "bearing", "rod")]
    return STUB * max(collars) + STUB_MM


class _SectionSheet:
    """Draws one section; axis: where the axis is at z 0 on paper, mm."""

    def __init__(self, drawn: SectionParts, scale: float, wide_mm: float, room: tuple[float, float]) -> None:
        self._drawn, self._scale, self._wide = drawn, scale, wide_mm
        self._room = room
        low, top = drawn.ends_mm
        middle = (room[0] + room[1]) / 2 - scale * (low + top) / 2
        self._axis = complex(LEFT_MM + scale * _stub_mm(drawn), middle)
        free = wide_mm - self._axis.real - scale * drawn.reach_mm - GAP_MM
        self._table = wide_mm - min(max(free, TABLES_MM[0]), TABLES_MM[1])
        pitch = min(ROW_MM, (room[1] - room[0]) / max(len(drawn.rows), 1))
        least, usual = SIZES_PT
        self._row_mm, self._row_pt = pitch, min(max(pitch / (LEADING * POINT_MM), least), usual)

    def _z(self, z_mm: float) -> float:
        return self._axis.imag + self._scale * z_mm

    def _at(self, x_mm: float, z_mm: float) -> complex:
        return self._axis + self._scale * complex(x_mm, z_mm)

    # Parts

    def parts(self, made: Mapping[str | None, MadePart]) -> Iterator[Mark]:
        """Yield the section itself, its axis and the line where it is broken off."""
        drawn, stub = self._drawn, _stub_mm(self._drawn)
        look = ShaftLook(cut=True, break_mm=stub)
        order = [one for one in drawn.parts if one.kind not in ("rod", "clamp", "bearing")]
        marks = [*part_marks(order, look), *self._cuts(made, stub)]
        marks += part_marks([one for one in drawn.parts if one not in order], look)
        marks.append(axis_mark(drawn.parts))
        yield from scene(marks).placed(self._scale, self._axis).marks
        low, top = drawn.ends_mm
        zs = np.linspace(self._z(low) - 3.0, self._z(top) + 3.0, 121)
        waves = LEFT_MM + 0.7 * np.sin(zs / 2.2)
        yield Path(waves + 1j * zs, Stroke("muted", "hair"), name="break")

    def _cuts(self, made: Mapping[str | None, MadePart], stub: float) -> Iterator[Mark]:
        """Yield what the plane through the zero mark cuts of dogs, pins and grooves."""
        for layer in self._drawn.plan.layers:
            part = made.get(layer.lane_id)
            for cut in cuts_of(part) if part is not None else ():
                low, high = max(cut.low, -stub), max(cut.high, -stub)
                if high > low:
                    yield Path(
                        box(
                            complex(low, layer.bottom_mm + cut.bottom),
                            complex(high, layer.bottom_mm + cut.top),
                        ),
                        Stroke(),
                        closed=True,
                        fill="paper",
                        pattern=HATCHES["disc"] if cut.is_solid else None,
                        name="dog" if cut.is_solid else "hollow",
                    )

    # Dimensions

    def dimensions(self) -> Iterator[Mark]:
        """Yield the heights at the left, partial ones next to the section, and the rod's section below it."""
        drawn, left = self._drawn, LEFT_MM - 1.5
        chain = [0.0, drawn.plan.height_mm]
        if drawn.plates_mm is not None:
            chain = [drawn.plates_mm[0], *chain, drawn.plates_mm[1]]
        for start, end in pairwise(chain):
            yield from self._upright(start, end, left, 1)
        if drawn.plates_mm is not None:
            yield from self._upright(*drawn.plates_mm, left, 2)
        if drawn.rod_mm is not None:
            yield from self._upright(*drawn.rod_mm, left, 3)
        rod = next((one for one in drawn.parts if one.kind == "rod"), None)
        if rod is not None:
            low = drawn.ends_mm[0]
            left_end, right_end = self._at(rod.left_mm, low), self._at(rod.right_mm, low)
            across = f"{plain(rod.right_mm - rod.left_mm, 2)}{_shape(drawn.stack)}"
            yield from dimension(left_end - 1j, right_end - 1j, -6j, across, bold=True)

    def _upright(self, start: float, end: float, left: float, row: int) -> Iterator[Mark]:
        away = -complex(DIMENSION_MM * row - 4.5, 0.0)
        first, last = complex(left, self._z(start)), complex(left, self._z(end))
        yield from dimension(first, last, away, f"{end - start:.1f}")

    # Rows

    def rows(self) -> Iterator[Mark]:
        """Yield what the parts are, each with a thin line to it."""
        x = self._table
        rows = sorted(self._drawn.rows, key=lambda row: row.z_mm)
        wanted = [self._z(row.z_mm) for row in rows]
        places = spread(wanted, [self._row_mm] * len(rows), *self._room)
        size = 0.72 * self._row_pt * POINT_MM
        for row, z, place in zip(rows, wanted, places, strict=True):
            start = self._axis.real + self._scale * row.radius_mm + 1.0
            bend = max(start, x - GAP_MM)
            yield Path(np.array([complex(start, z), complex(bend, z), complex(x - 1.0, place)]), LEADER)
            yield from self._texts(row, complex(x, place - size / 2))
        yield from self._heads(complex(x, self._room[1] + HEAD_MM - 4.0))

    def _heads(self, at: complex) -> Iterator[Mark]:
        yield Text(at, "Disc", SIZES_PT[1], tone="muted")
        for right, text in ((self._wide - RADII_MM - 1.5, "z"), (self._wide, "radius")):
            yield Text(complex(right, at.imag), text, SIZES_PT[1], "end", "muted")
        line = np.array([at, complex(self._wide, at.imag)]) - 1.5j
        yield Path(line, Stroke("ink", "hair"))

    def _texts(self, row: SectionRow, at: complex) -> Iterator[Mark]:
        size = self._row_pt
        if not row.heights:
            yield Text(at, shortened(row.name, size, self._wide - at.real), size)
            return
        yield Text(at, row.code, size, bold=True)
        begin, end = at + (NAME_X if row.code else 0.0), self._wide - RADII_MM - 1.5
        room = end - width_mm(row.heights, size) - 1.5 - begin.real
        yield Text(begin, shortened(row.name, size, room), size)
        yield Text(complex(end, at.imag), row.heights, size, "end")
        yield Text(complex(self._wide, at.imag), row.radii, size, "end")


LEADER = Stroke("pale", "hair")
"""Lines from rows to their parts."""


def _shape(stack: Stack) -> str:
    """Return what the rod's dimension says beside its number."""
    shape = stack.bore.shape if stack.rod is None else stack.rod.shape_in(stack.bore)
    return " across flats" if shape in ("hex", "square") else " diameter"
