"""Places for the pillars: along the edge of the plates, out of the way of all that moves between them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shaftscore.base.wording import plain
from shaftscore.layout.frame_plan import (
    BOTH,
    WALL_MM,
    FrameError,
    FrameHole,
    FrameWheel,
    pillar_outer_mm,
    screw_hole_mm,
)
from shaftscore.layout.sweeps import SweptBands, swept
from shaftscore.model import MachineFrame
from shaftscore.solution import Solution

CLEAR_MM = 1.0
"""Pillars stay so far from all that moves and from one another."""

STEP_MM = 1.0
"""Steps in which a pillar looks for a free place."""


@dataclass
class PillarSearch:
    """Finds places for the pillars along the edge of the plates."""

    solution: Solution
    frame: MachineFrame
    axes: Mapping[str, complex]
    wheels: Sequence[FrameWheel]
    holes: Sequence[FrameHole]
    corners: tuple[complex, complex]

    def placed(self) -> list[FrameHole]:
        """Return the pillars' holes, counterclockwise from the corner of least x and y.

        Raises FrameError if one has no place.
        """
        across, taken = screw_hole_mm(self.frame.pillar_mm), list[complex]()
        purpose = f"pillar, rod M{plain(self.frame.pillar_mm)}"
        obstacles = self._obstacles()
        for number, wanted in enumerate(self._wanted(), start=1):
            at = self._free(wanted, obstacles, taken)
            if at is None:
                raise FrameError(
                    f"pillar F{number} has no place that nothing sweeps; set a larger margin or fewer pillars"
                )
            taken.append(complex(round(at.real, 1), round(at.imag, 1)))
        return [FrameHole(f"F{n}", at, across, purpose, BOTH) for n, at in enumerate(taken, start=1)]

    def _obstacles(self) -> SweptBands:
        """Return all that sweeps between the plates, and the holes."""
        stacks = [stack for stack in self.solution.project.stacks if stack.id in self.axes]
        sweeps = [swept(self.solution, stack).shifted(self.axes[stack.id]) for stack in stacks]
        circles = [(wheel.at, wheel.at, wheel.radius_mm) for wheel in self.wheels]
        circles += [(hole.at, hole.at, hole.reach_mm + WALL_MM / 2) for hole in self.holes]
        return SweptBands.joined([*sweeps, SweptBands.of(circles)])

    @property
    def _inset(self) -> tuple[complex, complex]:
        """Corners of the line on which the pillars' middles are."""
        by = max(self.frame.margin_mm, pillar_outer_mm(self.frame) + 2 * CLEAR_MM) / 2
        return self.corners[0] + complex(by, by), self.corners[1] - complex(by, by)

    def _wanted(self) -> list[float]:
        """Return where pillars should be, counterclockwise along the line from its first corner, mm."""
        low, high = self._inset
        wide, high_mm = high.real - low.real, high.imag - low.imag
        corners = [0.0, wide, wide + high_mm, 2 * wide + high_mm]
        if self.frame.pillars == 3:
            return [0.0, wide, wide + high_mm + wide / 2]
        more = self.frame.pillars - 4
        is_wide = wide >= high_mm
        side = wide if is_wide else high_mm
        starts = (corners[0], corners[2]) if is_wide else (corners[1], corners[3])
        extra = [
            start + side * (number + 1) / (own + 1)
            for start, own in zip(starts, (more - more // 2, more // 2), strict=True)
            for number in range(own)
        ]
        return sorted([*corners, *extra])

    def _at(self, length: float) -> complex:
        """Return the point at a length along the line."""
        low, high = self._inset
        wide, high_mm = high.real - low.real, high.imag - low.imag
        around = 2 * (wide + high_mm)
        left = length - around * math.floor(length / around)
        for side, start, way in (
            (wide, low, 1),
            (high_mm, complex(high.real, low.imag), 1j),
            (wide, high, -1),
            (high_mm, complex(low.real, high.imag), -1j),
        ):
            if left <= side:
                return start + left * way
            left -= side
        return low

    def _free(self, wanted: float, obstacles: SweptBands, taken: Sequence[complex]) -> complex | None:
        """Return the free place nearest to the wanted one along the line; None if there is none."""
        low, high = self._inset
        half = (high.real - low.real) + (high.imag - low.imag)
        radius = pillar_outer_mm(self.frame) / 2
        for step in range(int(half / STEP_MM) + 1):
            for way in (1, -1) if step else (1,):
                at = self._at(wanted + way * step * STEP_MM)
                apart = all(abs(at - other) >= 2 * radius + CLEAR_MM for other in taken)
                if apart and obstacles.from_point(at) >= radius + CLEAR_MM:
                    return at
        return None
