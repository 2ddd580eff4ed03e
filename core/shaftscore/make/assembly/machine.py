"""The assembly of an export: its parts, read back, in the places that the manual gives them, and what is bought.

Discs and spacers are on their shaft at the heights of the stack's plan with their zero marks aligned, and turn
with it. A rod, pins and the roller (or flat face) of every lane are modelled as plain bodies in their nominal
sizes; a follower is where its lane's program puts it. Stacks whose places against one another are not known
are proved by themselves.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.kinematics.followers import lift_of
from shaftscore.make.assembly.body import PrinterChanges, SectionedBody, outline_area, prism, read_body
from shaftscore.make.assembly.contacts import FREE, PairContact
from shaftscore.make.assembly.placed import BodyPose, PlacedBody, Reals, at_rest, turning
from shaftscore.make.assembly.rolling import RollingTask
from shaftscore.make.files.order import MakeOrder, OrderedPart
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.model import Bore, Project, Stack, TranslatingFlat
from shaftscore.solution import LaneSolution
from shaftscore.stack import bore_path, pin_paths, stack_plan, turn_sign
from shaftscore.stack.followers import contact_width_mm, roller_band
from shaftscore.stack.paths import circle
from shaftscore.stack.plan import Layer

PLAIN_MM = 5e-5
"""Chord error of plain bodies: far less than what is judged."""

FACE_MM = 3.0
"""Depth to which a flat face is modelled."""

KNIFE_MM = 0.05
"""Radius of the plain body of a knife edge."""

IN_AIR_MM = 1e-3
"""A follower that is farther than this over the edge is in the air."""

Solids = Mapping[str, SolidPart]
"""Parts read back from files that a printer reads, by code."""


@dataclass(frozen=True, eq=False)
class MachineAssembly:
    """Everything that is put together.

    bodies: in their places. contacts: of pairs that do not just pass one another, by both names. rollers: the
    followers with their discs. ends_deg: ends of the states of each lane, by id, angles of the master shaft (n,).
    """

    bodies: tuple[PlacedBody, ...]
    contacts: Mapping[frozenset[str], PairContact]
    rollers: tuple[RollingTask, ...]
    ends_deg: Mapping[str, Reals]

    def contact(self, first: PlacedBody, second: PlacedBody) -> PairContact:
        """Return how two bodies meet."""
        return self.contacts.get(frozenset((first.name, second.name)), FREE)


def machine_assembly(order: MakeOrder, solids: Solids) -> MachineAssembly:
    """Put the parts of an order together, as far as they were read back; raises RimError for unsound ones."""
    project = order.report.project
    found = [_StackParts(order, stack, solids) for stack in project.stacks if project.discs_of(stack)]
    lanes = order.report.solution.lanes.values()
    return MachineAssembly(
        bodies=tuple(body for one in found for body in one.bodies),
        contacts={pair: contact for one in found for pair, contact in one.contacts.items()},
        rollers=tuple(task for one in found for task in one.rollers),
        ends_deg={lane.lane.id: _ends(lane) for lane in lanes},
    )


def _ends(lane: LaneSolution) -> Reals:
    """Return the ends of all states of a lane, (n,) degrees of the master shaft."""
    found = [interval.span for level in lane.states.values() for interval in level]
    return np.array(sorted({end for span in found for end in (span.start, span.end)}), np.float64)


class _StackParts:
    """The bodies of one stack, with what is bought for it and the followers beside it."""

    def __init__(self, order: MakeOrder, stack: Stack, solids: Solids) -> None:
        self.project, self.stack = order.report.project, stack
        self.plan = stack_plan(self.project, stack)
        self.turns = stack.turns * turn_sign(self.project, stack)
        self.contacts: dict[frozenset[str], PairContact] = {}
        self.rollers: list[RollingTask] = []
        items = {item.part.lane_id: item for item in order.of_stack(stack.id)}
        self._parts = {
            lane: (item, _read(item, solids)) for lane, item in items.items() if item.part.code in solids
        }
        self.layers = list(self._layers())
        self.bodies = [*self.layers, *self._bought()]
        for lane in order.report.solution.lanes.values():
            if lane.stack == stack.id and lane.profile is not None and lane.motion is not None:
                self._add_follower(lane)

    def _layers(self) -> Iterator[PlacedBody]:
        """Yield discs and spacers, bottom to top."""
        above = [*self.plan.layers[1:], None]
        for layer, following in zip(self.plan.layers, above, strict=True):
            if layer.lane_id in self._parts:
                item, body = self._parts[layer.lane_id]
                name = f"{item.part.code} disc" if layer.lane_id else self._spacer_name(following)
                yield self._on_shaft(name, item.part.code, body, layer.bottom_mm, layer.lane_id or "")

    def _spacer_name(self, above: Layer | None) -> str:
        code = self.project.lane(above.lane_id).code if above and above.lane_id else None
        return f"spacer under {code or self.stack.label}"

    def _on_shaft(
        self, name: str, code: str, body: SectionedBody, bottom_mm: float, lane: str = ""
    ) -> PlacedBody:
        pose = turning(self.turns)
        return PlacedBody(name, code, body, bottom_mm, pose, self.stack.turns, lane, self.stack.id)

    def _bought(self) -> Iterator[PlacedBody]:
        """Yield the rod and the pins, on which all layers slide."""
        stack, suffix = self.stack, "" if len(self.project.stacks) == 1 else f" of {self.stack.label}"
        rod, height = stack.rod, self.plan.height_mm
        below, above = (rod.below_mm, rod.above_mm) if rod else (0.0, 0.0)
        area = outline_area(bore_path(_rod_section(stack), 0.0).flattened(PLAIN_MM))
        bought = [(f"rod{suffix}", prism(area, -below, height + above))]
        for number, path in enumerate(pin_paths(stack.pins, 0.0) if stack.pins else (), start=1):
            pin = prism(outline_area(path.flattened(PLAIN_MM)), 0.0, height)
            bought.append((f"pin {number}{suffix}", pin))
        for name, body in bought:
            for layer in self.layers:
                self.contacts[frozenset((name, layer.name))] = PairContact("sliding")
            yield self._on_shaft(name, "", body, 0.0)

    def _add_follower(self, lane: LaneSolution) -> None:
        """Add a lane's roller or flat face, and that it runs on its disc, if that was made."""
        host = lane.lane.disc_of or lane.lane.id
        if host not in self._parts:
            return
        layer = self.plan.disc(host)
        follower = _follower(self.project, lane, layer, self.stack)
        disc = next(body for body in self.layers if body.lane == host)
        self.bodies.append(follower)
        self.contacts[frozenset((follower.name, disc.name))] = PairContact("rolling")
        self.rollers.append(_task(self.project, lane, follower, disc, self._parts[host][0]))


