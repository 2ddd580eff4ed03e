"""The drawing of a lane's follower as parts, from the top and from the side, as pure geometry, mm.

From the top: the station frame, the axis of the stack at the origin and the station line along +x, at one
angle of the machine. From the side: spread out along the lever (or bar), x from its pivot (or from the
roller's axle), z along the shaft from the bottom of the stack. Screen and paper draw the same shapes.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shaftscore.built.bearings import BEARINGS
from shaftscore.built.heights import HeightBand
from shaftscore.kinematics.profiles import Profile
from shaftscore.layout.bracket_feet import ROOF_MM
from shaftscore.layout.brackets import FOOT_MM
from shaftscore.layout.follower_bars import axle_mm
from shaftscore.layout.followers import WALL_MM, FollowerLayout, half_width_mm
from shaftscore.layout.frame_plan import SPRING_ROD_MM
from shaftscore.layout.placed import Placement
from shaftscore.layout.stack_turns import stack_course
from shaftscore.make.solids import MadePart, SolidError
from shaftscore.make.solids.followers import MAKERS, follower_part
from shaftscore.model import Project, Stack
from shaftscore.stack import BulgePath, bore_path, stack_plan
from shaftscore.stack.followers import NUT_HIGH, Points, post_radius_mm
from shaftscore.stack.paths import circle

ShapeKind = Literal[
    "disc",
    "base",
    "bore",
    "part",
    "link",
    "hole",
    "roller",
    "screw",
    "rod",
    "frame",
    "ghost",
    "spring",
    "touch",
]
"""What a shape shows: it says how it is drawn."""

PointName = Literal["pivot", "output", "hook"]
"""A key point that a person can drag."""

CHORD_MM = 0.05
"""Largest distance between a curve and the polygon that is drawn."""

COILS = 9
"""Teeth of the zigzag that stands for a spring."""

ROD_OVER_MM = 5.0
"""By which a pivot's rod is drawn beyond its lever and its bracket."""


@dataclass(frozen=True, eq=False)
class DrawnShape:
    """A line of the drawing: corners, (n,) complex mm; closed or not. name: what it is, for people."""

    kind: ShapeKind
    corners: Points
    closed: bool = True
    name: str = ""


@dataclass(frozen=True)
class DrawnDimension:
    """A length of the drawing between two points, mm.

    field: where a person may change it ("parts.arm_mm"), empty where it follows from others. aside: the
    direction, of length 1, to which the dimension line is moved away; step: in which row of lines it is.
    """

    field: str
    name: str
    value_mm: float
    start: complex
    end: complex
    aside: complex
    step: int = 1


@dataclass(frozen=True, eq=False)
class FollowerDrawing:
    """The drawing at one angle.

    points: key points that can be dragged. refused: why a part cannot be made.
    """

    top: tuple[DrawnShape, ...]
    side: tuple[DrawnShape, ...]
    top_dimensions: tuple[DrawnDimension, ...]
    side_dimensions: tuple[DrawnDimension, ...]
    points: dict[PointName, complex]
    refused: tuple[str, ...]


def follower_drawing(project: Project, layout: FollowerLayout, master_deg: float) -> FollowerDrawing:
    """Return the drawing of a lane's follower at an angle of the master shaft, degrees."""
    made, refused = _made(project, layout)
    here = np.array([master_deg])
    points = layout.points(here)
    own: dict[PointName, complex] = {"output": _flat(layout, points.output[0])}
    if layout.pivot is not None:
        own["pivot"] = _flat(layout, layout.pivot)
    if points.hook is not None:
        own["hook"] = _flat(layout, points.hook[0])
    return FollowerDrawing(
        top=tuple(_top(project, layout, made, master_deg)),
        side=tuple(_side(project, layout)),
        top_dimensions=tuple(_top_dimensions(layout, own, _flat(layout, points.roller[0]))),
        side_dimensions=tuple(_side_dimensions(project, layout)),
        points=own,
        refused=refused,
    )


def _made(project: Project, layout: FollowerLayout) -> tuple[dict[str, MadePart], tuple[str, ...]]:
    """Make the parts that can be made, by their codes, and say why others cannot."""
    made, refused = {}, []
    for maker in MAKERS[layout.parts.kind]:
        try:
            part = follower_part(maker, project, layout)
        except SolidError as error:
            refused.append(str(error))
        else:
            made[part.code] = part
    return made, tuple(refused)


