"""Parts over the bed, split into pieces that are joined by keys.

A *key* is a trapezoid that is wider at its tip: pieces go together along the part's height and cannot be
drawn apart in plan. The piece with the keys ends at the cut; its neighbour begins there, with sockets that
are wider by CLEAR_MM on every side. Cuts keep off holes and all that stands on the part or is cut into it,
and off letters where they can. Pieces have the frame of the whole part, so that they lie where it would, and
its code with a number: PLATE-TOP-1, PLATE-TOP-2.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from shaftscore.base.tolerance import over
from shaftscore.layout.bar_joints import DEEP, FREE_MM, KEY_MM, KEY_SHARE, LEAST_KEY_MM, SEEK
from shaftscore.make.solids.bed import file_size_mm, fits_bed, too_large_text
from shaftscore.make.solids.part import FINE_MM, Kind, MadePart, PlainPart, plain_part
from shaftscore.make.solids.prism import PartPrism
from shaftscore.make.solids.strokes import Polyline
from shaftscore.model import Print, Project
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import polygon

SPLIT_KINDS: tuple[Kind, ...] = ("plate", "lever", "slide")
"""Kinds of parts that may be split: those without a running edge, teeth or a fit on a rod."""

CLEAR_MM = 0.1
"""Clearance of a key to each side (common practice, no source)."""

KEY_EVERY_MM = 40.0
"""One key for each length of the cut."""

FLARE = 1.6
"""Width of a key at its tip by that at its root."""

MOST_PIECES = 64
"""A part that would need more pieces is not split."""


class _NoCutError(ValueError):
    """There is no place for a cut."""


def pieces_of(project: Project, part: MadePart) -> tuple[MadePart, ...]:
    """Return a part as pieces that fit on the printer's bed: itself where it does, or cannot be split.

    A note says which, with the cure where it cannot. Raises SolidError if a piece cannot be made.
    """
    if fits_bed(project.print, file_size_mm(part)):
        return (part,)
    try:
        plans = _divided(project.print, part)
    except _NoCutError as error:
        cure = f"it cannot be split: {error}; a larger bed, or a smaller part, is needed"
        return (replace(part, notes=(*part.notes, f"{too_large_text(project.print, part)}; {cure}")),)
    cut = f"split into {len(plans)} pieces with keyed joints, to be glued"
    note = f"{too_large_text(project.print, part)}; {cut}"
    made = [_piece(project, part, plan, number) for number, plan in enumerate(plans, start=1)]
    return (replace(made[0], notes=(*part.notes, note)), *made[1:])


@dataclass(frozen=True)
class _PiecePlan:
    """A piece in plan view: its area, and the letters on it, each with its group and as a line.

    kept: areas of holes and bodies, which cuts keep off.
    """

    area: Any
    kept: tuple[Any, ...]
    letters: tuple[tuple[str, Polyline, Any], ...]


def _whole(part: MadePart) -> _PiecePlan:
    from shapely import LineString, Polygon  # kept off the start-up path

    if part.kind not in SPLIT_KINDS or part.groove is not None or part.dogs is not None:
        raise _NoCutError(f"a {part.kind} is made in one piece")
    outlines = [*part.holes, *(body.path for body in (*part.raised, *part.sunk))]
    letters = tuple(
        (name, stroke, LineString(np.column_stack([stroke.real, stroke.imag])))
        for name, strokes in part.marks.groups.items()
        for stroke in strokes
    )
    area = Polygon(part.contour.flattened(FINE_MM))
    return _PiecePlan(area, tuple(Polygon(path.flattened(FINE_MM)) for path in outlines), letters)


def _divided(printer: Print, part: MadePart) -> list[_PiecePlan]:
    """Cut a part until all pieces fit; raises _NoCutError where there is no place for a cut."""
    if over(part.top_mm, printer.bed_z_mm):
        raise _NoCutError("it is too high")
    open_, done = [_whole(part)], list[_PiecePlan]()
    while open_:
        one = open_.pop(0)
        wide, deep = (size * part.scale + 2 * part.contour_mm for size in _size(one.area))
        if fits_bed(printer, (wide, deep, 0.0)):
            done.append(one)
        else:
            open_ += _cut(printer, one)
        if len(open_) + len(done) > MOST_PIECES:
            raise _NoCutError(f"it would need more than {MOST_PIECES} pieces")
    return done


def _size(area: Any) -> tuple[float, float]:
    left, low, right, high = area.bounds
    return right - left, high - low


def _cut(printer: Print, plan: _PiecePlan) -> Iterator[_PiecePlan]:
    """Yield both pieces of a piece that is cut across its longer side, the first one as long as may be."""
    wide, high = _size(plan.area)
    upright = high > wide
    area = _turned(plan.area, -90, upright)
    start, _, end, _ = area.bounds
    bed = sorted((printer.bed_x_mm, printer.bed_y_mm))
    across = min(wide, high)
    room = (bed[1] if across <= bed[0] else bed[0]) - 2 * max(printer.contour_mm, 0.0)
    limit = room * (1 - max(printer.shrinkage_percent, 0.0) / 100) - DEEP * KEY_MM
    if limit <= KEY_MM:
        raise _NoCutError("the bed has no room for a piece")
    step = (end - start) / math.ceil((end - start) / limit)
    kept = [_turned(one, -90, upright) for one in plan.kept]
    letters = [_turned(one, -90, upright) for _, _, one in plan.letters]
    first, second = _halves(
        area, _place(area, start + step, min(start + limit, start + step * (1 + SEEK)), kept, letters)
    )
    for half in (first, second):
        own = _turned(half, 90, upright)
        yield _PiecePlan(
            own,
            tuple(one for one in plan.kept if own.intersects(one)),
            tuple(row for row in plan.letters if own.contains(row[2])),
        )


def _turned(area: Any, by_deg: float, upright: bool) -> Any:
    """Return an upright area turned about the origin; another one as it is."""
    from shapely import affinity  # kept off the start-up path

    return affinity.rotate(area, by_deg, origin=(0, 0)) if upright else area


@dataclass(frozen=True)
class _Joint:
    """A cut across x at a place, with its keys as areas, mm."""

    at_mm: float
    keys: tuple[Any, ...]


def _place(area: Any, best_mm: float, most_mm: float, kept: list[Any], letters: list[Any]) -> _Joint:
    """Find the place for a cut nearest to the best one: off letters if it can be, never in what is kept."""
    start = area.bounds[0]
    least = start + (best_mm - start) * (1 - SEEK)
    places = sorted(np.arange(least, most_mm + 1e-9, 1.0).tolist(), key=lambda place: abs(place - best_mm))
    for obstacles in ([*kept, *letters], kept):
        for place in places:
            joint = _joint(area, place, obstacles)
            if joint is not None:
                return joint
    raise _NoCutError("holes or edges leave no place for a joint")


def _joint(area: Any, at_mm: float, obstacles: list[Any]) -> _Joint | None:
    """Return the joint at a place, None where it meets something or has no room for its keys."""
    from shapely import LineString, union_all  # kept off the start-up path

    _, low, _, high = area.bounds
    line = area.intersection(LineString([(at_mm, low - 1), (at_mm, high + 1)]))
    keys: list[Any] = []
    for stretch in getattr(line, "geoms", [line]):
        if stretch.is_empty or stretch.geom_type != "LineString":
            return None
        keys += _keys(at_mm, stretch.bounds[1], stretch.bounds[3])
    if not keys:
        return None
    whole = union_all([line, *keys]).buffer(FREE_MM)
    clear = all(area.contains(key.buffer(FREE_MM / 2)) for key in keys)
    return (
        _Joint(at_mm, tuple(keys)) if clear and not any(whole.intersects(one) for one in obstacles) else None
    )


def _keys(at_mm: float, low: float, high: float) -> Iterator[Any]:
    """Yield the keys of one stretch of a cut; none where it is too short."""
    from shapely import Polygon  # kept off the start-up path

    count = max(1, round((high - low) / KEY_EVERY_MM))
    pitch = (high - low) / count
    root = min(KEY_MM, KEY_SHARE * pitch)
    if root < LEAST_KEY_MM:
        return
    for number in range(count):
        middle, tip = low + (number + 0.5) * pitch, at_mm + DEEP * root
        half, wide = root / 2, FLARE * root / 2
        yield Polygon(
            [(at_mm, middle - half), (tip, middle - wide), (tip, middle + wide), (at_mm, middle + half)]
        )


def _halves(area: Any, joint: _Joint) -> tuple[Any, Any]:
    """Return the area before a joint, with its keys, and the one behind it, with sockets."""
    from shapely import box, union_all  # kept off the start-up path

    left, low, right, high = area.bounds
    before = area.intersection(box(left - 1, low - 1, joint.at_mm, high + 1))
    behind = area.intersection(box(joint.at_mm, low - 1, right + 1, high + 1))
    first = union_all([before, *joint.keys])
    second = behind.difference(union_all([key.buffer(CLEAR_MM, join_style="mitre") for key in joint.keys]))
    if first.geom_type != "Polygon" or second.geom_type != "Polygon":
        raise _NoCutError("it would fall apart beside the cut")
    return first, second


def _piece(project: Project, part: MadePart, plan: _PiecePlan, number: int) -> MadePart:
    """Make a piece of a part."""
    groups: dict[str, tuple[Polyline, ...]] = {}
    for name, stroke, _ in plan.letters:
        groups[name] = (*groups.get(name, ()), stroke)
    return plain_part(
        project,
        PlainPart(
            kind=part.kind,
            code=f"{part.code}-{number}",
            label=f"{part.label}, piece {number}",
            thickness_mm=part.thickness_mm,
            contour=_path(plan.area),
            holes=tuple(path for path in part.holes if _is_on(plan, path)),
            raised=_bodies(plan, part.raised),
            sunk=_bodies(plan, part.sunk),
            marks=replace(part.marks, groups=MappingProxyType(groups)) if groups else None,
            count=part.count,
            stack_id=part.stack_id,
            direction=part.direction,
        ),
    )


def _bodies(
    plan: _PiecePlan, bodies: tuple[PartPrism, ...]
) -> tuple[tuple[str, BulgePath, tuple[float, float]], ...]:
    return tuple(
        (body.name, body.path, (body.bottom_mm, body.top_mm)) for body in bodies if _is_on(plan, body.path)
    )


def _is_on(plan: _PiecePlan, path: BulgePath) -> bool:
    """Return whether an outline belongs to a piece."""
    from shapely import Polygon  # kept off the start-up path

    return bool(plan.area.intersects(Polygon(path.flattened(FINE_MM))))


def _path(area: Any) -> BulgePath:
    """Return the outline of an area, counterclockwise."""
    from shapely import geometry  # kept off the start-up path

    ring = geometry.polygon.orient(area).exterior.coords[:-1]
    return polygon(tuple(complex(x, y) for x, y in ring))
