"""A stack from the side with its followers beside their discs, to scale: what a view without 3D shows.

A disc is solid to the least radius of its rim and paler to the largest. A follower is beside its disc, the
roller where it touches the largest radius, with levers and screw at their heights where they are described; a
dashed frame shows how far the roller may be off. x is from the axis, z along the shaft from the bottom, mm.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from shaftscore.built.heights import HeightBand
from shaftscore.judge.heights import heights_of
from shaftscore.make.drawing.scene import Mark, Path, Pattern, Scene, Stroke, Tone, box, scene
from shaftscore.model import Project, Stack
from shaftscore.solution import LaneSolution
from shaftscore.stack import StackPlan
from shaftscore.stack.followers import FollowerBands, follower_bands

SHAFT_BELOW_MM, SHAFT_ABOVE_MM = 4.0, 12.0
"""By which the shaft is drawn longer than the stack."""

KNIFE_MM = 1.5
"""Half the width at which a flat face or a knife edge is drawn."""

STUB_MM = 10.0
"""Length of a lever that is drawn outward of its roller."""


@dataclass(frozen=True)
class StackSlab:
    """One layer: whose (None: a spacer), its label, heights, least and largest radius, mm."""

    lane_id: str | None
    label: str
    bottom_mm: float
    top_mm: float
    least_mm: float
    largest_mm: float


@dataclass(frozen=True)
class RollerMark:
    """A follower beside its disc: its roller from and to, mm from the axis, and heights, mm.

    side: +1 to the right of the axis, -1 to the left. tolerance_mm: plus-minus, along the shaft. bands: of
    its parts, where its lever is described. stays: whether enough of the rim is in contact in the worst case.
    """

    lane_id: str
    side: int
    inner_mm: float
    outer_mm: float
    roller: HeightBand
    tolerance_mm: float
    bands: FollowerBands | None
    stays: bool

    @property
    def middle_mm(self) -> float:
        """Return the distance of the roller's axis from that of the stack."""
        return (self.inner_mm + self.outer_mm) / 2


def stack_slabs(
    stack: Stack,
    plan: StackPlan,
    rims: Mapping[str, npt.NDArray[np.complex128]],
    codes: Mapping[str, str],
) -> tuple[StackSlab, ...]:
    """Return the layers of a stack from the bottom up; a disc that cannot be made has no radius.

    rims: (n,) complex mm by lane. codes: by lane.
    """
    radii = {lane_id: np.abs(rim) for lane_id, rim in rims.items()}
    spacer = np.array([stack.spacer_radius_mm])
    slabs = []
    for layer in plan.layers:
        found = spacer if layer.lane_id is None else radii.get(layer.lane_id, np.zeros(1))
        label = codes.get(layer.lane_id or "", "")
        low, high = float(found.min()), float(found.max())
        slabs.append(StackSlab(layer.lane_id, label, layer.bottom_mm, layer.top_mm, low, high))
    return tuple(slabs)


def stack_rollers(
    project: Project, stack: Stack, plan: StackPlan, riders: Sequence[LaneSolution]
) -> tuple[RollerMark, ...]:
    """Return the followers of a stack; riders on one disc are on alternate sides of it."""
    found = heights_of(project, stack, [solved.lane for solved in riders])
    sides: dict[str, int] = {}
    marks = []
    for solved in riders:
        lane, profile = solved.lane, solved.profile
        assert profile is not None
        host = lane.disc_of or lane.id
        sides[host] = -sides.get(host, -1)
        heights = found[lane.id]
        half = profile.model.roller_radius_mm or KNIFE_MM
        pitch = float(np.max(np.abs(profile.at_nodes.pitch)))
        inner = pitch - half if not profile.model.is_flat else pitch
        bands = follower_bands(project, lane, plan.disc(host))
        across = inner, inner + 2 * half
        tolerance, stays = heights.tolerance_mm, heights.stays_on_edge
        marks.append(RollerMark(lane.id, sides[host], *across, heights.roller, tolerance, bands, stays))
    return tuple(marks)


