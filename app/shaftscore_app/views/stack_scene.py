"""What the Stack view shows, as triangles and lines in mm: pure, without Qt and without OpenGL.

The frame is the machine's: axis at the origin, reference line along +x, seen from the top of the stack,
counterclockwise positive, z upward from the bottom of the lowest disc. What turns with the stack is laid
out as it stands at 0 degrees and is turned by `turn_deg`. *Exploded* lifts every layer by a gap over the
one below it, its follower with it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np

from shaftscore.base.angles import wrap
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.drawing.stack_side import SHAFT_ABOVE_MM, SHAFT_BELOW_MM
from shaftscore.model import Lane, Project, Stack
from shaftscore.solution import LaneSolution, Solution
from shaftscore.stack import StackPlan, bore_path, stack_plan, turn_sign
from shaftscore.stack.followers import BAR_MM, Pose, follower_heights, follower_outlines, follower_pose
from shaftscore.stack.paths import circle
from shaftscore_app.views.stack_drive import DriveMate, DrivePart, StackDrive, stack_drive
from shaftscore_app.views.stack_surface import (
    SCREEN_CHORD_MM,
    Inside,
    Outline,
    Points,
    Reals,
    disc_outline,
    inside_of,
    points_of,
    surface,
)

MARK = (0.62, 0.82)
"""The zero mark on a disc's face, from and to this share of its radius there."""


@dataclass(frozen=True, eq=False)
class Body:
    """One part.

    kind: disc, spacer, shaft, drive (a hub, or a part of a stage between stacks), roller, bar or rod.
    lane_id: whose, None where it is of no lane. layer: in the plan, counted from the bottom; -1 below it.
    triangles: (n, 3, 3), counterclockwise seen from outside. lines: (m, 2, 3), the edges that are drawn.
    """

    kind: str
    lane_id: str | None
    layer: int
    triangles: Reals
    lines: Reals

    def lifted(self, gap_mm: float) -> Body:
        """Return the part where it stands in the exploded view; the shaft grows with it."""
        return Body(
            self.kind,
            self.lane_id,
            self.layer,
            self._up(self.triangles, gap_mm),
            self._up(self.lines, gap_mm),
        )

    def posed(self, before: Pose, now: Pose) -> Body:
        """Return the part, which stands in one pose, in another."""
        turn = now.turn / before.turn
        return self._moved(turn, now.at - before.at * turn)

    def turned(self, axis: complex, turn: complex) -> Body:
        """Return the part turned about an axis, mm; turn: a number of length 1."""
        return self._moved(turn, axis - axis * turn)

    def _moved(self, turn: complex, shift: complex) -> Body:
        return Body(
            self.kind,
            self.lane_id,
            self.layer,
            _placed(self.triangles, turn, shift),
            _placed(self.lines, turn, shift),
        )

    def _up(self, points: Reals, gap_mm: float) -> Reals:
        up = points.copy()
        up[..., 2] += self.layer * gap_mm * (points[..., 2] > 0 if self.kind == "shaft" else 1)
        return up


def _placed(points: Reals, turn: complex, shift: complex) -> Reals:
    """Turn and shift points in plan view."""
    plan = (points[..., 0] + 1j * points[..., 1]) * turn + shift
    return np.stack([plan.real, plan.imag, points[..., 2]], axis=-1)


@dataclass(frozen=True)
class DiscRow:
    """One disc in the list: code, name, heights, and where its follower stands."""

    lane_id: str
    code: str
    name: str
    bottom_mm: float
    top_mm: float
    station_deg: float


