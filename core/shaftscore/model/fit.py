"""What in a lane may contradict something else in it: levels, band, program, follower and disc."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from shaftscore.base.wording import did_you_mean, plain
from shaftscore.model.base import Contradiction

if TYPE_CHECKING:  # the records import this module
    from shaftscore.model.lanes import Lane, SwingingRoller, TranslatingRoller


def levels_agree(lane: Lane) -> Iterator[Contradiction]:
    """Refuse two levels of one height, and a band that does not tell two levels apart."""
    ranked = sorted(lane.levels.items(), key=lambda item: item[1])
    steps = [high - low for (_, low), (_, high) in pairwise(ranked)]
    for (lower, low), (upper, high) in pairwise(ranked):
        if high == low:
            yield f'levels["{upper}"]', f'is at {plain(high)} mm, where "{lower}" is; levels differ in height'
    if lane.band_mm is not None and steps and 0 < min(steps) <= 2 * lane.band_mm:
        yield "band_mm", band_too_wide(lane.band_mm, min(steps))


def band_too_wide(band_mm: float, least_step_mm: float) -> str:
    """Return what is said of a band that does not tell two levels apart; both in mm."""
    half = plain(least_step_mm / 2)
    told = f"half the smallest distance between two levels, got {plain(band_mm)} mm"
    return f"must be less than {half} mm, {told}"


def names_agree(lane: Lane) -> Iterator[Contradiction]:
    """Refuse blocks and guarded levels that name no level of the lane."""
    if lane.kind == "rider":
        return
    for index, block in enumerate(lane.blocks):
        if block.level not in lane.levels:
            yield f"blocks[{index}].level", unknown_level(lane, block.level, lane.levels)
    for index, level in enumerate(lane.guarded):
        if level not in lane.levels:
            yield f"guarded[{index}]", unknown_level(lane, level, lane.levels)
        elif level in lane.guarded[:index]:
            yield f"guarded[{index}]", f'"{level}" is guarded[{lane.guarded.index(level)}] already'


def unknown_level(lane: Lane, level: str, levels: Mapping[str, float]) -> str:
    """State that a level is not one of the lane's, which it has, and which may have been meant."""
    what = f'"{level}" is not one of {lane.label}\'s levels ({", ".join(levels) or "none"})'
    hint = did_you_mean(level, levels)
    return f"{what}; {hint}" if hint else what


def kind_agrees(lane: Lane) -> Iterator[Contradiction]:
    """Refuse a lane without what its kind needs, and with what belongs to another kind."""
    if (lane.points is not None) != (lane.kind == "points"):
        told = "is missing; kind points needs it" if lane.points is None else _only("points", lane.kind)
        yield "points", told
    if (lane.disc_of is not None) != (lane.kind == "rider"):
        told = "is missing; kind rider needs it" if lane.disc_of is None else _only("rider", lane.kind)
        yield "disc_of", told
    if lane.kind == "rider":
        yield from _rider(lane)
    if lane.kind == "index" and lane.levels and max(lane.levels.values()) <= 0:
        yield "levels", "the highest must be over 0 mm: it is the pitch by which kind index steps on"
    for index, (before, point) in enumerate(pairwise(lane.points or ()), start=1):
        if point.theta_deg <= before.theta_deg:
            told = f"{plain(before.theta_deg)}°, got {plain(point.theta_deg)}°"
            yield f"points[{index}].theta_deg", f"must be over the point before, {told}"


def _only(kind: str, own: str) -> str:
    return f"is for kind {kind} only; this lane is of kind {own}"


def _rider(lane: Lane) -> Iterator[Contradiction]:
    for key in ("levels", "blocks", "guarded"):
        if getattr(lane, key):
            count = len(getattr(lane, key))
            yield key, f"has {count}; a rider has none of its own, its program is that of its disc"
    if "law" in lane.model_fields_set:
        yield "law", f"{lane.law} is given; a rider has no law of its own"
    if lane.disc_of == lane.id:
        yield "disc_of", f'"{lane.id}" cannot ride on itself'


def follower_agrees(lane: Lane) -> Iterator[Contradiction]:
    """Refuse a follower that does not reach the levels, or cannot stand on the disc."""
    follower = lane.follower
    if follower.link is not None and lane.levels and max(lane.levels.values()) > follower.link[-1].output_mm:
        most, reach = plain(max(lane.levels.values())), plain(follower.link[-1].output_mm)
        yield "follower.link", f"reaches {reach} mm of output; the highest level is at {most} mm"
    if lane.kind in ("index", "rider"):
        return
    if follower.closure == "groove" and lane.disc.groove_depth_mm >= lane.disc.thickness_mm:
        depth, thick = plain(lane.disc.groove_depth_mm), plain(lane.disc.thickness_mm)
        yield "disc.groove_depth_mm", f"must be less than thickness_mm, {thick} mm, got {depth} mm"
    if follower.kind == "translating-roller":
        yield from _offset(lane, follower)
    elif follower.kind == "swinging-roller":
        yield from _triangle(lane, follower)


def _offset(lane: Lane, follower: TranslatingRoller) -> Iterator[Contradiction]:
    base, offset = lane.disc.base_radius_mm, follower.offset_mm
    if base == "auto" or offset == "auto":
        return
    prime = base + follower.roller_radius_mm
    if abs(offset) >= prime:
        what = f"must be less than the prime circle's {plain(prime)} mm (base and roller) to either side"
        yield "follower.offset_mm", f"{what}, got {plain(offset)} mm"


def _triangle(lane: Lane, follower: SwingingRoller) -> Iterator[Contradiction]:
    """Axis, pivot and roller centre at output 0 make a triangle."""
    base, arm, pivot = lane.disc.base_radius_mm, follower.arm_mm, follower.pivot_distance_mm
    least, most = abs(pivot - arm), pivot + arm
    prime = follower.roller_radius_mm if base == "auto" else base + follower.roller_radius_mm
    if prime >= most or (base != "auto" and prime <= least):
        what = f"an arm of {plain(arm)} mm at a pivot distance of {plain(pivot)} mm puts the roller"
        reach = f"{plain(least)} to {plain(most)} mm from the axis at output 0, not at {plain(prime)} mm"
        yield "follower.arm_mm", f"{what} {reach} (base and roller)"
