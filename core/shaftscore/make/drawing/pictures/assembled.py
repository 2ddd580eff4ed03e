"""The machine as it stands when it is built: frame, shafts, drive and followers at angle 0."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from shaftscore.make.drawing.pictures.clamps import clamp
from shaftscore.make.drawing.pictures.follower_bodies import follower_bodies
from shaftscore.make.drawing.pictures.frame_bodies import frame_parts
from shaftscore.make.drawing.pictures.machine import PicturedMachine, PicturedPart, prisms_of
from shaftscore.make.drawing.pictures.projecting import COVER, PictureStyle, painted, seen
from shaftscore.make.drawing.pictures.stack_parts import hub, layers, pinions, pins, rod, stage_parts
from shaftscore.make.drawing.scene import Path, Scene, Stroke, scene

MOST_SCALE = 1.0
"""A machine is not drawn larger than it is."""


def machine_parts(machine: PicturedMachine) -> Iterator[PicturedPart]:
    """Yield every part of a machine where it is at angle 0."""
    layouts = machine.followers
    for stack in machine.stacks:
        yield rod(machine, stack)
        yield from layers(machine, stack)
        own = hub(machine, stack)
        if own is not None:
            yield own
        yield from stage_parts(machine, stack)
        yield from pins(machine, stack)
        yield from (part for up in (False, True) if (part := clamp(machine, stack, upper=up)) is not None)
    yield from pinions(machine)
    for lane_id, solved in machine.solution.lanes.items():
        yield from follower_bodies(machine, solved, layouts.get(lane_id))
    if machine.frame is not None:
        yield from frame_parts(machine)


def assembled_machine(machine: PicturedMachine, wide_mm: float, high_mm: float) -> Scene:
    """Return the picture of a machine in a room on paper, mm, its lower left corner at the origin.

    The top plate is drawn as an outline, so that one sees what is under it.
    """
    parts = list(machine_parts(machine))
    open_ = [part for part in parts if not _is_lid(part)]
    drawn = scene(painted(prisms_of(open_), SMALL))
    lid = [_outline(part) for part in parts if _is_lid(part)]
    return fitted(drawn + scene(lid), wide_mm, high_mm)


SMALL = PictureStyle(replace(COVER.line, weight="hair"), replace(COVER.mark, weight="hair"), is_small=True)
"""Lines of a whole machine, which is drawn small."""


def _is_lid(part: PicturedPart) -> bool:
    return part.code == "PLATE-TOP"


def _outline(part: PicturedPart) -> Path:
    """Return the upper edge of a plate as a dashed line."""
    prism = part.prisms[0]
    return Path(
        seen(prism.outline, prism.top_mm), Stroke("muted", "outline", "dashed"), True, name=part.instance
    )


def fitted(drawn: Scene, wide_mm: float, high_mm: float, most: float = MOST_SCALE) -> Scene:
    """Return a picture scaled to a room and centred in it, its lower left corner at the origin, mm."""
    box = drawn.bounds
    scale = min(wide_mm / box.wide, high_mm / box.high, most)
    spare = complex(wide_mm - scale * box.wide, high_mm - scale * box.high) / 2
    return drawn.placed(scale, spare - scale * complex(box.left, box.bottom))