def _flat(layout: FollowerLayout, point: complex) -> complex:
    """Return a point of the machine in the station frame."""
    return complex((point - layout.axis) / layout.station)


def dragged(
    layout: FollowerLayout, master_deg: float, name: PointName, point: complex, step_mm: float
) -> dict[str, float]:
    """Return the lengths of the follower's record or its parts that put a key point where it was dragged.

    point: in the station frame, mm. step_mm: to which lengths are rounded. Output and hook go along their
    lever or bar; the pivot goes round the roller and away from it.
    """
    here = layout.points(np.array([master_deg]))
    start = _flat(layout, here.roller[0])
    if name == "pivot":
        low = _flat(layout, layout.points_at(np.zeros(1)).roller[0])
        lengths = {"follower.arm_mm": abs(low - point), "follower.pivot_distance_mm": abs(point)}
    else:
        own = 1 + 0j
        if layout.pivot is not None:
            pivot = _flat(layout, layout.pivot)
            own, start = (start - pivot) / abs(start - pivot), pivot
        along = float(((point - start) * np.conj(own)).real)
        output = "parts.arm_mm" if layout.pivot is None else "parts.output_arm_mm"
        lengths = {output if name == "output" else "parts.spring_hook_mm": along}
    return {path: max(round(value / step_mm) * step_mm, step_mm) for path, value in lengths.items()}


# From the top


def _top(
    project: Project, layout: FollowerLayout, made: dict[str, MadePart], master_deg: float
) -> Iterator[DrawnShape]:
    """Yield the shapes from the top, back to front."""
    yield from _disc(project, layout, master_deg)
    placements = list(layout.placements())
    for placed in placements:
        part = made.get(placed.code)
        if part is not None and part.kind == "bracket":
            yield from _part(layout, placed, part, master_deg, "frame")
    for lift in (0.0, layout.greatest_lift_mm):
        yield from _ghosts(layout, placements, made, lift)
    yield from _spring(layout, master_deg)
    for placed in placements:
        part = made.get(placed.code)
        if part is not None and part.kind != "bracket":
            yield from _part(layout, placed, part, master_deg, "link" if "-G-" in part.code else "part")
    roller = _flat(layout, layout.points(np.array([master_deg])).roller[0])
    yield from _roller(layout, roller)
    for pivot in (layout.pivot, layout.guide_pivot):
        if pivot is not None:
            rod = circle(layout.parts.pivot_rod_mm / 2, _flat(layout, pivot))
            yield DrawnShape("rod", _corners(rod), name="pivot")


def _disc(project: Project, layout: FollowerLayout, master_deg: float) -> Iterator[DrawnShape]:
    stack, profile = project.stack_of(layout.lane), layout.profile
    turn = complex(stack_course(project, stack)(np.array([master_deg])).turn[0])
    factor = turn / layout.station
    yield DrawnShape("disc", contour_of(profile) * factor, name=layout.lane.code or "")
    yield DrawnShape("base", _corners(circle(profile.base_radius_mm)))
    yield DrawnShape("bore", _bore(stack) * factor)


def contour_of(profile: Profile) -> Points:
    """Return the contour of a disc in its own frame, complex, (n,) mm."""
    return np.asarray(profile.outline(CHORD_MM) @ np.array([1, 1j]))


def _bore(stack: Stack) -> Points:
    return _corners(bore_path(stack.bore, stack.fit_clearance_mm))


def _corners(path: BulgePath) -> Points:
    return np.asarray(path.flattened(CHORD_MM) @ np.array([1, 1j]))


def _part(
    layout: FollowerLayout, placed: Placement, part: MadePart, master_deg: float, kind: ShapeKind
) -> Iterator[DrawnShape]:
    """Yield outline and holes of a part where it is."""
    pose = placed.course(np.array([master_deg]))
    at, turn = _flat(layout, pose.at[0]), complex(pose.turn[0]) / layout.station
    yield DrawnShape(kind, at + turn * _corners(part.contour), name=part.code)
    for body in part.raised:
        yield DrawnShape(kind, at + turn * _corners(body.path), name=part.code)
    for hole in part.holes:
        yield DrawnShape("hole", at + turn * _corners(hole), name=part.code)


