"""How an intermittent stage is checked when both shafts are in place, with a drawing in plan at angle 0.

Lengths of the drawing are mm on paper, its lower left corner at the origin.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from shaftscore.base.wording import degrees, millimetres
from shaftscore.built.geneva import GenevaShape
from shaftscore.layout.placed import Placement, Points
from shaftscore.layout.stacks import stages_of, step_codes, step_placements
from shaftscore.layout.stepping import StepStage
from shaftscore.make.drawing.fonts import width_mm
from shaftscore.make.drawing.pictures.assembled import fitted
from shaftscore.make.drawing.pictures.labels import LABEL_PT, PartLabel, labelled
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.pictures.prisms import contour_of
from shaftscore.make.drawing.pictures.steps import AssemblyStep
from shaftscore.make.drawing.scene import Path, Scene, Stroke, Tone, scene
from shaftscore.make.solids import MadePart
from shaftscore.stack import BulgePath

GAP_MM = 5.0
"""Between the drawing and its labels, mm on paper."""

MARKED = {"zero mark": "zero mark", "phase mark": "crossed mark"}
"""What the marks of a wheel are called."""


def stage_steps(
    machine: PicturedMachine, wide_mm: float, high_mm: float, first: int = 1
) -> tuple[AssemblyStep, ...]:
    """Return the step in which each intermittent stage is checked, drawn in a room on paper, mm.

    first: number of the first step. Empty without stages whose parts are made.
    """
    found = [stage for stage in stages_of(machine.project) if _is_made(machine, stage)]
    return tuple(
        AssemblyStep(
            first + place,
            _title(machine, stage),
            _text(machine, stage),
            stage_plan(machine, stage, wide_mm, high_mm),
        )
        for place, stage in enumerate(found)
    )


def _is_made(machine: PicturedMachine, stage: StepStage) -> bool:
    codes = step_codes(machine.project, stage)
    return stage.driving.id in machine.places and all(machine.made(code) for code in codes)


def _title(machine: PicturedMachine, stage: StepStage) -> str:
    driver, wheel = step_codes(machine.project, stage)
    return f"Check {driver} and {wheel}"


def _text(machine: PicturedMachine, stage: StepStage) -> str:
    """Return what is looked at: the marks, a whole step, the lock."""
    driver, wheel = step_codes(machine.project, stage)
    turn, shape = machine.project.turn_of(stage.driving), stage.shape
    play, apart = degrees(2 * shape.locked_play_deg), millimetres(shape.centre_mm, 2)
    if isinstance(shape, GenevaShape):
        leaving = degrees(2 * np.degrees(shape.half_moving_rad))
        entry, way = (
            "the pin enters a slot",
            f"the pin slides in and out freely, and {wheel} moves on by one slot",
        )
        out = "When the pin is out"
    else:
        leaving, count = degrees(np.degrees(shape.engaged_rad)), shape.counted
        entry, out = "the first tooth meshes", "After the step"
        way = (
            f"{wheel} moves on by {count} {'tooth' if count == 1 else 'teeth'}; near both ends of the step "
            "it is freer, and the notch of the locking disc takes it on"
        )
    return (
        f"Turn all zero marks onto the reference line, towards +x. The arc of {wheel} with the crossed mark "
        f"rests on the locking disc of {driver}. Turn {stage.driving.label} {turn} by "
        f"{degrees(stage.steps.start_deg)}: {entry}. Turn it on by {leaving}: {way}. {out}, {wheel} hardly "
        f"turns on the locking disc ({play} as drawn). If it jams, look at the distance of the axes first: "
        f"{apart}."
    )


def stage_plan(machine: PicturedMachine, stage: StepStage, wide_mm: float, high_mm: float) -> Scene:
    """Return driver and wheel in plan at angle 0 with their marks, in a room on paper, mm."""
    at, bottom = machine.places[stage.driving.id]
    placed = list(step_placements(machine.project, stage, at, bottom))
    labels = [label for where in placed for label in _named(machine, where)]
    label = max(width_mm(word, LABEL_PT, bold=True) for word, _ in labels) + GAP_MM
    plain = scene(mark for where in placed for mark in _drawn(machine, where))
    drawn = fitted(plain, wide_mm - label - GAP_MM, high_mm)
    before, after = plain.bounds, drawn.bounds
    scale = after.wide / before.wide
    offset = complex(after.left, after.bottom) - scale * complex(before.left, before.bottom)
    names = [PartLabel(word, "", scale * where + offset) for word, where in labels]
    return drawn + labelled(names, after.right + GAP_MM, label)


def _lines(machine: PicturedMachine, where: Placement) -> Iterator[tuple[str, Points]]:
    """Yield the contours of a part in the machine, each with what it is; the lowest first."""
    part = machine.made(where.code)[0]
    pose = where.course(np.zeros(1))
    for name, path in _paths(part):
        own = contour_of(path)
        if where.upside_down:
            own = np.conj(own)
        yield name, np.asarray(pose.at[0] + pose.turn[0] * own)


def _paths(part: MadePart) -> Iterator[tuple[str, BulgePath]]:
    yield "contour", part.contour
    yield from ((body.name, body.path) for body in part.raised if body.name in ("locking disc", "teeth"))
    yield "bore", part.holes[0]
    if part.kind == "driver" and len(part.holes) > 1:
        yield "pin", part.holes[-1]
    yield from ((body.name, body.path) for body in part.sunk if body.name in MARKED)


def _drawn(machine: PicturedMachine, where: Placement) -> Iterator[Path]:
    fills: dict[str, Tone] = {
        "locking disc": "shade",
        "teeth": "shade",
        "pin": "ink",
        "bore": "paper",
        **dict.fromkeys(MARKED, "ink"),
    }
    is_driver = machine.made(where.code)[0].kind == "driver"
    for name, line in _lines(machine, where):
        fill: Tone | None = fills.get(name, "paper" if is_driver else None)
        yield Path(line, Stroke("ink", "hair"), True, fill, name=f"{where.code} {name}")


def _named(machine: PicturedMachine, where: Placement) -> Iterator[tuple[str, complex]]:
    """Yield what is labelled in the drawing with a point of it."""
    for name, line in _lines(machine, where):
        out = complex(line[int(np.argmax(line.real))])
        if name in ("locking disc", "pin"):
            yield f"{name} of {where.code}", out
        elif name == "contour":
            yield where.code, complex(line[int(np.argmax(line.imag))])
        elif name in MARKED:
            yield f"{MARKED[name]} of {where.code}", out
