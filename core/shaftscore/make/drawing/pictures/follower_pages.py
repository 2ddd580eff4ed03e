"""Pages of followers: alike ones together, drawn from the top and from the side, with parts and assembly.

Lengths of both drawings are mm on paper, their lower left corners at the origin; scales are round.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.layout.followers import FollowerLayout, part_code
from shaftscore.layout.purchases import follower_purchases
from shaftscore.make.drawing.dimensions import SCALES, dimension, scale_text
from shaftscore.make.drawing.follower import DrawnDimension, DrawnShape, ShapeKind, follower_drawing
from shaftscore.make.drawing.follower_scene import shape_marks
from shaftscore.make.drawing.pictures.follower_texts import (
    lever_text,
    rod_hole,
    screw_holes,
    slide_text,
    spring_text,
)
from shaftscore.make.drawing.pictures.labels import PartLabel, labelled
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.scene import Mark, Scene, scene

ROW_MM = 7.0
"""Distance of dimension lines from what they measure, mm on paper."""

LABELS_MM, LABEL_GAP_MM = 58.0, 6.0
"""Width of the column of names beside a drawing, and its distance, mm on paper."""

PARTS_HEAD = ("Code", "Part", "No.", "Revision")
"""Columns of the parts of followers."""

LANES_HEAD = ("Lane", "Station", "Underside, z", "Bracket or sleeve", "Holes")
"""Columns of the lanes of a page."""

BOUGHT_HEAD = ("To buy", "Size", "No.")
"""Columns of what is bought for the followers of a page."""

KINDS = {"slide": "Slide in a guide", "lever": "Swinging lever", "straight-line": "Straight-line lever"}
"""Names of kinds of follower parts."""


@dataclass(frozen=True, eq=False)
class FollowerPage:
    """Followers that are alike: drawn once, for the first of them.

    title: their kind. lanes: codes. top, side: drawings with what scale they have. parts, bought, places:
    rows under the heads above. steps: sentences of assembly, for each kind of bracket. refused: why a part
    cannot be made.
    """

    title: str
    lanes: tuple[str, ...]
    top: Scene
    top_scale: str
    side: Scene
    side_scale: str
    places: tuple[tuple[str, ...], ...]
    parts: tuple[tuple[str, ...], ...]
    bought: tuple[tuple[str, ...], ...]
    steps: tuple[str, ...]
    refused: tuple[str, ...]


def follower_pages(
    machine: PicturedMachine, wide_mm: float, top_high_mm: float, side_high_mm: float
) -> tuple[FollowerPage, ...]:
    """Return a page for each kind of follower with parts; heights are of both drawings on paper, mm."""
    groups: dict[object, list[FollowerLayout]] = {}
    for layout in machine.followers.values():
        groups.setdefault(_kind_key(layout), []).append(layout)
    return tuple(_page(machine, group, (wide_mm, top_high_mm, side_high_mm)) for group in groups.values())


def _kind_key(layout: FollowerLayout) -> tuple[object, ...]:
    """Return by what followers are alike: their records, whatever their lane and their bracket."""
    return layout.lane.parts, layout.lane.follower, layout.lane.arm_thickness_mm


def _page(
    machine: PicturedMachine, group: Sequence[FollowerLayout], room: tuple[float, float, float]
) -> FollowerPage:
    first = group[0]
    drawing = follower_drawing(machine.project, first, 0.0)
    words = _words(first)
    top, top_scale = _from_top(_View(drawing.top, drawing.top_dimensions, words), room[0], room[1])
    beside = _View(drawing.side, drawing.side_dimensions, words, is_cut=True)
    side, side_scale = _fitted(beside, room[0], room[2])
    return FollowerPage(
        title=KINDS[first.parts.kind],
        lanes=tuple(layout.lane.code or layout.lane.label for layout in group),
        top=top,
        top_scale=top_scale,
        side=side,
        side_scale=scale_text(side_scale),
        places=tuple(_place(machine, layout) for layout in group),
        parts=tuple(row for layout in group for row in _parts(machine, layout)),
        bought=_bought(group),
        steps=tuple(_steps(machine, group)),
        refused=drawing.refused,
    )


# Rows


def _place(machine: PicturedMachine, layout: FollowerLayout) -> tuple[str, ...]:
    """Return the row of a lane: where its follower is."""
    code, low = layout.lane.code or "", layout.bands.levers[0].bottom_mm
    word = "guide"
    if layout.pivot is not None:
        high = low - layout.lane.follower.washer_mm - layout.floor_mm
        word = f"{'sleeve' if layout.is_sleeve else 'post'} {millimetres(high)}"
    holes = ", ".join(hole.name for hole in screw_holes(machine.frame, layout))
    station = degrees(layout.profile.station_deg)
    return f"{code} {layout.lane.label}", station, millimetres(low), word, holes


def _parts(machine: PicturedMachine, layout: FollowerLayout) -> Iterator[tuple[str, ...]]:
    """Yield the rows of a follower's made parts, each once."""
    codes = dict.fromkeys(where.code for where in layout.placements())
    for code in codes:
        for part in machine.made(code):
            yield part.code, part.label, str(part.count), part.revision


def _bought(group: Sequence[FollowerLayout]) -> tuple[tuple[str, ...], ...]:
    """Return the rows of what is bought for followers, alike ones counted together."""
    counts: dict[tuple[str, str], int] = {}
    for layout in group:
        for one in follower_purchases(layout):
            key = one.what, one.size
            counts[key] = counts.get(key, 0) + one.count
    return tuple((what, size, str(count)) for (what, size), count in counts.items())