def _ghosts(
    layout: FollowerLayout, placements: list[Placement], made: dict[str, MadePart], lift_mm: float
) -> Iterator[DrawnShape]:
    """Yield the outlines of the moving parts at a lift."""
    points = layout.points_at(np.array([lift_mm]))
    for placed in placements:
        part = made.get(placed.code)
        if part is None or part.kind == "bracket":
            continue
        start, end = layout.own_axis(placed.code, points)
        at, along = _flat(layout, start), (end - start) / abs(end - start) / layout.station
        yield DrawnShape("ghost", at + along * _corners(part.contour), name=part.code)


def _roller(layout: FollowerLayout, at: complex) -> Iterator[DrawnShape]:
    radius = layout.profile.model.roller_radius_mm
    if radius == 0:
        return
    yield DrawnShape("roller", _corners(circle(radius, at)), name="roller")
    yield DrawnShape("screw", _corners(circle(axle_mm(layout) / 2, at)), name="axle")


def _spring(layout: FollowerLayout, master_deg: float) -> Iterator[DrawnShape]:
    """Yield the spring from its hook to its rod, which is on the side of the disc."""
    hook, ends = layout.points(np.array([master_deg])).hook, layout.spring_ends
    if hook is None or ends is None:
        return
    post, here = _flat(layout, ends[1]), _flat(layout, complex(hook[0]))
    along = (here - post) / abs(here - post)
    steps = np.linspace(0.12, 0.88, 2 * COILS)
    teeth = post + steps * (here - post) + 1j * along * 2.0 * np.where(np.arange(2 * COILS) % 2, 1, -1)
    yield DrawnShape("spring", np.concatenate([[post], teeth, [here]]), closed=False, name="spring")
    yield DrawnShape("rod", _corners(circle(SPRING_ROD_MM / 2, post)), name="spring rod")


def _top_dimensions(
    layout: FollowerLayout, points: dict[PointName, complex], roller: complex
) -> Iterator[DrawnDimension]:
    parts, output = layout.parts, points["output"]
    if layout.pivot is None:
        yield DrawnDimension("parts.arm_mm", "Roller to output", parts.arm_mm, roller, output, -1j, 2)
        start = layout.guide_start
        assert start is not None
        inner = _flat(layout, start)
        reach = getattr(layout.lane.follower, "guide_start_mm", None)
        if reach is not None:
            yield DrawnDimension("follower.guide_start_mm", "Guide start", reach, 0j, inner, -1j, 3)
        length = getattr(layout.lane.follower, "guide_length_mm", None)
        if length is not None:
            yield DrawnDimension("follower.guide_length_mm", "Guide", length, inner, inner + length, 1j, 1)
        return
    pivot = points["pivot"]
    joint = pivot + parts.output_mm * (roller - pivot) / abs(roller - pivot)
    aside = -1j * (roller - pivot) / abs(roller - pivot) * (1 if pivot.imag < 0 else -1)
    yield DrawnDimension("parts.arm_mm", "Arm to the roller", parts.arm_mm, pivot, roller, aside, 1)
    yield DrawnDimension("parts.output_arm_mm", "Arm to the output", parts.output_mm, pivot, joint, aside, 2)
    distance = layout.lane.follower.pivot_distance_mm  # type: ignore[union-attr]
    across = -1j * pivot / abs(pivot) * (-1 if pivot.imag < 0 else 1)
    yield DrawnDimension("follower.pivot_distance_mm", "Axis to pivot", distance, 0j, pivot, -across, 1)


# From the side


def _side(project: Project, layout: FollowerLayout) -> Iterator[DrawnShape]:
    """Yield the shapes from the side, back to front."""
    parts, bands = layout.parts, layout.bands
    half, roller = half_width_mm(layout.lane), layout.profile.model.roller_radius_mm
    at = 0.0 if layout.pivot is None else parts.arm_mm
    layer = stack_plan(project, project.stack_of(layout.lane)).disc(layout.lane.disc_of or layout.lane.id)
    disc = HeightBand(layer.bottom_mm, layer.top_mm)
    end = at - roller
    yield _rect("disc", end - DISC_MM, end, disc, layout.lane.code or "")
    yield from _stands(layout)
    yield _rect("roller", at - roller, at + roller, bands.roller, "roller")
    if bands.screw is not None:
        yield from _screw(layout, at)
    far = parts.arm_mm if layout.pivot is None else parts.output_mm
    near = min(0.0, far)
    for lever in bands.levers:
        yield _rect("part", near - half, max(far, at) + half, lever, "lever")
    if layout.guide is not None:
        reach = parts.output_hole_mm / 2 + WALL_MM
        yield _rect("link", far - reach, far + reach, layout.link_band, "coupler")