@dataclass(frozen=True, eq=False)
class StackScene:
    """A stack: what turns with it, the lanes whose followers ride on it, and its figures.

    direction: +1 counterclockwise seen from the top, else -1. rows: discs from the top down.
    reach_mm: radius of a circle about all of it but the mates, the parts of other stacks that mesh with its
    own. outlines: those that were made, by profile; rims: by lane. drive: what is beside the discs.
    """

    project: Project
    stack: Stack
    plan: StackPlan
    direction: int
    turning: tuple[Body, ...]
    riders: tuple[LaneSolution, ...]
    layers: Mapping[str, int]
    rows: tuple[DiscRow, ...]
    reach_mm: float
    outlines: Mapping[Profile, Outline]
    rims: Mapping[str, Points]
    drive: StackDrive
    mates: tuple[tuple[Body, DriveMate], ...]

    def turn_deg(self, own_deg: float) -> float:
        """Return by how much the stack is turned counterclockwise at an angle of its own."""
        return wrap(self.direction * own_deg)

    def followers(self, own_deg: float) -> tuple[Body, ...]:
        """Return the followers where they stand, the stack at an angle of its own."""
        own = wrap(own_deg)
        return tuple(body for lane in self.riders for body in self._follower(lane, own))

    def meshing(self, own_deg: Mapping[str, float]) -> tuple[Body, ...]:
        """Return the mates where they stand; own_deg: angles of their stacks, by id."""
        return tuple(body.turned(mate.axis, mate.turn(own_deg[mate.stack_id])) for body, mate in self.mates)

    @cached_property
    def _at_zero(self) -> Mapping[str, tuple[tuple[Body, ...], Pose]]:
        """The followers' bodies and poses at angle 0, by lane: they are rigid, so only their poses change."""
        return {lane.lane.id: (tuple(self._made(lane)), follower_pose(lane, 0.0)) for lane in self.riders}

    def height_mm(self, gap_mm: float) -> float:
        """Return the height of all layers in the exploded view, with what is over them."""
        own = [part.ends_mm[1] for part in self.drive.parts if part.mate is None and not part.is_below]
        over = max([self.plan.height_mm, *own]) - self.plan.height_mm
        gaps = max(0, len(self.plan.layers) - 1) + (1 if over > 0 else 0)
        return self.plan.height_mm + over + gap_mm * gaps

    def _follower(self, lane: LaneSolution, own_deg: float) -> Iterator[Body]:
        bodies, before = self._at_zero[lane.lane.id]
        now = follower_pose(lane, own_deg)
        for body in bodies:
            yield body if body.kind == "rod" else body.posed(before, now)

    def _made(self, lane: LaneSolution) -> Iterator[Body]:
        host = lane.lane.disc_of or lane.lane.id
        layer = self.layers[host]
        heights = follower_heights(self.project, self.stack, lane.lane, self.plan.disc(host))
        for kind, outline, low, high in follower_outlines(lane, 0.0, heights):
            yield prism(outline, low, high, kind=kind, lane_id=lane.lane.id, layer=layer)


def scene_of(
    project: Project, solution: Solution, stack: Stack, shown: StackScene | None = None
) -> StackScene:
    """Lay out a stack; shown: a scene made before, of which what is the same is used again."""
    plan = stack_plan(project, stack)
    layers = {layer.lane_id: place for place, layer in enumerate(plan.layers) if layer.lane_id}
    before: Mapping[Profile, Outline] = {} if shown is None else shown.outlines
    made, of_lane = dict[Profile, Outline](), dict[str, Outline]()
    for lane_id in layers:
        profile = solution.lanes[lane_id].profile
        outline = None if profile is None else _outline(project.lane(lane_id), profile, before)
        if profile is not None and outline is not None:
            made[profile] = of_lane[lane_id] = outline
    drive = stack_drive(project, stack)
    if shown is not None and drive.is_like(shown.drive):
        drive = shown.drive
    beside = [(part, _beside(part, len(plan.layers))) for part in drive.parts]
    own = tuple(body for part, bodies in beside if part.mate is None for body in bodies)
    mates = tuple((body, part.mate) for part, bodies in beside if part.mate is not None for body in bodies)
    ends = [end for part in drive.parts if part.mate is None for end in part.ends_mm]
    shaft = min([0.0, *ends]) - SHAFT_BELOW_MM, max([plan.height_mm, *ends]) + SHAFT_ABOVE_MM
    turning = (*_turning(project, stack, plan, of_lane, shaft), *own)
    riders = tuple(
        lane
        for lane in solution.lanes.values()
        if (lane.lane.disc_of or lane.lane.id) in layers and lane.profile and lane.motion
    )
    rows = tuple(
        _row(project.lane(layer.lane_id), layer.bottom_mm, layer.top_mm)
        for layer in reversed(plan.discs)
        if layer.lane_id is not None
    )
    rims = {lane_id: outline.rim for lane_id, outline in of_lane.items()}
    reaches = [float(np.max(np.abs(rim))) + BAR_MM for rim in rims.values()]
    reaches += [float(np.max(np.abs(one.outline))) for p in drive.parts if p.mate is None for one in p.prisms]
    reach = max(reaches, default=stack.spacer_radius_mm + BAR_MM)
    direction = turn_sign(project, stack)
    return StackScene(
        project, stack, plan, direction, turning, riders, layers, rows, reach, made, rims, drive, mates
    )


def _beside(part: DrivePart, above: int) -> tuple[Body, ...]:
    """Return the bodies of a part beside the discs; above: the layer over all discs."""
    return tuple(
        Body(
            "drive",
            None,
            -1 if part.is_below else above,
            *surface(Outline(one.outline), Inside(None, pins=one.holes), one.bottom_mm, one.top_mm),
        )
        for one in part.prisms
    )


