"""The plan of a plate: what is on it and over it, seen from the top at angle 0, with every hole by its name.

Holes are those of the drilling template and have its table. Lengths of the drawing are mm on paper, its
lower left corner at the origin.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import degrees, millimetres
from shaftscore.layout.frame_plan import FrameHole, FramePlan, PlateSide, plate_code
from shaftscore.make.drawing.dimensions import dimension, scale_text
from shaftscore.make.drawing.pictures.follower_bodies import follower_bodies
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.room import LabelRoom
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, pinions, rod, stage_parts
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Tone, circle, scene
from shaftscore.make.drawing.template import HEAD, plate_template
from shaftscore.model import Stack

SCALES = (1.0, 0.5, 0.4, 1 / 3, 0.25, 0.2, 0.1, 0.05)
"""Scales of a plan, the largest with room is taken: at 1:5 names crowd where 1:3 still has room."""

LEFT_MM, BELOW_MM, ABOVE_MM, RIGHT_MM = 34.0, 20.0, 3.0, 3.0
"""Room for dimensions about the plate, mm on paper."""

ROW_MM, COLUMN_MM = 6.5, 11.0
"""Distance of level and of upright dimension lines, mm on paper."""

NAME_PT, STATION_PT = 7.5, 8.0
"""Sizes of letters."""

CROSS_MM = 1.6
"""By which the cross of a hole goes beyond it, mm on paper."""

UNDER: tuple[PlateSide, ...] = ("bottom",)
"""Plates with the stacks, followers and motor drawn over them; the top plate shows its holes alone."""


@dataclass(frozen=True, eq=False)
class PlatePlan:
    """The plan of one plate. scale_text: "1:2". head, rows: of the table of holes. notes: sentences.

    wide_mm, high_mm: of the drawing on paper.
    """

    name: str
    scene: Scene
    wide_mm: float
    high_mm: float
    scale_text: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


def plate_plan(machine: PicturedMachine, side: PlateSide, wide_mm: float, high_mm: float) -> PlatePlan | None:
    """Return the plan of a plate in a room on paper, mm; None where the machine has no frame."""
    plan = machine.frame
    if plan is None:
        return None
    over = _overhang_mm(machine, plan) if side in UNDER else (0.0, 0.0, 0.0, 0.0)
    for scale in SCALES:
        left, below, right, above = _margins(over, scale)
        size = plan.size_mm[0] * scale + left + right, plan.size_mm[1] * scale + below + above
        if size[0] <= wide_mm and size[1] <= high_mm:
            break
    drawn = _PlanDrawing(machine, plan, side, scale, complex(left, below)).drawn()
    template = plate_template(plan, side)
    return PlatePlan(
        name=plate_code(side),
        scene=drawn,
        wide_mm=size[0],
        high_mm=size[1],
        scale_text=scale_text(scale),
        head=HEAD,
        rows=template.rows,
        notes=template.notes,
    )


Margins = tuple[float, float, float, float]
"""On the left, below, on the right and above, mm."""


def _margins(over_mm: Margins, scale: float) -> Margins:
    """Return the room about the plate on paper, mm: for dimensions, and for what reaches beyond the plate."""
    least = (LEFT_MM, BELOW_MM, RIGHT_MM, ABOVE_MM)
    left, below, right, above = (max(own, one * scale + 2.0) for own, one in zip(least, over_mm, strict=True))
    return left, below, right, above


def _overhang_mm(machine: PicturedMachine, plan: FramePlan) -> Margins:
    """Return how far followers reach beyond the plate, mm."""
    layouts = machine.followers
    corners = [plan.low, plan.high]
    for lane_id, solved in machine.solution.lanes.items():
        for part in follower_bodies(machine, solved, layouts.get(lane_id)):
            if part.role in DRAWN:
                for left, right, near, far in (prism.box for prism in part.prisms):
                    corners += [complex(left, near), complex(right, far)]
    points = np.array(corners)
    low = plan.low - complex(points.real.min(), points.imag.min())
    high = complex(points.real.max(), points.imag.max()) - plan.high
    return low.real, low.imag, high.real, high.imag


DRAWN = ("lever", "bracket", "roller", "pivot")
"""Parts of followers that a plan shows."""


@dataclass
class _PlanDrawing:
    """Draws one plate at a scale; corner: where its lower left corner comes on paper, mm."""

    machine: PicturedMachine
    plan: FramePlan
    side: PlateSide
    scale: float
    corner: complex

    def drawn(self) -> Scene:
        """Return the whole drawing."""
        marks = [*self._plate()]
        if self.side in UNDER:
            marks += self._over()
        marks += self._holes()
        marks += self._measures()
        marks += self._words()
        return scene(marks)

    def at(self, point: complex) -> complex:
        """Return where a point of the machine is on paper, mm."""
        return self.corner + self.scale * (point - self.plan.low)

    def _plate(self) -> Iterator[Mark]:
        low, high = self.at(self.plan.low), self.at(self.plan.high)
        corners = [low, complex(high.real, low.imag), high, complex(low.real, high.imag)]
        yield Path(np.array(corners), Stroke("ink", "bold"), True, "paper", name=plate_code(self.side))

    # What is over the plate

    def _over(self) -> Iterator[Mark]:
        for stack in self.machine.stacks:
            yield from self._discs(stack)
        for part in self._gears():
            yield from self._outlines(part, Stroke("muted", "hair"))
        yield from self._motor()
        layouts = self.machine.followers
        for lane_id, solved in self.machine.solution.lanes.items():
            for part in follower_bodies(self.machine, solved, layouts.get(lane_id)):
                if part.role in DRAWN:
                    yield from self._follower(part)

    def _discs(self, stack: Stack) -> Iterator[Mark]:
        discs = [part for part in layers(self.machine, stack) if part.role == "disc"]
        at = self.machine.places[stack.id][0]
        discs.sort(key=lambda part: -float(np.abs(part.prisms[0].outline - at).max()))
        for number, part in enumerate(discs):
            line = Stroke("muted", "outline") if number == 0 else Stroke("pale", "hair")
            corners = self._placed(part.prisms[0].outline)
            yield Path(corners, line, True, "face" if number == 0 else None, name=part.code)
        for name, line_ in discs[0].prisms[0].marks if discs else ():
            if name == "zero mark":
                yield Path(self._placed(line_), Stroke("ink", "bold"), name="zero mark")
        bar = rod(self.machine, stack).prisms[0]
        yield Path(self._placed(bar.outline), Stroke("ink", "outline"), True, "shade", name=bar.name)

    def _gears(self) -> Iterator[PicturedPart]:
        for stack in self.machine.stacks:
            own = hub(self.machine, stack)
            if own is not None:
                yield own
            yield from stage_parts(self.machine, stack)
        yield from pinions(self.machine)

    def _outlines(self, part: PicturedPart, line: Stroke) -> Iterator[Mark]:
        prism = part.prisms[0]
        yield Path(self._placed(prism.outline), line, True, name=part.code)

    def _motor(self) -> Iterator[Mark]:
        own = self.plan.frame.motor
        if own is not None:
            radius = self.scale * (own.screw_circle_mm / 2 + own.screw_mm)
            yield circle(self.at(complex(own.x_mm, own.y_mm)), radius, DASHED, name="motor")

    def _follower(self, part: PicturedPart) -> Iterator[Mark]:
        fill: Tone | None = "paper" if part.role in ("lever", "roller") else None
        line = Stroke("muted", "outline") if part.role != "bracket" else Stroke("muted", "hair")
        for prism in part.prisms:
            yield Path(self._placed(prism.outline), line, True, fill, name=part.instance)
            for hole in prism.holes if part.role == "lever" else ():
                yield Path(self._placed(hole), Stroke("ink", "hair"), True, name=f"hole of {part.instance}")

    def _placed(self, corners: np.ndarray) -> np.ndarray:
        return np.asarray(self.corner + self.scale * (corners - self.plan.low))

    # Holes and words

    @property
    def _own_holes(self) -> tuple[FrameHole, ...]:
        return self.plan.of_plate(self.side)

    def _holes(self) -> Iterator[Mark]:
        for hole in self._own_holes:
            at, radius = self.at(hole.at), self.scale * hole.reach_mm
            yield circle(at, radius, Stroke("ink", "bold"), name=f"hole {hole.name}")
            if hole.seat is not None:
                yield circle(at, self.scale * hole.seat.through_mm / 2, Stroke("ink", "hair"))
            for way in (1, 1j):
                arm = (radius + CROSS_MM) * way
                yield Path(np.array([at - arm, at + arm]), Stroke("ink", "hair"))

    def _words(self) -> Iterator[Mark]:
        """Yield the reference line, the stations and the names of holes, none over another."""
        room = LabelRoom(self.at(self.plan.low), self.at(self.plan.high))
        for hole in self._own_holes:
            room.keep_round(self.at(hole.at), self.scale * hole.reach_mm + 0.3)
        stations = list(self._stations()) if self.side in UNDER else []
        yield from self._reference()
        for _, at, way in stations:
            yield Path(np.array([at, at + way]), Stroke("muted", "hair", "chain"))
        for hole in self._own_holes:
            at, radius = self.at(hole.at), self.scale * hole.reach_mm
            yield from room.beside(at, radius, hole.name, NAME_PT)
        for text, at, way in stations:
            yield from room.along(at, at + way, text, STATION_PT)
        yield from room.along(
            self.at(0j), self.at(complex(self.plan.high.real)), "reference line, 0°", NAME_PT
        )
        if self.side in UNDER:
            yield from self._turns()

    def _reference(self) -> Iterator[Mark]:
        start, end = self.at(0j), self.at(complex(self.plan.high.real, 0.0))
        yield Path(np.array([start, end + 2.0]), Stroke("muted", "hair", "chain"), name="reference line")

    def _stations(self) -> Iterator[tuple[str, complex, complex]]:
        """Yield what is said of each station, its axis and the way to the edge of the plate, on paper."""
        found: dict[tuple[str, float], list[str]] = {}
        for solved in self.machine.solution.lanes.values():
            if solved.stack in self.machine.places and solved.profile is not None:
                key = solved.stack, solved.lane.station_deg
                found.setdefault(key, []).append(solved.lane.code or solved.lane.label)
        for (stack_id, station), codes in found.items():
            at = self.machine.places[stack_id][0]
            way = self._to_edge(at, cmath.rect(1.0, math.radians(station)))
            yield f"{degrees(station)}: {_codes(codes)}", self.at(at), self.scale * way

    def _to_edge(self, at: complex, way: complex) -> complex:
        """Return the way from a point to the edge of the plate in a direction, mm."""
        low, high = self.plan.low, self.plan.high
        reach = [
            ((high if part > 0 else low) - start) / part
            for start, part, low, high in (
                (at.real, way.real, low.real, high.real),
                (at.imag, way.imag, low.imag, high.imag),
            )
            if abs(part) > 1e-9
        ]
        return min(reach) * way

    def _turns(self) -> Iterator[Mark]:
        """Yield the arrows that say how the stacks turn, on their largest discs."""
        for stack in self.machine.stacks:
            at = self.machine.places[stack.id][0]
            discs = [part for part in layers(self.machine, stack) if part.role == "disc"]
            reach = max(float(np.abs(part.prisms[0].outline - at).max()) for part in discs)
            yield from plan_arrow(
                self.at(at), 0.72 * reach * self.scale, self.machine.project.turn_of(stack)
            ).marks

    # Dimensions

    def _measures(self) -> Iterator[Mark]:
        low, high = self.plan.low, self.plan.high
        pillars = [hole.at for hole in self._own_holes if hole.is_pillar]
        rows = [(low.real, high.real), (low.real, 0.0)]
        if pillars:
            rows.append((min(at.real for at in pillars), max(at.real for at in pillars)))
        for number, (start, end) in enumerate(_distinct(rows), start=1):
            ends = self.at(complex(start, low.imag)), self.at(complex(end, low.imag))
            yield from dimension(*ends, -1j * (ROW_MM * number - 1.5), _length(end - start))
        rows = [(low.imag, high.imag), (low.imag, 0.0)]
        if pillars:
            rows.append((min(at.imag for at in pillars), max(at.imag for at in pillars)))
        for number, (start, end) in enumerate(_distinct(rows), start=1):
            ends = self.at(complex(low.real, start)), self.at(complex(low.real, end))
            yield from dimension(*ends, -(COLUMN_MM * number - 5.0) + 0j, _length(end - start))


DASHED = Stroke("ink", "outline", "dashed")
"""What is under the plate."""


def _distinct(rows: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    return [row for row in dict.fromkeys(rows) if abs(row[1] - row[0]) > 1e-6]


def _length(value: float) -> str:
    return millimetres(value).removesuffix(" mm")


def _codes(codes: Sequence[str]) -> str:
    """Return codes in a few words: all of a few, else the first, the last and how many."""
    if len(codes) <= FEW:
        return ", ".join(codes)
    return f"{codes[0]} to {codes[-1]} ({len(codes)})"


FEW = 4
"""So many codes of a station are named one by one."""


def plan_arrow(at: complex, radius: float, turn: str) -> Scene:
    """Return an arrow about an axis as seen from the top, mm on paper; turn: seen from the top."""
    sign = 1.0 if turn == "counterclockwise" else -1.0
    angles = np.radians(-110.0 + sign * np.linspace(-25.0, 25.0, 24))
    line = np.asarray(at + radius * np.exp(1j * angles), np.complex128)
    way = line[-1] - line[-2]
    way = way / abs(way)
    head = np.array([line[-1] + 2.4 * way, line[-1] - (0.8 - 0.9j) * way, line[-1] - (0.8 + 0.9j) * way])
    return scene(
        [
            Path(line, Stroke("ink", "bold"), name="turning arrow"),
            Path(head, None, True, fill="ink", name="turning arrow"),
        ]
    )
