"""Followers in pictures: made parts, rollers with their axles, rods of pivots, springs; plain bodies else.

Frame of the machine, angle 0. A lane whose follower is not described as parts has the bodies that all
pictures of stacks show for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from shaftscore.layout.follower_bars import axle_mm
from shaftscore.layout.followers import FollowerLayout
from shaftscore.layout.placed import Points
from shaftscore.make.drawing.pictures.machine import PartRole, PicturedMachine, PicturedPart
from shaftscore.make.drawing.pictures.prisms import (
    INSERT,
    ROD,
    SOLID,
    UprightPrism,
    coarse,
    counterclockwise,
    round_prism,
)
from shaftscore.solution import LaneSolution
from shaftscore.stack import stack_plan
from shaftscore.stack.followers import follower_heights, follower_outlines

COIL_MM = 4.0
"""Width of such a spring, mm."""

COILS = 9
"""Teeth of the zigzag that stands for a spring."""

ROD_OVER_MM = 5.0
"""By which the rod of a pivot stands out over its lever, mm."""


def follower_bodies(
    machine: PicturedMachine, solved: LaneSolution, layout: FollowerLayout | None
) -> Iterator[PicturedPart]:
    """Yield the parts of a lane's follower; layout: of its parts, if they are made."""
    if solved.profile is None or solved.motion is None or solved.stack not in machine.places:
        return
    if layout is None:
        yield from _plain(machine, solved)
    else:
        yield from _made(machine, solved, layout)


def _plain(machine: PicturedMachine, solved: LaneSolution) -> Iterator[PicturedPart]:
    project, lane = machine.project, solved.lane
    stack = project.stack_of(lane)
    layer = stack_plan(project, stack).disc(lane.disc_of or lane.id)
    heights = follower_heights(project, stack, lane, layer)
    at, up = machine.places[stack.id]
    for number, (kind, outline, bottom, top) in enumerate(follower_outlines(solved, 0.0, heights)):
        role = PLAIN_ROLES[kind]
        name = f"{kind} {number + 1} of {lane.label}"
        corners = coarse(counterclockwise(np.asarray(outline))) + at
        is_inside = lane.follower.closure == "groove" or kind == "rod"
        prism = UprightPrism(corners, bottom + up, top + up, name, inside=ROD if is_inside else SOLID)
        yield PicturedPart(role, "", name, (prism,), lane.id, stack.id)


PLAIN_ROLES: dict[str, PartRole] = {"roller": "roller", "bar": "lever", "rod": "pivot"}
"""What the plain bodies of followers are in a picture."""


def _made(machine: PicturedMachine, solved: LaneSolution, layout: FollowerLayout) -> Iterator[PicturedPart]:
    lane, up = solved.lane, machine.places[solved.stack][1]
    for where in layout.placements():
        prisms = machine.placed(where, up)
        if not prisms:
            continue
        role: PartRole = "bracket" if where.code.endswith("-K") else "lever"
        if where.code.endswith("-S"):
            prisms = tuple(replace(one, inside=INSERT) for one in prisms)
        yield PicturedPart(role, where.code, where.instance, prisms, lane.id, solved.stack)
    yield from roller(solved, layout, up)
    yield from pivot_rods(machine, solved, layout)
    yield from spring(solved, layout, up)


def roller(solved: LaneSolution, layout: FollowerLayout, up_mm: float) -> Iterator[PicturedPart]:
    """Yield the roller of a follower and the ends of its axle; up_mm: height of its stack's bottom face."""
    radius, bands = layout.profile.model.roller_radius_mm, layout.bands
    if radius == 0:
        return
    name, lane, stack = solved.lane.code or solved.lane.label, solved.lane.id, solved.stack
    at = complex(layout.points(np.zeros(1)).roller[0])
    wheel = round_prism(radius, (bands.roller.bottom_mm, bands.roller.top_mm), f"roller of {name}")
    rank = INSERT if solved.lane.follower.closure == "groove" else SOLID
    wheel = replace(wheel, inside=rank).moved(at, up_mm)
    yield PicturedPart("roller", "", wheel.name, (wheel,), lane, stack)
    if bands.screw is None:
        return
    ends = (bands.screw.bottom_mm, bands.screw.top_mm)
    screw = round_prism(axle_mm(layout) / 2, ends, f"axle of {name}")
    screw = replace(screw, inside=ROD).moved(at, up_mm)
    yield PicturedPart("axle", "", screw.name, (screw,), lane, stack)


def pivot_rods(
    machine: PicturedMachine, solved: LaneSolution, layout: FollowerLayout
) -> Iterator[PicturedPart]:
    """Yield the rods that a lever and its guide link turn on; a rod that several share, with the lowest."""
    up, name = machine.places[solved.stack][1], solved.lane.code or solved.lane.label
    pivots = [at for at in (layout.pivot, layout.guide_pivot) if at is not None]
    for number, at in enumerate(pivots, start=1):
        is_shared = number == 1 and layout.rod_in_frame
        if is_shared and layout.is_sleeve:
            continue
        ends = (layout.floor_mm + up, layout.bands.levers[-1].top_mm + ROD_OVER_MM + up)
        if is_shared and machine.frame is not None:
            ends = (machine.frame.plates["bottom"][0], machine.frame.plates["top"][1])
        own = f"pivot rod of {name}" + (f" {number}" if len(pivots) > 1 else "")
        rod = replace(round_prism(layout.parts.pivot_rod_mm / 2, ends, own), inside=ROD).moved(at)
        yield PicturedPart("pivot", "", own, (rod,), solved.lane.id, solved.stack)


def spring(solved: LaneSolution, layout: FollowerLayout, up_mm: float) -> Iterator[PicturedPart]:
    """Yield the spring of a follower from its hook to its post, as a flat bar with a zigzag on it."""
    ends = layout.spring_ends
    if ends is None:
        return
    hook, post = ends
    load = solved.lane.load
    wide = COIL_MM if load is None or load.spring is None else load.spring.coil_mm
    name = f"spring of {solved.lane.code or solved.lane.label}"
    along = (hook - post) / abs(hook - post)
    across = 1j * along * wide / 2
    outline = counterclockwise(np.array([post - across, post + across, hook + across, hook - across]))
    lever = layout.bands.levers[-1]
    bottom = lever.top_mm + up_mm
    marks = (("coils", _zigzag(post, hook, wide)),)
    prism = UprightPrism(outline, bottom, bottom + 0.5 * wide, name, marks=marks)
    yield PicturedPart("spring", "", name, (prism,), solved.lane.id, solved.stack)


def _zigzag(start: complex, end: complex, wide_mm: float) -> Points:
    along = (end - start) / abs(end - start)
    steps = np.linspace(0.04, 0.96, 2 * COILS)
    aside = 0.5j * along * wide_mm * np.where(np.arange(2 * COILS) % 2, 1, -1)
    return np.concatenate([[start], start + steps * (end - start) + aside, [end]])