def new_discs(project: Project, solution: Solution, stack: Stack, known: Mapping[Profile, Outline]) -> int:
    """Count the discs of a stack whose contours are not among those known."""
    lanes = [layer.lane_id for layer in stack_plan(project, stack).layers if layer.lane_id]
    return sum(solution.lanes[lane_id].profile not in {None, *known} for lane_id in lanes)


def _outline(lane: Lane, profile: Profile, known: Mapping[Profile, Outline]) -> Outline | None:
    """Return the contour of a disc, None where nothing of it is left (a finding says so)."""
    if profile in known:
        return known[profile]
    try:
        return disc_outline(lane, profile)
    except ValueError:
        return None


def _row(lane: Lane, bottom_mm: float, top_mm: float) -> DiscRow:
    return DiscRow(lane.id, lane.code or "", lane.label, bottom_mm, top_mm, lane.station_deg)


def _turning(
    project: Project,
    stack: Stack,
    plan: StackPlan,
    outlines: Mapping[str, Outline],
    shaft_mm: tuple[float, float],
) -> Iterator[Body]:
    spacer = Outline(points_of(circle(stack.spacer_radius_mm).flattened(SCREEN_CHORD_MM)))
    for place, layer in enumerate(plan.layers):
        outline = spacer if layer.lane_id is None else outlines.get(layer.lane_id)
        if outline is None:
            continue
        inside = inside_of(project, stack, layer.top_mm - layer.bottom_mm, outline.clear_mm)
        lane = None if layer.lane_id is None else project.lane(layer.lane_id)
        groove_mm = lane.disc.groove_depth_mm if lane is not None and outline.flanks is not None else 0.0
        faces, lines = surface(outline, inside, layer.bottom_mm, layer.top_mm, groove_mm)
        if lane is not None:
            lines = with_mark(lines, outline, layer.top_mm)
        yield Body("spacer" if lane is None else "disc", layer.lane_id, place, faces, lines)
    yield prism(
        points_of(bore_path(stack.bore, 0.0).flattened(SCREEN_CHORD_MM)),
        *shaft_mm,
        kind="shaft",
        lane_id=None,
        layer=max(0, len(plan.layers) - 1),
    )


def with_mark(lines: Reals, outline: Outline, top_mm: float) -> Reals:
    """Add the zero mark, at +x on the top face: inside a groove."""
    ring = outline.rim if outline.flanks is None else outline.flanks[0]
    at = int(np.argmin(np.abs(np.angle(ring))))
    edge = float(np.abs(ring[at]))
    mark = [[[share * edge, 0.0, top_mm] for share in MARK]]
    return np.concatenate([lines, np.array(mark)])


def prism(outline: Points, low: float, high: float, *, kind: str, lane_id: str | None, layer: int) -> Body:
    """Make an upright body of a contour that runs counterclockwise."""
    return Body(kind, lane_id, layer, *surface(Outline(outline), Inside(None), low, high))


@dataclass(frozen=True)
class Apart:
    """Least distances in height, mm, negative where heights overlap; None without two to compare."""

    followers_mm: float | None
    disc_mm: float | None


def least_heights(project: Project, plan: StackPlan, stack: Stack) -> Apart:
    """Return the least distance in height of followers of neighbouring discs, and of one to the next disc."""
    between, beside = [], []
    for lower, upper in pairwise(plan.discs):
        assert lower.lane_id is not None
        assert upper.lane_id is not None
        below = follower_heights(project, stack, project.lane(lower.lane_id), lower)
        above = follower_heights(project, stack, project.lane(upper.lane_id), upper)
        between.append(above.bottom_mm - below.top_mm)
        beside += [upper.bottom_mm - below.top_mm, above.bottom_mm - lower.top_mm]
    return Apart(min(between, default=None), min(beside, default=None))


def turn_arrow(radius_mm: float, height_mm: float, direction: int) -> Reals:
    """Return the arrow of the sense of turn above the stack as lines (m, 2, 3)."""
    angle = np.radians(np.linspace(0.0, 250.0, 51)) * direction + np.radians(150.0)
    arc = radius_mm * np.exp(1j * angle)
    ahead = 1j * direction * arc[-1] / radius_mm
    barbs = [arc[-1] - 0.35 * radius_mm * ahead * np.exp(1j * turn) for turn in (0.45, -0.45)]
    pairs = [*pairwise(arc), *((arc[-1], barb) for barb in barbs)]
    return np.array([[[point.real, point.imag, height_mm] for point in pair] for pair in pairs])
