"""What the steps of a frame have in common: what is there, the number of the next step, how it is drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from shaftscore.layout.frame_plan import FramePlan
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.step_scenes import (
    StepLabel,
    StepPicture,
    arrow_beside,
    edge_label,
    hung,
    step_scene,
)
from shaftscore.make.drawing.pictures.steps import AssemblyStep

LIFT_SHARE = 0.22
"""By which a new part is drawn above its place, of the height between the plates."""


@dataclass
class FrameBuild:
    """A frame that is being built. room: of a drawing on paper, mm.

    number: of the next step. built: what is there.
    """

    machine: PicturedMachine
    plan: FramePlan
    room: tuple[float, float]
    number: int
    built: list[PicturedPart] = field(default_factory=list)

    def take(self) -> int:
        """Return the number of the next step."""
        self.number += 1
        return self.number - 1

    @property
    def lift_mm(self) -> float:
        """By which a new part is drawn above its place, mm."""
        return LIFT_SHARE * self.plan.between_mm

    def step(
        self,
        title: str,
        text: str,
        new: Sequence[PicturedPart],
        labels: Sequence[StepLabel] = (),
        *,
        lift_mm: float | None = None,
        arrow: tuple[complex, complex] | None = None,
    ) -> AssemblyStep:
        """Return a step that lowers new parts onto what is there, and keep them; lift_mm: from where."""
        lift = self.lift_mm if lift_mm is None else lift_mm
        lifted = hung(new, lift)
        named = labels or [edge_label(part_name(part), part, []) for part in lifted[:1]]
        if arrow is None and lifted and lift > 0:
            arrow = arrow_beside(lifted, 0.6 * lift)
        drawn = step_scene(StepPicture(self.built, lifted, named, arrow, has_codes=False), *self.room)
        self.built += new
        codes = tuple(dict.fromkeys(part.code for part in new if part.code))
        return AssemblyStep(self.take(), title, text, drawn, codes)


def part_name(part: PicturedPart) -> str:
    """Return what a part is called: its code, or what it is."""
    return part.code or part.instance


def up_label(text: str, part: PicturedPart, up_mm: float) -> StepLabel:
    """Return the label of a part that is drawn lifted, mm."""
    return edge_label(text, part.lifted(up_mm), [])
