"""The wheels of the drive in plan at angle 0, with the marks by which they are put in mesh.

Lengths of the drawing are mm on paper, its lower left corner at the origin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from shaftscore.layout import Placement
from shaftscore.layout.placed import Points
from shaftscore.layout.train import hub_placement, train_placements
from shaftscore.make.drawing.fonts import width_mm
from shaftscore.make.drawing.pictures.assembled import fitted
from shaftscore.make.drawing.pictures.labels import LABEL_PT, PartLabel, labelled
from shaftscore.make.drawing.pictures.machine import PicturedMachine
from shaftscore.make.drawing.scene import Path, Scene, Stroke, Text, scene

MARK_WORDS = {
    "zero mark": "zero mark",
    "phase mark": "marked gap",
    "phase mark 2": "marked gap",
    "mark of the tooth": "marked tooth",
}
"""What marks of hubs are called; that of a pinion is its marked tooth."""

GAP_MM = 5.0
"""Between the drawing and its labels, mm on paper."""


@dataclass(frozen=True, eq=False)
class MarkedWheel:
    """A wheel in plan: its code, outline (n,) and marks (m,), each with its name; the machine's frame, mm.

    is_below: its marks are on its lower face.
    """

    code: str
    outline: Points
    marks: tuple[tuple[str, Points], ...]
    is_below: bool


def marked_wheels(machine: PicturedMachine) -> tuple[MarkedWheel, ...]:
    """Return the wheels that are made and in mesh, as they are at angle 0; none where no two are."""
    wheels = [wheel for where in _placements(machine) for wheel in _wheel(machine, where)]
    return tuple(wheels) if len(wheels) > 1 else ()


def gear_marks(machine: PicturedMachine, wide_mm: float, high_mm: float) -> Scene:
    """Return the drawing of all wheels with their marks in a room on paper, mm; empty without wheels."""
    wheels = marked_wheels(machine)
    if not wheels:
        return Scene()
    words = [word for wheel in wheels for word, _ in _named(wheel)]
    label = max(width_mm(word, LABEL_PT, bold=True) for word in words) + GAP_MM
    plain = scene(mark for wheel in wheels for mark in _drawn(wheel))
    drawn = fitted(plain, wide_mm - label - GAP_MM, high_mm)
    before, after = plain.bounds, drawn.bounds
    scale = after.wide / before.wide
    offset = complex(after.left, after.bottom) - scale * complex(before.left, before.bottom)
    labels = [PartLabel(word, "", scale * at + offset) for wheel in wheels for word, at in _named(wheel)]
    codes = [
        Text(scale * complex(wheel.outline.mean()) + offset, wheel.code, LABEL_PT, "middle", bold=True)
        for wheel in wheels
        if width_mm(wheel.code, LABEL_PT, bold=True) < scale * np.ptp(wheel.outline.real) / 2
    ]
    return drawn + scene(codes) + labelled(labels, after.right + GAP_MM, label)


def _placements(machine: PicturedMachine) -> Iterator[Placement]:
    """Yield where the wheels of the first stack's train and those on further hubs are."""
    first, *others = machine.project.stacks
    try:
        if first.id in machine.places:
            yield from train_placements(machine.project, machine.places[first.id][0])
        for stack in others:
            if stack.hub is not None and stack.id in machine.places:
                yield hub_placement(machine.project, stack, machine.places[stack.id][0])
    except ValueError:  # it is not made, and the export says why
        return


def _wheel(machine: PicturedMachine, where: Placement) -> Iterator[MarkedWheel]:
    """Yield the wheel of a part that has marks for its mesh."""
    pose = where.course(np.zeros(1))
    at, turn = complex(pose.at[0]), complex(pose.turn[0])
    for prism in machine.prisms(where.code)[:1]:
        if not any(name != "zero mark" for name, _ in prism.marks):
            continue
        lines = [prism.outline, *(line for _, line in prism.marks)]
        if where.upside_down:
            lines = [np.conj(line) for line in lines]
        outline, *marks = (np.asarray(at + turn * line) for line in lines)
        names = [name for name, _ in prism.marks]
        yield MarkedWheel(where.code, outline, tuple(zip(names, marks, strict=True)), where.upside_down)


def _drawn(wheel: MarkedWheel) -> Iterator[Path]:
    yield Path(wheel.outline, Stroke("ink", "hair"), True, "face", name=wheel.code)
    for name, line in wheel.marks:
        stroke = Stroke("ink", "bold", "dashed" if wheel.is_below else "solid")
        yield Path(line, stroke, name=name)


def _named(wheel: MarkedWheel) -> Iterator[tuple[str, complex]]:
    """Yield the marks with what they are called, each once, at their outer ends."""
    middle, done = complex(wheel.outline.mean()), set[str]()
    for name, line in wheel.marks:
        if name not in done:
            done.add(name)
            word = "marked tooth" if wheel.code.startswith("PINION") else MARK_WORDS[name]
            out = complex(line[int(np.argmax(np.abs(line - middle)))])
            yield f"{word} of {wheel.code}", out
