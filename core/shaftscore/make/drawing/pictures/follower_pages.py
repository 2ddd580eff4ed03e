"""Pages of followers: alike ones together, drawn from the top and from the side, with parts and assembly.

Lengths of both drawings are mm on paper, their lower left corners at the origin; scales are round.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.wording import degrees, listed, millimetres, plain
from shaftscore.layout.followers import FollowerLayout, part_code
from shaftscore.layout.frame_plan import FrameHole
from shaftscore.layout.purchases import follower_purchases
from shaftscore.make.drawing.follower import DrawnDimension, DrawnShape, ShapeKind, follower_drawing
from shaftscore.make.drawing.pictures.follower_bodies import follower_layouts
from shaftscore.make.drawing.pictures.follower_texts import lever_text, slide_text, spring_text
from shaftscore.make.drawing.pictures.labels import PartLabel, labelled
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.pictures.measures import measured
from shaftscore.make.drawing.scene import Mark, Path, Pattern, Scene, Stroke, Tone, scene

SCALES = (1.0, 2.0, 2.5, 4.0, 5.0, 10.0)
"""Mm of the follower for one on paper, the fewest that have room."""

ROW_MM = 7.0
"""Distance of dimension lines from what they measure, mm on paper."""

LABELS_MM = 56.0
"""Width of the column of names beside a drawing, mm on paper."""

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
    for layout in follower_layouts(machine).values():
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
    top, top_scale = _fitted(drawing.top, drawing.top_dimensions, words, room[0], room[1])
    side, side_scale = _fitted(drawing.side, drawing.side_dimensions, words, room[0], room[2])
    return FollowerPage(
        title=KINDS[first.parts.kind],
        lanes=tuple(layout.lane.code or layout.lane.label for layout in group),
        top=top,
        top_scale=top_scale,
        side=side,
        side_scale=side_scale,
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
    holes = ", ".join(hole.name for hole in screw_holes(machine, layout))
    station = degrees(layout.profile.station_deg)
    return f"{code} {layout.lane.label}", station, millimetres(low), word, holes


def screw_holes(machine: PicturedMachine, layout: FollowerLayout) -> list[FrameHole]:
    """Return the screw holes of a follower's bracket in the bottom plate; none without a frame."""
    if machine.frame is None:
        return []
    bracket = f"bracket {part_code(layout.lane, 'K')},"
    return [hole for hole in machine.frame.of_plate("bottom") if bracket in f"{hole.purpose},"]


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
        holes = screw_holes(machine, own[0])
        said = slide_text(own[0], holes) if own[0].pivot is None else lever_text(own[0], holes)
        text = " ".join([*said, *spring_text(own[0])])
        if len(kinds) > 1:
            names = listed([layout.lane.code or layout.lane.label for layout in own])
            where = "on a lever below" if is_sleeve else "on the plate"
            text = f"{names}, {where}: {text}"
        elif len(own) > 1:
            text = f"{text} The others are put together in the same way, each with its own codes."
        yield text


# Drawings

LINES: dict[ShapeKind, tuple[Stroke, Tone | None, Pattern | None]] = {
    "disc": (Stroke("muted", "outline"), "face", None),
    "base": (Stroke("muted", "hair", "dashed"), None, None),
    "bore": (Stroke("muted", "hair"), None, None),
    "part": (Stroke("ink", "bold"), "new-face", None),
    "link": (Stroke("ink", "bold"), "new-face", "rising"),
    "hole": (Stroke("ink", "outline"), "paper", None),
    "roller": (Stroke("ink", "outline"), "paper", None),
    "screw": (Stroke("ink", "hair"), "shade", None),
    "rod": (Stroke("ink", "outline"), "shade", None),
    "frame": (Stroke("ink", "outline"), "face", None),
    "ghost": (Stroke("muted", "hair", "dashed"), None, None),
    "spring": (Stroke("ink", "hair"), None, None),
}
"""How each kind of shape is lined and filled."""

NAMED: tuple[ShapeKind, ...] = ("disc", "part", "link", "roller", "rod", "frame", "spring")
"""Shapes that are named beside the drawing."""


def _fitted(
    shapes: Sequence[DrawnShape],
    dimensions: Sequence[DrawnDimension],
    words: Mapping[str, str],
    wide_mm: float,
    high_mm: float,
) -> tuple[Scene, str]:
    """Return a drawing at a round scale in a room on paper, mm, and the scale in words.

    words: what is said beside names.
    """
    corners = np.concatenate([shape.corners for shape in shapes])
    rows = max((one.step for one in dimensions), default=0)
    margin = ROW_MM * (rows + 1.2)
    wide, high = float(np.ptp(corners.real)), float(np.ptp(corners.imag))
    drawn_wide = wide_mm - LABELS_MM
    room = max(wide / (drawn_wide - 2 * margin), high / max(high_mm - 2 * margin, 5.0))
    by = next((one for one in SCALES if one >= room), math.ceil(room))
    low = complex(corners.real.min(), corners.imag.min())
    offset = complex(margin, margin) - low / by
    marks = [*_shapes(shapes, 1 / by, offset)]
    for one in dimensions:
        marks += _measure(one, 1 / by, offset)
    drawn = scene(marks)
    left = min(drawn.bounds.right + 8.0, wide_mm - LABELS_MM)
    drawn += labelled(_names(shapes, words, 1 / by, offset), left, LABELS_MM)
    return drawn, "Full size" if by == 1 else f"1 : {plain(by)}"


def _shapes(shapes: Sequence[DrawnShape], scale: float, offset: complex) -> Iterator[Mark]:
    for shape in shapes:
        line, fill, pattern = LINES[shape.kind]
        corners = offset + scale * shape.corners
        yield Path(corners, line, shape.closed, fill if shape.closed else None, pattern, name=shape.name)


def _measure(one: DrawnDimension, scale: float, offset: complex) -> Iterator[Mark]:
    start, end = offset + scale * one.start, offset + scale * one.end
    aside = one.aside * ROW_MM * one.step
    if abs(end - start) > 1e-6:
        yield from measured(start, end, aside, millimetres(one.value_mm).removesuffix(" mm"))


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
        said["spring"] = f"{millimetres(load.spring.installed_mm)} long at output 0"
    return said
