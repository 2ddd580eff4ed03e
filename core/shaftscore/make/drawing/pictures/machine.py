"""What pictures of a machine are drawn from, and a part as a picture sees it: where it is, as upright bodies.

Frame: that of the machine (see `shaftscore.layout`), at angle 0 of the master shaft.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np

from shaftscore.layout import Placement
from shaftscore.layout.axes import driving_first
from shaftscore.layout.coupled import HubWheel, hub_wheels
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.frame_plan import FramePlan
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.reach import disc_reach_mm
from shaftscore.layout.stacks import stages_of
from shaftscore.make.drawing.pictures.prisms import UprightPrism, as_new, lifted, part_prisms
from shaftscore.make.solids import MadePart
from shaftscore.model import Project, Stack
from shaftscore.solution import Solution

PartRole = Literal[
    "disc", "spacer", "hub", "pinion", "driver", "geneva", "stepped", "rod", "pin", "axle", "roller",
    "lever", "bracket", "pivot", "spring", "plate", "pillar", "pillar rod", "knob",
    "bearing", "motor", "clamp",
]  # fmt: skip
"""What a part is in a picture."""

BESIDE_MM = 30.0
"""Distance of stacks whose places are not known."""


@dataclass(frozen=True, eq=False)
class PicturedPart:
    """One copy of a part. code: engraved on it, empty where it is bought. instance: which copy, for people.

    lane_id: of its lane, stack_id: of its stack, empty without one.
    """

    role: PartRole
    code: str
    instance: str
    prisms: tuple[UprightPrism, ...]
    lane_id: str = ""
    stack_id: str = ""

    @property
    def bottom_mm(self) -> float:
        """Its lowest height."""
        return min(one.bottom_mm for one in self.prisms)

    @property
    def top_mm(self) -> float:
        """Its greatest height."""
        return max(one.top_mm for one in self.prisms)

    def moved(self, by: complex = 0j, up_mm: float = 0.0) -> PicturedPart:
        """Return the part moved in plan and up, mm."""
        return replace(self, prisms=tuple(one.moved(by, up_mm) for one in self.prisms))

    def lifted(self, up_mm: float) -> PicturedPart:
        """Return the part moved up, mm."""
        return replace(self, prisms=lifted(self.prisms, up_mm))

    @property
    def new(self) -> PicturedPart:
        """The part as what a step adds."""
        return replace(self, prisms=as_new(self.prisms))


@dataclass(frozen=True, eq=False)
class PicturedMachine:
    """A solved machine with the parts that are made for it and its frame, if it has one.

    parts: all of the order, whole or in pieces.
    """

    solution: Solution
    parts: tuple[MadePart, ...]
    frame: FramePlan | None = None

    @property
    def project(self) -> Project:
        """The project."""
        return self.solution.project

    @cached_property
    def by_code(self) -> Mapping[str, MadePart]:
        """The parts by their codes."""
        return {part.code: part for part in self.parts}

    @cached_property
    def followers(self) -> Mapping[str, FollowerLayout]:
        """How the followers of lanes are laid out as parts, by lane, those that are."""
        seats, found = lever_seats(self.solution), {}
        for lane_id, solved in self.solution.lanes.items():
            if solved.stack not in self.places:
                continue
            try:
                made = machine_follower(self.solution, solved, seats, self.places[solved.stack][0])
            except FollowerLayoutError:  # its parts are not made, and the export says why
                continue
            if made is not None:
                found[lane_id] = made
        return found

    @cached_property
    def _own_prisms(self) -> dict[str, tuple[UprightPrism, ...]]:
        """What was found by `prisms`."""
        return {}

    def made(self, code: str) -> tuple[MadePart, ...]:
        """Return the part of a code, or its pieces; none where it is not made."""
        if code in self.by_code:
            return (self.by_code[code],)
        numbered = (f"{code}-{number}" for number in range(1, len(self.parts) + 1))
        found = []
        for one in numbered:
            if one not in self.by_code:
                break
            found.append(self.by_code[one])
        return tuple(found)

    def prisms(self, code: str) -> tuple[UprightPrism, ...]:
        """Return the bodies of a made part in its own frame; empty where it is not made."""
        if code not in self._own_prisms:
            self._own_prisms[code] = tuple(one for part in self.made(code) for one in part_prisms(part, code))
        return self._own_prisms[code]

    def placed(self, where: Placement, up_mm: float = 0.0) -> tuple[UprightPrism, ...]:
        """Return the bodies of a made part where it is; up_mm: by which its placement is lifted."""
        pose = where.course(np.zeros(1))
        at, turn = complex(pose.at[0]), complex(pose.turn[0])
        own = self.prisms(where.code)
        if where.upside_down:
            own = tuple(one.turned_over() for one in own)
        bottom = where.bottom_mm + up_mm
        return tuple(replace(one.posed(at, turn, bottom), name=where.instance) for one in own)

    @property
    def stacks(self) -> tuple[Stack, ...]:
        """The stacks that carry discs that are made."""
        project = self.project
        made = {part.lane_id for part in self.parts if part.kind == "disc"}
        return tuple(
            stack for stack in project.stacks if any(lane.id in made for lane in project.discs_of(stack))
        )

    @cached_property
    def places(self) -> Mapping[str, tuple[complex, float]]:
        """Axis in plan and height of the bottom face of each stack, mm; side by side without a frame."""
        if self.frame is not None:
            return {one.stack.id: (one.at, one.bottom_mm) for one in self.frame.shafts}
        found: dict[str, tuple[complex, float]] = {}
        right = 0.0
        geared = {stack_id: wheel.at for stack_id, wheel in self.wheels.items() if wheel.mate}
        stepped = dict[str, complex]()
        for number, stack in enumerate(driving_first(self.stacks)):
            reach = disc_reach_mm(self.solution, stack)
            at = geared.get(stack.id, stepped.get(stack.id))
            if at is None:
                at = complex(right + reach + BESIDE_MM if number else 0.0)
            found[stack.id] = (at, 0.0)
            stepped |= {
                one.driven.id: at + one.offset for one in stages_of(self.project) if one.driving is stack
            }
            right = max(right, at.real + reach)
        return found

    @cached_property
    def wheels(self) -> Mapping[str, HubWheel]:
        """The wheels on hubs, by stack; none where one cannot be made."""
        try:
            return hub_wheels(self.project)
        except ValueError:  # the hub is not made either, and the export says why
            return {}


def prisms_of(parts: Iterable[PicturedPart]) -> list[UprightPrism]:
    """Return the bodies of all parts."""
    return [one for part in parts for one in part.prisms]
