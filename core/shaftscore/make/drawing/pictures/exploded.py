"""The exploded shaft: what is on a stack drawn apart, in its order, each part with its code.

Each disc has the spacer that is on it, and a gap to the next one. A long stack folds into columns, read from
the bottom of the left one up, then on at the bottom of the next. Lengths of the picture are mm on paper.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.layout.placed import Points
from shaftscore.make.drawing.fonts import width_mm
from shaftscore.make.drawing.pictures.clamps import clamp, clamp_word
from shaftscore.make.drawing.pictures.labels import LABEL_PT, PartLabel, labelled, line_high_mm
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.prisms import ROD, SOLID, UprightPrism, contour_of
from shaftscore.make.drawing.pictures.projecting import BACK, UP, hides, painted, seen_point
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, rod_path, stage_parts
from shaftscore.make.drawing.scene import Mark, Path, Scene, Stroke, Text, scene
from shaftscore.model import Stack

PITCH_MM = 1.15 * line_high_mm(LABEL_PT)
"""Least distance of two parts with codes on paper: their labels then stand level with them."""

MOST_SCALE = 1.0
"""A shaft is not drawn larger than it is."""

SPREAD, LEAST_SPREAD = 2.2, 0.8
"""Gap between two discs over the height of a disc with its spacer, at most and at least."""

LEAST_SCALE = 0.05
"""A shaft is not drawn smaller than this."""

LABEL_MOST_MM, LABEL_LEAST_MM, LABEL_SHARE = 50.0, 14.0, 0.4
"""Room for labels beside a column, mm, and at most as a share of the column."""

AXLE_MM, TURN_MM = 24.0, 6.0
"""Rod that stands out at the upper end, mm of the machine; room over it for the turning arrow, on paper."""

BREAK_MM = 5.0
"""Rod that stands out where a stack goes on in another column, mm of the machine."""


@dataclass(frozen=True, eq=False)
class _Tier:
    """Parts that stay together in the exploded picture, from the bottom up: a disc and what is on it."""

    parts: tuple[PicturedPart, ...]

    @property
    def bottom_mm(self) -> float:
        return min(part.bottom_mm for part in self.parts)

    @property
    def top_mm(self) -> float:
        return max(_body_top(part) for part in self.parts)

    @property
    def high_mm(self) -> float:
        return self.top_mm - self.bottom_mm

    @property
    def corners(self) -> Points:
        return np.concatenate([one.outline for part in self.parts for one in part.prisms])


def _body_top(part: PicturedPart) -> float:
    """Return the height of a part without its pegs, mm: these go into the part above it."""
    return max(one.top_mm for one in part.prisms if one.inside == SOLID)


def exploded_shaft(machine: PicturedMachine, stack: Stack, wide_mm: float, high_mm: float) -> Scene:
    """Return the exploded picture of a stack in a room on paper, mm, its lower left corner at the origin.

    Raises ValueError if no disc of it is made.
    """
    tiers = _tiers(machine, stack)
    if not tiers:
        raise ValueError(f"{stack.label} has no disc to draw")
    wish = _label_wish(machine, tiers)
    columns = _columns(tiers, wide_mm, high_mm, wish)
    own_wide = wide_mm / len(columns)
    plan = _Plan.of(columns, own_wide, high_mm, wish)
    marks: list[Mark] = []
    for number, column in enumerate(columns):
        is_last = number == len(columns) - 1
        drawn = plan.drawn(machine, stack, column, is_last=is_last)
        marks += drawn.placed(1.0, complex(own_wide * number)).marks
    return scene(marks)


def _tiers(machine: PicturedMachine, stack: Stack) -> list[_Tier]:
    """Return what is on a stack as tiers, from the bottom up, its axis at the origin."""
    at, bottom = machine.places[stack.id]
    parts = [part.moved(-at, -bottom) for part in layers(machine, stack)]
    found: list[list[PicturedPart]] = []
    for part in parts:
        if part.role == "spacer" and found:
            found[-1].append(part)
        else:
            found.append([part])
    own = hub(machine, stack)
    if own is not None and parts:
        own = own.moved(-at, -bottom)
        place = len(found) if stack.driven_end == "top" else 0
        found.insert(place, [own])
    for part in stage_parts(machine, stack) if parts else ():
        own = part.moved(-at, -bottom)
        found.insert(len(found) if own.top_mm > parts[-1].top_mm else 0, [own])
    for upper in (False, True) if parts else ():
        held = clamp(machine, stack, upper=upper)
        if held is not None:
            found.insert(len(found) if upper else 0, [held.moved(-at, -bottom)])
    return [_Tier(tuple(one)) for one in found]


def _columns(tiers: Sequence[_Tier], wide_mm: float, high_mm: float, wish_mm: float) -> list[list[_Tier]]:
    """Return the tiers in as few columns as leave room for their labels."""
    for count in range(1, len(tiers) + 1):
        share = -(-len(tiers) // count)
        columns = [list(tiers[first : first + share]) for first in range(0, len(tiers), share)]
        plan = _Plan.of(columns, wide_mm / len(columns), high_mm, wish_mm)
        if plan.has_room or len(columns) == len(tiers):
            return columns
    return [list(tiers)]


@dataclass(frozen=True)
class _Plan:
    """Scale and gaps of all columns. scale: mm on paper by mm of the machine. gap_mm: of the machine.

    left: of the axis in its column, base: of the lowest tier's bottom, on paper. label_mm: room for labels.
    """

    scale: float
    gap_mm: float
    axis_mm: float
    base_mm: float
    wide_mm: float
    label_mm: float
    has_room: bool

    @classmethod
    def of(cls, columns: Sequence[Sequence[_Tier]], wide_mm: float, high_mm: float, wish_mm: float) -> _Plan:
        """Find the scale and the gap with which the columns fill the room; wish_mm: width for labels."""
        every = [tier for column in columns for tier in column]
        label = min(max(wish_mm, LABEL_LEAST_MM), LABEL_MOST_MM, LABEL_SHARE * wide_mm)
        corners = np.concatenate([tier.corners for tier in every])
        left, right = float(-corners.real.min()), float(corners.real.max())
        front, back = float(-corners.imag.min()), float(corners.imag.max())
        scale = min(MOST_SCALE, (wide_mm - label - 2.0) / (left + right))
        high, least = high_mm - TURN_MM, LEAST_SPREAD * max(tier.high_mm for tier in every)
        for _ in range(60):
            gaps = [_gap(column, scale, high, (front, back)) for column in columns]
            if min(gaps) >= least or scale < LEAST_SCALE:
                break
            scale *= 0.95
        gap = max(min(*gaps, SPREAD * max(tier.high_mm for tier in every)), 0.0)
        pitch = min((tier.high_mm + gap) * UP * scale for tier in every)
        room = wide_mm - label - 2.0 - scale * (left + right)
        return cls(
            scale,
            gap,
            scale * left + room / 2,
            scale * (front * BACK + BREAK_MM * UP) + _spare(columns, scale, gap, high, (front, back)) / 2,
            wide_mm,
            label,
            pitch >= PITCH_MM and gap > 0,
        )

    def drawn(
        self,
        machine: PicturedMachine,
        stack: Stack,
        column: Sequence[_Tier],
        *,
        is_last: bool,
    ) -> Scene:
        """Return one column with its labels."""
        parts = list(self._spread(column))
        top = max(_body_top(part) for part in parts)
        bottom = min(part.bottom_mm for part in parts)
        ends = (bottom - BREAK_MM, top + (AXLE_MM if is_last else BREAK_MM))
        rod = UprightPrism(contour_of(rod_path(stack)), *ends, f"rod of {stack.label}", inside=ROD)
        offset = complex(self.axis_mm, self.base_mm)
        bodies = scene(painted([*prisms_of(parts), rod])).placed(self.scale, offset)
        labels = [_label(machine, *one) for one in _named(parts, all_spacers=is_last)]
        placed = [replace(one, at=one.at * self.scale + offset) for one in labels]
        left = self.wide_mm - self.label_mm
        drawn = bodies + labelled(placed, left, self.label_mm)
        if not is_last:
            return drawn + _goes_on(seen_point(0j, ends[1]) * self.scale + offset)
        end = seen_point(0j, ends[1] - AXLE_MM / 4) * self.scale + offset
        return drawn + turning_arrow(end, machine.project.turn_of(stack), self.scale)

    def _spread(self, column: Sequence[_Tier]) -> Iterator[PicturedPart]:
        """Yield the parts of a column drawn apart, the lowest face at height 0."""
        low = 0.0
        for tier in column:
            for part in tier.parts:
                yield part.lifted(low - tier.bottom_mm)
            low += tier.high_mm + self.gap_mm


def _spare(
    columns: Sequence[Sequence[_Tier]],
    scale: float,
    gap_mm: float,
    high_mm: float,
    reach: tuple[float, float],
) -> float:
    """Return the height that the tallest column leaves, on paper, mm."""
    left = (_gap(column, scale, high_mm, reach) - gap_mm for column in columns)
    counts = (max(len(column) - 1, 1) for column in columns)
    return max(min(own * count * UP * scale for own, count in zip(left, counts, strict=True)), 0.0)


def _gap(column: Sequence[_Tier], scale: float, high_mm: float, reach: tuple[float, float]) -> float:
    """Return the gap between tiers with which a column fills its height, mm of the machine."""
    solid = sum(tier.high_mm for tier in column)
    taken = (solid + BREAK_MM + AXLE_MM) * UP + reach[0] * BACK
    return float((high_mm / scale - taken) / UP / max(len(column) - 1, 1))


def _label_wish(machine: PicturedMachine, tiers: Sequence[_Tier]) -> float:
    """Return the width that the longest labels would take, mm."""
    parts = [part for tier in tiers for part in tier.parts]
    codes = max(width_mm(part.code, LABEL_PT, bold=True) for part in parts)
    names = [machine.project.lane(part.lane_id).label for part in parts if part.lane_id]
    return codes + max(width_mm(name, LABEL_PT) for name in [*names, "hub, 100 teeth"]) + 5.0


def _named(
    parts: Sequence[PicturedPart], *, all_spacers: bool
) -> Iterator[tuple[PicturedPart, Sequence[PicturedPart]]]:
    """Yield the parts that have a label, each with those above it: of spacers the highest that is seen."""
    spacers = []
    for place, part in enumerate(parts):
        above = parts[place + 1 :]
        if part.role != "spacer":
            yield part, above
        elif all_spacers and not _is_hidden(part, above):
            spacers.append((part, above))
    yield from spacers[-1:]


def _is_hidden(part: PicturedPart, above: Sequence[PicturedPart]) -> bool:
    """Return whether nothing of the right edge of a part is seen; above: what is over it."""
    at = visible_edge(part.prisms[0], prisms_of(above))
    return any(hides(other, at) for other in prisms_of(above))


def _label(machine: PicturedMachine, part: PicturedPart, above: Sequence[PicturedPart]) -> PartLabel:
    """Return the label of a part at its right edge, where it is seen; above: what is over it."""
    at = visible_edge(part.prisms[0], prisms_of(above))
    if part.role == "disc":
        return PartLabel(part.code, machine.project.lane(part.lane_id).label, at)
    if part.role == "hub":
        return PartLabel(part.code, hub_name(machine, part.stack_id), at)
    if part.role == "clamp":
        return PartLabel("", clamp_word(part), at)
    if part.role in STAGE_WORDS:
        return PartLabel(part.code, STAGE_WORDS[part.role], at)
    return PartLabel(part.code, f"{machine.made(part.code)[0].count} in all", at)


STAGE_WORDS = {"driver": "driver", "geneva": "Geneva wheel", "stepped": "stepped wheel"}
"""What the parts of an intermittent stage are called."""


def hub_name(machine: PicturedMachine, stack_id: str) -> str:
    """Return the name of a stack's hub, with its teeth if it has some."""
    wheel = machine.wheels.get(stack_id)
    return "hub" if wheel is None else f"hub, {wheel.wheel.teeth} teeth"


