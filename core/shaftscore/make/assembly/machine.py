"""The assembly of an export: its parts, read back, where the layout puts them, and what is bought.

Discs and spacers are on their shaft at the heights of the stack's plan with their zero marks aligned, and
turn with it; other parts are where their placements say. A rod, pins and the roller (or flat face) of every
lane are modelled as plain bodies in their nominal sizes; a follower is where its lane's program puts it.
Stacks whose places against one another are not known are proved by themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from shaftscore.layout import Course, Placement, stack_placements, turning
from shaftscore.make.assembly.body import PrinterChanges, SectionedBody, outline_area, prism, read_body
from shaftscore.make.assembly.contacts import FREE, PairContact
from shaftscore.make.assembly.follower import follower_body, rolling_task
from shaftscore.make.assembly.meeting import Reals
from shaftscore.make.assembly.placed import PlacedBody, body_at
from shaftscore.make.assembly.rolling import RollingTask
from shaftscore.make.files.order import MakeOrder, OrderedPart
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.model import Bore, Stack
from shaftscore.solution import LaneSolution
from shaftscore.stack import bore_path, pin_paths, stack_plan, turn_sign

PLAIN_MM = 5e-5
"""Chord error of plain bodies: far less than what is judged."""

RANKS = ("lever", "slide", "bracket", "knob", "pinion", "hub", "disc", "spacer", "plate", "pillar")
"""Kinds of parts in the order in which a sentence names two that meet: what moves most comes first."""

Contacts = Mapping[frozenset[str], PairContact]
"""How pairs meet, by the names of both."""


@dataclass(frozen=True, eq=False)
class MachineAssembly:
    """Everything that is put together.

    bodies: in their places. contacts: of pairs that do not just pass one another. rollers: the followers with
    their discs. ends_deg: ends of the states of each lane, by id, angles of the master shaft (n,).
    """

    bodies: tuple[PlacedBody, ...]
    contacts: Contacts
    rollers: tuple[RollingTask, ...]
    ends_deg: Mapping[str, Reals]

    def contact(self, first: PlacedBody, second: PlacedBody) -> PairContact:
        """Return how two bodies meet."""
        return self.contacts.get(frozenset((first.name, second.name)), FREE)


@dataclass(frozen=True, eq=False)
class OtherParts:
    """Parts beside discs and spacers: where they are, how pairs of them meet, and where the shafts are.

    axes: where the axis of each stack is in plan, mm, by id; without it stacks are proved by themselves.
    """

    placements: Sequence[Placement] = ()
    contacts: Contacts = field(default_factory=dict)
    axes: Mapping[str, complex] = field(default_factory=dict)


def machine_assembly(
    order: MakeOrder, solids: Mapping[str, SolidPart], others: OtherParts | None = None
) -> MachineAssembly:
    """Put the parts of an order together, as far as they were read back; raises RimError for unsound ones.

    solids: bodies read back from files for a printer, by code.
    """
    others = others or OtherParts()
    parts = _ReadParts(order, solids)
    project = order.report.project
    stacks = [_StackBodies(parts, stack, others) for stack in project.stacks if project.discs_of(stack)]
    placed = tuple(parts.placed(others.placements, 0, ""))
    return MachineAssembly(
        bodies=(*(body for one in stacks for body in one.bodies), *placed),
        contacts={**{pair: met for one in stacks for pair, met in one.contacts.items()}, **others.contacts},
        rollers=tuple(task for one in stacks for task in one.rollers),
        ends_deg={id_: _ends(lane) for id_, lane in order.report.solution.lanes.items()},
    )


def _ends(lane: LaneSolution) -> Reals:
    """Return the ends of all states of a lane, (n,) degrees of the master shaft."""
    found = [interval.span for level in lane.states.values() for interval in level]
    return np.array(sorted({end for span in found for end in (span.start, span.end)}), np.float64)


class _ReadParts:
    """The parts of an order that were read back, each cut once however many copies there are."""

    def __init__(self, order: MakeOrder, solids: Mapping[str, SolidPart]) -> None:
        self.order = order
        self.items = {item.part.code: item for item in order.items if item.part.code in solids}
        self._solids = solids
        self._bodies: dict[str, SectionedBody] = {}

    def body(self, code: str) -> SectionedBody:
        """Return a part as it will be when it was printed."""
        if code not in self._bodies:
            printer, part = self.order.report.project.print, self.items[code].part
            changes = PrinterChanges(printer.hole_mm, part.contour_mm, part.scale)
            self._bodies[code] = read_body(self._solids[code], changes)
        return self._bodies[code]

    def placed(self, placements: Iterable[Placement], turns: int, frame: str) -> Iterator[PlacedBody]:
        """Yield the copies of parts that were read back; turns: by which their motion repeats in a cycle."""
        for one in placements:
            if one.code in self.items:
                yield PlacedBody(
                    name=_name(self.items[one.code], one.instance),
                    code=one.code,
                    body=body_at(one, self.body(one.code)),
                    bottom_mm=one.bottom_mm,
                    course=one.course,
                    turns=turns,
                    lane=self.items[one.code].part.lane_id or "",
                    frame=frame,
                    rank=RANKS.index(self.items[one.code].part.kind),
                )


def _name(item: OrderedPart, instance: str) -> str:
    """Return the name of a copy with its kind."""
    kind = item.part.kind
    return instance if kind in instance.casefold() else f"{instance} {kind}"


class _StackBodies:
    """The bodies of one stack, with what is bought for it and the followers beside it."""

    def __init__(self, parts: _ReadParts, stack: Stack, others: OtherParts) -> None:
        project = parts.order.report.project
        self.stack, self.project, self._parts = stack, project, parts
        self._at = others.axes.get(stack.id, 0j)
        self._frame = "" if stack.id in others.axes or len(project.stacks) == 1 else stack.id
        self.contacts: dict[frozenset[str], PairContact] = {}
        self.rollers: list[RollingTask] = []
        places = stack_placements(project, stack, self._at)
        self.layers = list(parts.placed(places, stack.turns, self._frame))
        self.bodies = [*self.layers, *self._bought()]
        for lane in parts.order.report.solution.lanes.values():
            if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
                self._add_follower(lane)

    def _bought(self) -> Iterator[PlacedBody]:
        """Yield the rod and the pins, on which all layers slide."""
        stack, suffix = self.stack, "" if len(self.project.stacks) == 1 else f" of {self.stack.label}"
        rod, height = stack.rod, stack_plan(self.project, stack).height_mm
        below, above = (rod.below_mm, rod.above_mm) if rod else (0.0, 0.0)
        area = outline_area(bore_path(_rod_section(stack), 0.0).flattened(PLAIN_MM))
        bought = [(f"rod{suffix}", prism(area, -below, height + above))]
        for number, path in enumerate(pin_paths(stack.pins, 0.0) if stack.pins else (), start=1):
            pin = prism(outline_area(path.flattened(PLAIN_MM)), 0.0, height)
            bought.append((f"pin {number}{suffix}", pin))
        course = turning(stack.turns * turn_sign(self.project, stack), self._at)
        for name, body in bought:
            for layer in self.layers:
                self.contacts[frozenset((name, layer.name))] = PairContact("sliding")
            yield self._plain(name, body, 0.0, course)

    def _plain(
        self, name: str, body: SectionedBody, bottom_mm: float, course: Course, lane: str = ""
    ) -> PlacedBody:
        rank = -1 if lane else len(RANKS)
        return PlacedBody(name, "", body, bottom_mm, course, self.stack.turns, lane, self._frame, rank)

    def _add_follower(self, lane: LaneSolution) -> None:
        """Add a lane's roller or flat face, and that it runs on its disc, if that was read back."""
        host = lane.lane.disc_of or lane.lane.id
        disc = next((body for body in self.layers if body.lane == host), None)
        if disc is None:
            return
        made = follower_body(self.project, self.stack, lane, self._at)
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