def _rod_section(stack: Stack) -> Bore:
    """Return the section of a stack's rod as a bore of its size: its own, or that of the bore."""
    rod, bore = stack.rod, stack.bore
    if rod is None:
        return bore
    flat = rod.flat_in(bore) if rod.shape_in(bore) == "d" else None
    return Bore(shape=rod.shape_in(bore), across_mm=rod.across_mm, flat_mm=flat)


def _read(item: OrderedPart, solids: Solids) -> SectionedBody:
    """Return a part as it will be when it was printed, from what was read of it."""
    part, fits = item.part, item.fits
    changes = PrinterChanges(fits.hole_mm if fits else 0.0, part.contour_mm, part.scale)
    return read_body(solids[part.code], changes)


def _follower(project: Project, lane: LaneSolution, layer: Layer, stack: Stack) -> PlacedBody:
    """Return the roller or the flat face of a lane in its place."""
    assert lane.profile is not None
    band = roller_band(project, lane.lane, layer)
    follower, radius = lane.profile.follower, lane.profile.model.roller_radius_mm
    if isinstance(follower, TranslatingFlat):
        half = follower.face_width_mm / 2
        corners = np.array([[0.0, -half], [FACE_MM, -half], [FACE_MM, half], [0.0, half]])
    else:
        corners = circle(max(radius, KNIFE_MM)).flattened(PLAIN_MM)
    kind = "face" if isinstance(follower, TranslatingFlat) else "roller" if radius > 0 else "knife edge"
    body = prism(outline_area(corners), 0.0, band.top_mm - band.bottom_mm)
    name = f"{lane.lane.code or lane.lane.label} {kind}"
    pose = _follower_pose(lane)
    return PlacedBody(name, "", body, band.bottom_mm, pose, stack.turns, lane.lane.id, stack.id)


def _follower_pose(lane: LaneSolution) -> Callable[[Reals], BodyPose]:
    """Return where a lane's program puts the middle of its roller or face, its travel along +x of its frame."""
    profile, motion = lane.profile, lane.motion
    assert profile is not None
    assert motion is not None
    station = complex(np.exp(1j * np.radians(profile.station_deg)))

    def pose(master_deg: Reals) -> BodyPose:
        lift = lift_of(profile.follower, motion.at(lane.turns * master_deg))[0]
        at = profile.model.centre(lift)[0] * station
        return BodyPose(at, np.asarray(profile.model.travel(lift) * station))

    return pose


def _task(
    project: Project, lane: LaneSolution, follower: PlacedBody, disc: PlacedBody, item: OrderedPart
) -> RollingTask:
    profile, part = lane.profile, item.part
    assert profile is not None
    host = project.lane(lane.lane.disc_of or lane.lane.id)
    own = profile.follower
    return RollingTask(
        follower=follower,
        disc=disc,
        radius_mm=None if profile.model.is_flat else profile.model.roller_radius_mm,
        running_mm=part.running_mm,
        width_mm=contact_width_mm(project, lane.lane),
        half_face_mm=own.face_width_mm / 2 if isinstance(own, TranslatingFlat) else 0.0,
        clearance_mm=host.follower.groove_clearance_mm if part.groove is not None else None,
        turned_deg=profile.direction * profile.placement.offset_deg,
        in_air=_in_air(lane),
    )


def _in_air(lane: LaneSolution) -> Callable[[Reals], npt.NDArray[np.bool_]]:
    """Return what tells whether a follower falls behind the edge of its disc."""
    profile, motion = lane.profile, lane.motion
    assert profile is not None
    assert motion is not None

    def in_air(master_deg: Reals) -> npt.NDArray[np.bool_]:
        own = lane.turns * master_deg
        lift = lift_of(profile.follower, motion.at(own))[0]
        return np.asarray(lift - profile.at(own).lift[0] > IN_AIR_MM)

    return in_air
