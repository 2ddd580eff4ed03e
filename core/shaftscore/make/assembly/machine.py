"""The assembly of an export: its parts, read back, where the layout puts them, and what is bought.

Discs and spacers are on their shaft at the heights of the stack's plan with their zero marks aligned, and
turn with it; other parts are where their placements say. A rod, pins and the roller (or flat face) of every
lane are modelled as plain bodies in their nominal sizes; a follower is where its lane's program puts it.
Stacks whose places against one another are not known are proved by themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from shaftscore.layout import Course, Placement, stack_placements
from shaftscore.layout.stack_turns import stack_course
from shaftscore.make.assembly.body import PrinterChanges, SectionedBody, outline_area, prism, read_body
from shaftscore.make.assembly.contacts import FREE, PairContact
from shaftscore.make.assembly.follower import follower_body, rolling_task
from shaftscore.make.assembly.meeting import Reals
from shaftscore.make.assembly.others import Contacts, OtherParts, PartGroup, StackPlace
from shaftscore.make.assembly.placed import PlacedBody, body_at
from shaftscore.make.assembly.rolling import RollingTask
from shaftscore.make.files.order import MakeOrder
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.solids.split import MOST_PIECES
from shaftscore.model import Bore, Project, Stack
from shaftscore.solution import LaneSolution
from shaftscore.stack import bore_path, pin_paths, stack_plan

PLAIN_MM = 5e-5
"""Chord error of plain bodies: far less than what is judged."""

RANKS = (
    "lever", "slide", "bracket", "knob", "pinion", "driver", "geneva", "stepped", "hub", "disc", "spacer",
    "plate", "pillar",
)  # fmt: skip
"""Kinds of parts in the order in which a sentence names two that meet: what moves most comes first."""


@dataclass(frozen=True, eq=False)
class MachineAssembly:
    """Everything that is put together.

    project: whose machine it is. bodies: in their places. contacts: of pairs that do not just pass one
    another. rollers: the followers with their discs. ends_deg: ends of the states of each lane, by id, angles
    of the master shaft (n,).
    """

    project: Project
    bodies: tuple[PlacedBody, ...]
    contacts: Contacts
    rollers: tuple[RollingTask, ...]
    ends_deg: Mapping[str, Reals]

    def contact(self, first: PlacedBody, second: PlacedBody) -> PairContact:
        """Return how two bodies meet."""
        return self.contacts.get(frozenset((first.name, second.name)), FREE)


def machine_assembly(
    order: MakeOrder, solids: Mapping[str, SolidPart], others: OtherParts | None = None
) -> MachineAssembly:
    """Put the parts of an order together, as far as they were read back; raises RimError for unsound ones.

    solids: bodies read back from files for a printer, by code. others: parts beside discs and spacers.
    """
    others = others or OtherParts()
    parts = _ReadParts(order, solids)
    project = order.report.project
    stacks = [_StackBodies(parts, stack, others) for stack in project.stacks if project.discs_of(stack)]
    placed = [body for group in others.groups for body in _of_group(parts, group, others)]
    contacts = {pair: met for one in stacks for pair, met in one.contacts.items()}
    for group in others.groups:
        contacts |= {
            frozenset(parts.name(instance) for instance in pair): met for pair, met in group.contacts.items()
        }
    return MachineAssembly(
        project=project,
        bodies=(*(body for one in stacks for body in one.bodies), *placed),
        contacts=contacts,
        rollers=tuple(task for one in stacks for task in one.rollers),
        ends_deg={id_: _ends(lane) for id_, lane in order.report.solution.lanes.items()},
    )


def _of_group(parts: _ReadParts, group: PartGroup, others: OtherParts) -> Iterator[PlacedBody]:
    """Yield the bodies of a group, made and bought."""
    lane, frame = group.lane, others.frame_of(parts.order.report.project, group.stack)
    for one in parts.placed(group.placements, group.follows, frame):
        yield replace(one, lane=one.lane or lane)
    rank = -1 if lane else len(RANKS)
    for bought in group.bought:
        yield PlacedBody(
            bought.name, "", bought.body, bought.bottom_mm, bought.course, group.follows, lane, frame, rank
        )


def _ends(lane: LaneSolution) -> Reals:
    """Return the ends of all states of a lane, (n,) degrees of the master shaft."""
    found = [interval.span for level in lane.states.values() for interval in level]
    ends = np.array(sorted({end for span in found for end in (span.start, span.end)}), np.float64)
    return np.asarray(ends * float(lane.course.cycles))


class _ReadParts:
    """The parts of an order that were read back, each cut once however many copies there are."""

    def __init__(self, order: MakeOrder, solids: Mapping[str, SolidPart]) -> None:
        self.order = order
        self.items = {item.part.code: item for item in order.items if item.part.code in solids}
        self._solids = solids
        self._bodies: dict[str, SectionedBody] = {}
        self._names: dict[str, str] = {}

    def body(self, code: str) -> SectionedBody:
        """Return a part as it will be when it was printed."""
        if code not in self._bodies:
            printer, part = self.order.report.project.print, self.items[code].part
            changes = PrinterChanges(printer.hole_mm, part.contour_mm, part.scale)
            self._bodies[code] = read_body(self._solids[code], changes)
        return self._bodies[code]

    def name(self, instance: str) -> str:
        """Return the name of a copy that was placed; of anything else its own."""
        return self._names.get(instance, instance)

    def placed(self, placements: Iterable[Placement], follows: str, frame: str) -> Iterator[PlacedBody]:
        """Yield the copies of parts that were read back; follows: as in `PlacedBody`."""
        for one in placements:
            for code, instance in self._pieces(one):
                kind = self.items[code].part.kind
                self._names[instance] = copy_name(instance, kind)
                yield PlacedBody(
                    name=self._names[instance],
                    code=code,
                    body=body_at(one, self.body(code)),
                    bottom_mm=one.bottom_mm,
                    course=one.course,
                    follows=follows,
                    lane=self.items[code].part.lane_id or "",
                    frame=frame,
                    rank=RANKS.index(kind),
                )

    def _pieces(self, placement: Placement) -> Iterator[tuple[str, str]]:
        """Yield code and name of what is placed: the part, or the pieces of it, which have its frame."""
        if placement.code in self.items:
            yield placement.code, placement.instance
            return
        for number in range(1, MOST_PIECES + 1):
            code = f"{placement.code}-{number}"
            if code not in self.items:
                return
            yield code, f"{placement.instance}, piece {number}"


def copy_name(instance: str, kind: str) -> str:
    """Return the name of a copy of a part of a kind: "A1 disc", "B2 lever" of B2-L, "hub of Main shaft"."""
    lane, _, rest = instance.partition("-")
    if rest[:1] in ("L", "S", "K"):
        return f"{lane} {kind}{rest[1:]}"
    return instance if kind in instance.casefold() else f"{instance} {kind}"


class _StackBodies:
    """The bodies of one stack, with what is bought for it and the followers beside it."""

    def __init__(self, parts: _ReadParts, stack: Stack, others: OtherParts) -> None:
        project = parts.order.report.project
        self.stack, self.project, self._parts = stack, project, parts
        self._place = others.places.get(stack.id, StackPlace())
        self._frame = others.frame_of(project, stack.id)
        self.contacts: dict[frozenset[str], PairContact] = {}
        self.rollers: list[RollingTask] = []
        self._plan = stack_plan(project, stack)
        places = (self._lifted(one) for one in stack_placements(project, stack, self._place.at))
        self.layers = list(parts.placed(places, stack.id, self._frame))
        self.bodies = [*self.layers, *self._bought()]
        for lane in parts.order.report.solution.lanes.values():
            if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
                self._add_follower(lane)

    def _lifted(self, one: Placement) -> Placement:
        return replace(one, bottom_mm=one.bottom_mm + self._place.bottom_mm)

    def _bought(self) -> Iterator[PlacedBody]:
        """Yield the rod and the pins, on which all layers slide."""
        stack, suffix = self.stack, "" if len(self.project.stacks) == 1 else f" of {self.stack.label}"
        height = self._plan.height_mm
        area = outline_area(bore_path(_rod_section(stack), 0.0).flattened(PLAIN_MM))
        is_round = _rod_section(stack).shape == "round"
        bought = [(f"rod{suffix}", prism(area, *self._rod_mm(height), is_round=is_round))]
        for number, path in enumerate(pin_paths(stack.pins, 0.0) if stack.pins else (), start=1):
            pin = prism(outline_area(path.flattened(PLAIN_MM)), 0.0, height)
            bought.append((f"pin {number}{suffix}", pin))
        course = stack_course(self.project, stack, self._place.at)
        for name, body in bought:
            for layer in self.layers:
                self.contacts[frozenset((name, layer.name))] = PairContact("sliding")
            yield self._plain(name, body, 0.0, course)

    def _rod_mm(self, height_mm: float) -> tuple[float, float]:
        """Return where the rod begins and ends from the bottom of the stack, mm."""
        place, rod = self._place, self.stack.rod
        if place.rod_mm is not None:
            return place.rod_mm[0] - place.bottom_mm, place.rod_mm[1] - place.bottom_mm
        return (-rod.below_mm, height_mm + rod.above_mm) if rod else (0.0, height_mm)

    def _plain(
        self, name: str, body: SectionedBody, bottom_mm: float, course: Course, lane: str = ""
    ) -> PlacedBody:
        rank, bottom = -1 if lane else len(RANKS), bottom_mm + self._place.bottom_mm
        return PlacedBody(name, "", body, bottom, course, self.stack.id, lane, self._frame, rank)

    def _add_follower(self, lane: LaneSolution) -> None:
        """Add a lane's roller or flat face, and that it runs on its disc, if that was read back."""
        host = lane.lane.disc_of or lane.lane.id
        disc = next((body for body in self.layers if body.lane == host), None)
        if disc is None:
            return
        made = follower_body(self.project, lane, self._plan.disc(host), self._place.at)
        follower = self._plain(made.name, made.body, made.bottom_mm, made.course, lane.lane.id)
        self.bodies.append(follower)
        self.contacts[frozenset((follower.name, disc.name))] = PairContact("rolling")
        part = self._parts.items[disc.code].part
        self.rollers.append(rolling_task(self.project, lane, follower, disc, part))


def _rod_section(stack: Stack) -> Bore:
    """Return the section of a stack's rod as a bore of its size: its own, or that of the bore."""
    rod, bore = stack.rod, stack.bore
    if rod is None:
        return bore
    flat = rod.flat_in(bore) if rod.shape_in(bore) == "d" else None
    return Bore(shape=rod.shape_in(bore), across_mm=rod.across_mm, flat_mm=flat)