DISC_MM = 34.0
"""Length of the disc that is shown from the side."""


def _rect(kind: ShapeKind, left: float, right: float, band: HeightBand, name: str) -> DrawnShape:
    low, high = complex(left, band.bottom_mm), complex(right, band.top_mm)
    corners = [low, complex(right, band.bottom_mm), high, complex(left, band.top_mm)]
    return DrawnShape(kind, np.array(corners), name=name)


def _stands(layout: FollowerLayout) -> Iterator[DrawnShape]:
    """Yield the bracket from the side, and the rod in it."""
    floor, bars = layout.floor_mm, layout.bands.levers
    foot = HeightBand(floor, floor + FOOT_MM)
    if layout.pivot is None:
        start, length = layout.guide_start, getattr(layout.lane.follower, "guide_length_mm", 0.0)
        assert start is not None
        roller = layout.points_at(np.zeros(1)).roller[0]
        near = float(((start - roller) * np.conj(layout.station)).real)
        yield _rect("frame", near, near + length, HeightBand(floor, bars[-1].top_mm + ROOF_MM), "guide")
        yield _rect("frame", near, near + length, foot, "foot")
        return
    radius, rod = post_radius_mm(layout.parts.pivot_rod_mm), layout.parts.pivot_rod_mm / 2
    top = bars[0].bottom_mm - layout.lane.follower.washer_mm
    yield _rect("frame", -radius, radius, HeightBand(floor, max(top, floor)), "bracket")
    if not layout.is_sleeve:
        yield _rect("frame", -3.2 * radius, 3.2 * radius, foot, "foot")
    yield _rect("rod", -rod, rod, HeightBand(floor - ROD_OVER_MM, bars[-1].top_mm + ROD_OVER_MM), "pivot")


def _screw(layout: FollowerLayout, at: float) -> Iterator[DrawnShape]:
    """Yield the roller's screw with its head and nut."""
    bands, thread = layout.bands, axle_mm(layout)
    assert bands.screw is not None
    yield _rect("screw", at - thread / 2, at + thread / 2, bands.screw, "screw")
    if getattr(layout.lane.follower, "bearing", None) not in BEARINGS:
        return
    nut, washer = NUT_HIGH.get(thread, thread), layout.lane.follower.washer_mm
    wide, whole = bands.screw_radius_mm, bands.whole
    above = layout.lane.follower.arm_side == "above"
    head = bands.roller.bottom_mm - washer if above else bands.roller.top_mm + washer
    ends = [HeightBand(whole.bottom_mm, head), HeightBand(whole.top_mm - nut, whole.top_mm)]
    if not above:
        ends = [HeightBand(head, whole.top_mm), HeightBand(whole.bottom_mm, whole.bottom_mm + nut)]
    for band in ends if layout.lane.follower.arm_side != "both" else ():
        yield _rect("screw", at - wide, at + wide, band, "screw")


def _side_dimensions(project: Project, layout: FollowerLayout) -> Iterator[DrawnDimension]:
    parts, lever = layout.parts, layout.bands.levers[-1]
    at = 0.0 if layout.pivot is None else parts.arm_mm
    far = (parts.arm_mm if layout.pivot is None else parts.output_mm) + half_width_mm(layout.lane)
    far = max(far, at + half_width_mm(layout.lane))
    yield DrawnDimension(
        "parts.thickness_mm",
        "Thickness",
        parts.thickness_mm,
        complex(far, lever.bottom_mm),
        complex(far, lever.top_mm),
        1 + 0j,
    )
    layer = stack_plan(project, project.stack_of(layout.lane)).disc(layout.lane.disc_of or layout.lane.id)
    left = at - layout.profile.model.roller_radius_mm - DISC_MM
    low, high = complex(left, layer.bottom_mm), complex(left, layer.top_mm)
    yield DrawnDimension("", "Disc", layer.top_mm - layer.bottom_mm, low, high, -1 + 0j)
    roller = layout.bands.roller
    right = at + layout.profile.model.roller_radius_mm
    low, high = complex(right, roller.bottom_mm), complex(right, roller.top_mm)
    yield DrawnDimension("", "Roller", roller.width_mm, low, high, 1 + 0j)