def _steps(machine: PicturedMachine, group: Sequence[FollowerLayout]) -> Iterator[str]:
    """Yield the assembly of the first follower, and of the first on a sleeve where there are both."""
    kinds: dict[bool, list[FollowerLayout]] = {}
    for layout in group:
        kinds.setdefault(layout.is_sleeve, []).append(layout)
    for is_sleeve, own in kinds.items():
        first, holes = own[0], screw_holes(machine.frame, own[0])
        through = rod_hole(machine.frame, first)
        said = slide_text(first, holes) if first.pivot is None else lever_text(first, holes, through)
        text = " ".join([*said, *spring_text(machine.frame, own)])
        if len(kinds) > 1:
            names = listed([layout.lane.code or layout.lane.label for layout in own])
            where = "on a lever below" if is_sleeve else "on the plate"
            text = f"{names}, {where}: {text}"
        elif len(own) > 1:
            text = f"{text} The others are put together in the same way, each with its own codes."
        yield text


# Drawings

NAMED: tuple[ShapeKind, ...] = ("disc", "part", "link", "roller", "rod", "frame", "spring")
"""Shapes that are named beside the drawing."""


@dataclass(frozen=True, eq=False)
class _View:
    """A view before it has a scale: shapes and dimensions, turned by a factor of length 1; words of names.

    is_cut: from the side, where discs are cut.
    """

    shapes: tuple[DrawnShape, ...]
    dimensions: tuple[DrawnDimension, ...]
    words: Mapping[str, str]
    is_cut: bool = False

    def turned(self, by: complex) -> _View:
        """Return the view turned by a factor of length 1."""
        shapes = tuple(replace(one, corners=one.corners * by) for one in self.shapes)
        dimensions = tuple(
            replace(one, start=one.start * by, end=one.end * by, aside=one.aside * by)
            for one in self.dimensions
        )
        return _View(shapes, dimensions, self.words, self.is_cut)

    def drawn(self, scale: float) -> Scene:
        """Return shapes and dimensions at a scale, mm on paper by mm."""
        found = scene(shape_marks(self.shapes, cut=self.is_cut)).placed(scale)
        for one in self.dimensions:
            found += scene(_measure(one, scale))
        return found

    def scale_for(self, wide_mm: float, high_mm: float) -> float:
        """Return the largest round scale at which the drawing has room, mm; the least where none has."""
        for scale in SCALES:
            box = self.drawn(scale).bounds
            if box.wide <= wide_mm and box.high <= high_mm:
                return scale
        return SCALES[-1]


def _fitted(view: _View, wide_mm: float, high_mm: float) -> tuple[Scene, float]:
    """Return a drawing at a round scale in a room on paper, mm, with the names beside it, and the scale."""
    scale = view.scale_for(wide_mm - LABELS_MM - LABEL_GAP_MM, high_mm)
    drawn = view.drawn(scale)
    low = complex(drawn.bounds.left, drawn.bounds.bottom)
    drawn = drawn.placed(1.0, -low)
    left = drawn.bounds.right + LABEL_GAP_MM
    drawn += labelled(_names(view.shapes, view.words, scale, -low), left, LABELS_MM)
    return drawn.placed(1.0, -1j * min(drawn.bounds.bottom, 0.0)), scale


def _from_top(view: _View, wide_mm: float, high_mm: float) -> tuple[Scene, str]:
    """Return the view from the top in words too, turned where it is then larger."""
    turned = view.turned(-1j)
    scales = [one.scale_for(wide_mm - LABELS_MM - LABEL_GAP_MM, high_mm) for one in (view, turned)]
    best, way = (turned, "downward") if scales[1] > scales[0] else (view, "to the right")
    drawn, scale = _fitted(best, wide_mm, high_mm)
    return drawn, f"{scale_text(scale)}, station line {way}"


def _measure(one: DrawnDimension, scale: float) -> Iterator[Mark]:
    start, end = scale * one.start, scale * one.end
    if abs(end - start) > np.finfo(float).eps:
        aside = one.aside * ROW_MM * one.step
        yield from dimension(start, end, aside, millimetres(one.value_mm).removesuffix(" mm"))


def _names(
    shapes: Sequence[DrawnShape], words: Mapping[str, str], scale: float, offset: complex
) -> list[PartLabel]:
    """Return the labels of parts, each once, at their right ends on paper."""
    found: dict[str, complex] = {}
    for shape in shapes:
        if shape.kind in NAMED and shape.name and shape.name not in found:
            found[shape.name] = complex(shape.corners[int(np.argmax(shape.corners.real))])
    return [PartLabel(name, words.get(name, ""), offset + scale * at) for name, at in found.items()]


def _words(layout: FollowerLayout) -> dict[str, str]:
    """Return what is said beside the name of a part, by the name that the drawing gives it."""
    code, follower, parts = layout.lane.code or "", layout.lane.follower, layout.parts
    roller, load = layout.bands.roller, layout.lane.load
    said = {
        code: "disc",
        part_code(layout.lane, "L"): f"lever, {millimetres(parts.thickness_mm)} thick",
        part_code(layout.lane, "S"): f"slide, {millimetres(parts.thickness_mm)} thick",
        part_code(layout.lane, "K"): "sleeve" if layout.is_sleeve else "bracket",
        part_code(layout.lane, "G", 1): "coupler",
        part_code(layout.lane, "G", 2): "guide link",
        "pivot": f"rod {plain(parts.pivot_rod_mm)} mm",
        "roller": f"⌀ {plain(2 * layout.profile.model.roller_radius_mm)}, {plain(roller.width_mm)} wide",
    }
    bearing = getattr(follower, "bearing", None)
    if bearing:
        said["roller"] += f", bearing {bearing}"
    if load is not None and load.spring is not None:
        said["spring"] = f"{millimetres(load.spring.installed_mm)} at output 0"
    return said
