"""Where the discs of a stack and their rollers are along the shaft, with their tolerance.

Heights are mm from the bottom of the stack as drawn. The tolerance is that between a disc and its roller:
errors of thickness of all parts below the disc where followers are set by the drawing, of the disc alone
where they are set on the built stack, and the roller's own error (`shaftscore.built.heights`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from types import MappingProxyType

from shaftscore.base.tolerance import under
from shaftscore.built.heights import (
    HeightBand,
    height_tolerance_mm,
    overlap_mm,
    required_overlap_mm,
    rim,
    worst_overlap_mm,
)
from shaftscore.model import Lane, Project, Stack
from shaftscore.solution import Solution
from shaftscore.solution.incremental import Incremental, runs_of
from shaftscore.stack.followers import roller_band
from shaftscore.stack.plan import Layer, StackPlan, stack_plan
from shaftscore.stack.thickness import bottom_chamfer_mm, edge_chamfer_mm


@dataclass(frozen=True, eq=False)
class LaneHeights:
    """A lane's disc and roller along the shaft, mm from the bottom of the stack.

    disc: of the disc that the lane's follower runs on. rim: where its running edge is upright. roller: of
    the roller or flat face. tolerance_mm: plus-minus limit between the two.
    """

    disc: HeightBand
    rim: HeightBand
    roller: HeightBand
    tolerance_mm: float

    @property
    def z_mm(self) -> float:
        """Height of the disc's middle."""
        return (self.disc.bottom_mm + self.disc.top_mm) / 2

    @cached_property
    def overlap_mm(self) -> float:
        """Contact width as drawn."""
        return overlap_mm(self.rim, self.roller)

    @cached_property
    def worst_overlap_mm(self) -> float:
        """Least contact width within the tolerance."""
        return worst_overlap_mm(self.rim, self.roller, self.tolerance_mm)

    @cached_property
    def required_mm(self) -> float:
        """Contact width that is required."""
        return required_overlap_mm(self.rim, self.roller)

    @property
    def is_on_edge(self) -> bool:
        """Whether enough of the rim is in contact as drawn."""
        return self.overlap_mm > 0 and not under(self.overlap_mm, self.required_mm)

    @property
    def stays_on_edge(self) -> bool:
        """Whether enough of the rim is in contact whatever the tolerances."""
        return self.is_on_edge and not under(self.worst_overlap_mm, self.required_mm)


@dataclass(frozen=True, eq=False)
class StackHeights:
    """The heights of the lanes of a stack by their ids."""

    stack: Stack
    lanes: Mapping[str, LaneHeights]


def machine_heights(solution: Solution, kept: Incremental | None = None) -> tuple[StackHeights, ...]:
    """Compute the heights of all solved lanes, stack by stack; kept: the store of unchanged stacks."""
    project, kept = solution.project, kept or Incremental()
    lanes = {
        stack.id: [one.lane for one in solution.on_stack(stack.id) if one.lane.kind != "index"]
        for stack in project.stacks
    }
    return tuple(_kept(project, stack, lanes[stack.id], kept) for stack in project.stacks)


def _kept(project: Project, stack: Stack, lanes: list[Lane], kept: Incremental) -> StackHeights:
    discs = project.discs_of(stack)
    read = (
        kept.keep_alike(("heights read", stack.id, number), tuple(run), partial(_read, run))
        for number, run in runs_of((*discs, *lanes))
    )
    reads = (stack, project.tolerances, project.print, len(discs), *read)

    def computed(_inside: Incremental) -> StackHeights:
        return StackHeights(stack, MappingProxyType(heights_of(project, stack, lanes)))

    return kept.keep(("heights", stack.id), reads, computed)


def _read(lanes: Sequence[Lane]) -> tuple[object, ...]:
    """Return what the heights of some lanes depend on, beside their stack."""
    return tuple((lane.id, lane.disc, lane.follower, lane.parts, lane.disc_of) for lane in lanes)


def heights_of(project: Project, stack: Stack, lanes: Iterable[Lane]) -> dict[str, LaneHeights]:
    """Compute the heights of lanes that run on the discs of a stack, by their ids."""
    plan = stack_plan(project, stack)
    below = {layer.lane_id: place for place, layer in enumerate(plan.layers)}
    found = {}
    for lane in lanes:
        place = below[lane.disc_of or lane.id]
        found[lane.id] = _of_lane(project, stack, lane, plan.layers[place], place)
    return found


def lane_heights(project: Project, lane: Lane) -> LaneHeights:
    """Compute the heights of one lane. Raises KeyError for a lane without a disc to run on."""
    stack = project.stack_of(lane)
    layer, below = _layer_of(stack_plan(project, stack), lane.disc_of or lane.id)
    return _of_lane(project, stack, lane, layer, below)


def _layer_of(plan: StackPlan, host: str) -> tuple[Layer, int]:
    layer = plan.disc(host)
    return layer, plan.layers.index(layer)


def _of_lane(project: Project, stack: Stack, lane: Lane, layer: Layer, below: int) -> LaneHeights:
    """Return the heights of a lane; below: count of the parts below its disc."""
    tolerances = project.tolerances
    tolerance = height_tolerance_mm(
        1 if stack.followers_set == "built" else below,
        tolerances.thickness_mm,
        tolerances.thickness_common_mm,
        project.follower_z_mm(stack),
    )
    disc = HeightBand(layer.bottom_mm, layer.top_mm)
    return LaneHeights(disc, _rim(project, lane, disc), roller_band(project, lane, layer), tolerance)


def _rim(project: Project, lane: Lane, disc: HeightBand) -> HeightBand:
    """Return where the running edge is upright: a groove's flanks, else the disc's rim less its chamfers."""
    host = project.lane(lane.disc_of or lane.id)
    chamfer = edge_chamfer_mm(host)
    if host.follower.closure == "groove":
        return rim(HeightBand(disc.top_mm - host.disc.groove_depth_mm, disc.top_mm), 0.0, chamfer)
    return rim(disc, bottom_chamfer_mm(project.print, host), chamfer)