def least_pitch(slabs: Iterable[StackSlab]) -> float:
    """Return the least distance in height from one disc to the next, mm; inf for one disc."""
    bottoms = [slab.bottom_mm for slab in slabs if slab.lane_id is not None]
    return min((upper - lower for lower, upper in pairwise(bottoms)), default=np.inf)


@dataclass(frozen=True)
class StackSideLook:
    """Which lane is chosen, and which are in the way of others, by their ids."""

    chosen: str | None = None
    troubled: Collection[str] = ()


def stack_side_scene(
    stack: Stack, slabs: Sequence[StackSlab], rollers: Iterable[RollerMark], look: StackSideLook
) -> Scene:
    """Return the drawing, back to front: rod, discs and spacers, followers."""
    half = stack.bore.across_mm / 2
    top = slabs[-1].top_mm if slabs else 0.0
    rod = box(complex(-half, -SHAFT_BELOW_MM), complex(half, top + SHAFT_ABOVE_MM))
    marks: list[Mark] = [Path(rod, Stroke("muted"), closed=True, fill="shade", name="rod")]
    for slab in slabs:
        marks += _slab(slab, look)
    for mark in rollers:
        marks += _roller(mark, look)
    return scene(marks)


def _slab(slab: StackSlab, look: StackSideLook) -> Iterator[Mark]:
    """Yield a disc to its largest radius, over it to its least; a spacer."""
    line, fill, pattern = _looks(slab.lane_id, look, "face" if slab.lane_id else "paper")
    low, high = slab.bottom_mm, slab.top_mm
    if slab.largest_mm > slab.least_mm:
        beyond = box(complex(-slab.largest_mm, low), complex(slab.largest_mm, high))
        yield Path(beyond, Stroke(line.tone, "hair"), closed=True, fill="paper", name="largest")
    least = box(complex(-slab.least_mm, low), complex(slab.least_mm, high))
    yield Path(least, line, closed=True, fill=fill, pattern=pattern, name=slab.lane_id or "spacer")


def _roller(mark: RollerMark, look: StackSideLook) -> Iterator[Mark]:
    """Yield a follower, its lever first, then the frame within which its roller may be."""
    line, fill, pattern = _looks(mark.lane_id, look, "paper")
    if not mark.stays and mark.lane_id not in look.troubled:
        line = Stroke("warning")
    for lever in () if mark.bands is None else mark.bands.levers:
        across = (mark.middle_mm - STUB_MM / 4, mark.outer_mm + STUB_MM)
        yield Path(_beside(mark.side, across, lever), line, closed=True, fill=fill, name="lever")
    if mark.bands is not None and mark.bands.screw is not None:
        reach = mark.bands.screw_radius_mm
        across = (mark.middle_mm - reach, mark.middle_mm + reach)
        yield Path(_beside(mark.side, across, mark.bands.screw), line, closed=True, fill=fill, name="screw")
    across = (mark.inner_mm, mark.outer_mm)
    corners = _beside(mark.side, across, mark.roller)
    yield Path(corners, line, closed=True, fill=fill, pattern=pattern, name="roller")
    off = HeightBand(mark.roller.bottom_mm - mark.tolerance_mm, mark.roller.top_mm + mark.tolerance_mm)
    dashed = Stroke(line.tone, "outline", "dashed")
    yield Path(_beside(mark.side, across, off), dashed, closed=True, name="band")


def _looks(lane_id: str | None, look: StackSideLook, plain: Tone) -> tuple[Stroke, Tone, Pattern | None]:
    """Return line, fill and pattern of what belongs to a lane: what is in the way is hatched."""
    if lane_id is not None and lane_id in look.troubled:
        return Stroke("error"), "paper", "falling"
    if lane_id is not None and lane_id == look.chosen:
        return Stroke("new", "bold"), "new-face", None
    return Stroke("ink"), plain, None


def _beside(side: int, across: tuple[float, float], band: HeightBand) -> npt.NDArray[np.complex128]:
    """Return a rectangle at distances from the axis and heights, on one side of the axis, (4,) mm."""
    low, high = complex(side * across[0], band.bottom_mm), complex(side * across[1], band.top_mm)
    return box(low, high)