EDGE_PLACES = 14
"""Places along the edge of a part that are tried for the end of a leader."""


def visible_edge(prism: UprightPrism, above: Sequence[UprightPrism]) -> complex:
    """Return a point of a body's wall, as far to the right as it is seen, on the picture, mm."""
    outline, z = prism.outline, (prism.bottom_mm + prism.top_mm) / 2
    middle = outline.mean()
    turns = np.angle(outline - middle)
    wanted = np.radians(np.linspace(0.0, -100.0, EDGE_PLACES))
    places = [int(np.argmin(np.abs(turns - turn))) for turn in wanted]
    points = [seen_point(complex(outline[place]), z) for place in places]
    free = (one for one in points if not any(hides(other, one) for other in above))
    return next(free, points[0])


def _goes_on(at: complex) -> Scene:
    """Return the sign that a shaft goes on in the next column; at: the upper end of its rod, on paper."""
    tip = at + 5j
    return scene(
        [
            Path(np.array([at + 1j, tip]), Stroke("muted", "outline", "dashed")),
            Path(np.array([tip - 1 - 1.6j, tip, tip + 1 - 1.6j]), Stroke("muted", "outline")),
            Text(tip + complex(1.6, -1.4), "next column", 7.0, tone="muted"),
        ]
    )


def turning_arrow(at: complex, turn: str, scale: float) -> Scene:
    """Return an arrow round a rod at a point on paper, mm; turn: seen from the top."""
    wide = max(7.0, 14.0 * scale)
    sign = 1.0 if turn == "counterclockwise" else -1.0
    # from behind the rod's left over the front; counterclockwise from above goes to the right in front
    angles = np.radians(np.linspace(150.0, 395.0, 32))
    around = wide * np.cos(angles) + 1j * wide * BACK * np.sin(angles)
    line = at + (around if sign > 0 else -np.conj(around))
    way = line[-1] - line[-2]
    way = way / abs(way)
    barbs = [line[-1] + 1.2 * way, line[-1] - (2.2 - 1.1j) * way, line[-1] - (2.2 + 1.1j) * way]
    return scene(
        [
            Path(line, Stroke("ink", "bold"), name="turning arrow"),
            Path(np.array(barbs), Stroke("ink", "outline"), closed=True, fill="ink", name="turning arrow"),
        ]
    )
