"""Brackets of followers: heights of posts, sleeves and guides; what keeps a follower from being made.

Frames: see `shaftscore.layout.followers`; z = 0 is the face that the foot is screwed to. A post ends a
washer below its lever. A guide is a block with a tunnel for each bar, open at both ends.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.tolerance import CURE_MM
from shaftscore.base.wording import millimetres, up_to
from shaftscore.built.heights import HeightBand
from shaftscore.layout.bar_joints import joint_faults
from shaftscore.layout.bars import LEAST_WALL_MM, bar_faults, printed_faults
from shaftscore.layout.bed import Size, bed_faults, stack_material
from shaftscore.layout.bracket_feet import (
    EAR_MM,
    LEDGE_MM,
    ROOF_MM,
    SCREW_MM,
    guide_inset_mm,
    guide_side_mm,
    own_screws,
)
from shaftscore.layout.follower_bars import BARS
from shaftscore.layout.followers import SLIDING_MM, WALL_MM, FollowerLayout, FollowerLayoutError, part_code
from shaftscore.model import Print, Project
from shaftscore.model.materials import is_printed
from shaftscore.stack.followers import POST_WALL_MM, TURNING_MM, post_radius_mm

FOOT_MM = 4.0
"""Thickness of a foot, mm."""

SLEEVE_MM = 0.8
"""Least height of a sleeve, mm: four layers."""

HIGHER_MM = 0.02
"""A post that is higher than its foot by less than this is none."""


def foot_radius_mm(rod_mm: float) -> float:
    """Return the radius of a foot about its post, mm; rod_mm: diameter of the rod in it."""
    return post_radius_mm(rod_mm) + LEDGE_MM


def post_height_mm(layout: FollowerLayout) -> float:
    """Return how high a lever's post or sleeve is over what it is on, mm."""
    return layout.bands.levers[0].bottom_mm - layout.lane.follower.washer_mm - layout.floor_mm


def guide_bars(layout: FollowerLayout) -> list[HeightBand]:
    """Return the heights of the bars in a slide's guide, over what it is on."""
    return [band.moved(-layout.floor_mm) for band in layout.bands.levers]


def guide_top_mm(layout: FollowerLayout) -> float:
    """Return the height of the upper face of a slide's guide, mm, from the bottom of the stack."""
    return layout.bands.levers[-1].top_mm + ROOF_MM


def bracket_faults(printer: Print, layout: FollowerLayout) -> Iterator[FollowerLayoutError]:
    """Yield what keeps a follower's bracket from being made."""
    code = part_code(layout.lane, "K")
    if layout.pivot is None:
        yield from _guide_faults(printer, layout, code)
        return
    height = post_height_mm(layout)
    if layout.is_sleeve and height < SLEEVE_MM:
        told = f"{code}: between its lever and the one below are {millimetres(height)}"
        yield FollowerLayoutError(f"{told}; at least {millimetres(SLEEVE_MM)} required for its sleeve")
    if not layout.is_sleeve and height < FOOT_MM:
        told = f"{code}: its lever is {millimetres(height)} over the frame"
        yield FollowerLayoutError(f"{told}; at least {millimetres(FOOT_MM)} required")
    yield from printed_faults(printer, f"{code}: the wall about its rod", POST_WALL_MM)
    if not layout.is_sleeve:
        yield from printed_faults(printer, f"{code}: the material about its screws", WALL_MM)


def _guide_faults(printer: Print, layout: FollowerLayout, code: str) -> Iterator[FollowerLayoutError]:
    bars, length = guide_bars(layout), layout.guide_length_mm
    least = FOOT_MM + SLIDING_MM
    if bars[0].bottom_mm < least:
        told = f"{code}: its bar is {millimetres(bars[0].bottom_mm)} over the frame"
        yield FollowerLayoutError(f"{told}; at least {millimetres(least)} required")
    shortest = 2 * guide_inset_mm() + SCREW_MM + 2 * TURNING_MM + LEAST_WALL_MM
    if length < shortest:
        told = f"{code}: the guide is {millimetres(length)} long; at least {millimetres(shortest)} required"
        cure = "follower.guide_length_mm", up_to(shortest, CURE_MM)
        yield FollowerLayoutError(f"{told} for its screws", *cure)
    else:
        between = LEAST_WALL_MM + length - shortest
        yield from printed_faults(printer, f"{code}: the material between its screws", between, 2)
    yield from printed_faults(printer, f"{code}: the wall beside its bar", ROOF_MM)
    yield from printed_faults(printer, f"{code}: the material about its screws", WALL_MM)


def follower_faults(project: Project, layout: FollowerLayout) -> Iterator[FollowerLayoutError]:
    """Yield what keeps the parts of a follower from being made, part by part, and from being printed."""
    stack_id = project.stack_of(layout.lane).id
    for bar_of in BARS[layout.parts.kind]:
        try:
            bar = bar_of(layout)
        except FollowerLayoutError as error:
            yield error
            continue
        yield from bar_faults(project.print, bar)
        if is_printed(stack_material(project, stack_id)):
            yield from joint_faults(project.print, bar)
    yield from bracket_faults(project.print, layout)
    code = part_code(layout.lane, "K")
    yield from map(FollowerLayoutError, bed_faults(project, stack_id, code, _bracket_mm(layout)))


def _bracket_mm(layout: FollowerLayout) -> Size:
    """Return the size of a follower's bracket, mm."""
    if layout.pivot is None:
        side = guide_side_mm(layout.lane) + EAR_MM
        return layout.guide_length_mm, 2 * side, guide_top_mm(layout) - layout.floor_mm
    wide = 2 * foot_radius_mm(layout.parts.pivot_rod_mm)
    long = wide if layout.is_sleeve else 2 * (abs(own_screws(layout)[0]) + guide_inset_mm())
    return long, wide, post_height_mm(layout)
