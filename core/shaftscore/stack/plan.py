"""Where the parts of a stack lie: z ranges from the bottom (z = 0) to the top, mm.

Discs follow the stack's order from bottom to top; a spacer of the stack's height lies between each
two of them. z points to the top of the stack, which is where the turning sense is seen from.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base.once import once
from shaftscore.model import Project, Stack


@dataclass(frozen=True)
class Layer:
    """One part of a stack: the disc of a lane, or a spacer (lane_id is None)."""

    lane_id: str | None
    bottom_mm: float
    top_mm: float

    @property
    def middle_mm(self) -> float:
        """Height of the part's middle."""
        return (self.bottom_mm + self.top_mm) / 2


@dataclass(frozen=True)
class StackPlan:
    """All parts of a stack, bottom to top."""

    stack_id: str
    layers: tuple[Layer, ...]

    @property
    def height_mm(self) -> float:
        """Height of the whole stack."""
        return self.layers[-1].top_mm if self.layers else 0.0

    @property
    def discs(self) -> tuple[Layer, ...]:
        """The discs alone."""
        return tuple(layer for layer in self.layers if layer.lane_id is not None)

    def disc(self, lane_id: str) -> Layer:
        """Return the layer of a lane's disc; raises KeyError if the stack has none."""
        for layer in self.layers:
            if layer.lane_id == lane_id:
                return layer
        raise KeyError(lane_id)

    def heights_of(self, lane_id: str) -> tuple[float, ...]:
        """Return the heights of a lane's disc and of the whole, mm; nothing where the stack has none."""
        own = (layer for layer in self.layers if layer.lane_id == lane_id)
        return tuple(height for one in own for height in (one.bottom_mm, one.top_mm, self.height_mm))


def turn_sign(project: Project, stack: Stack) -> int:
    """Return +1 for a stack that turns counterclockwise seen from the top, else -1."""
    return 1 if project.turn_of(stack) == "counterclockwise" else -1


def stack_plan(project: Project, stack: Stack) -> StackPlan:
    """Lay out a stack: discs in order with a spacer between each two (none where spacer_mm is 0)."""
    return once(
        project, ("stack plan", stack.id, stack.order, stack.spacer_mm), lambda: _laid_out(project, stack)
    )


def _laid_out(project: Project, stack: Stack) -> StackPlan:
    layers: list[Layer] = []
    for lane in project.discs_of(stack):
        height = layers[-1].top_mm if layers else 0.0
        if layers and stack.spacer_mm > 0:
            layers.append(Layer(None, height, height + stack.spacer_mm))
            height += stack.spacer_mm
        layers.append(Layer(lane.id, height, height + lane.disc.thickness_mm))
    return StackPlan(stack.id, tuple(layers))
