"""The parts of followers, of the drive train and of the frame, from the layout, with what is bought for them.

A follower's roller turns on a screw or pin: its shank is modelled beside the roller, and its head on the free
side. Levers turn about rods, plates are held apart by rods in their sleeves, shafts run in bearings, all in
their nominal sizes. Teeth of wheels that follow one another in the train mesh.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from shaftscore.layout import Placement, PlanPose, standing
from shaftscore.layout.coupled import hub_wheel
from shaftscore.layout.drive import AXLE_MM, placed_stages
from shaftscore.layout.follower_bars import axle_mm
from shaftscore.layout.followers import FollowerLayout, FollowerLayoutError, machine_follower
from shaftscore.layout.frame_places import frame_placements
from shaftscore.layout.frame_plan import SPRING_ROD_MM, FramePlan
from shaftscore.layout.pivots import lever_seats
from shaftscore.layout.train import hub_placement, train_placements
from shaftscore.make.assembly.body import outline_area, prism
from shaftscore.make.assembly.contacts import PairContact
from shaftscore.make.assembly.meeting import Reals
from shaftscore.make.assembly.others import BoughtBody, OtherParts, PartGroup, StackPlace
from shaftscore.make.assembly.stepping import step_groups, stepped_places
from shaftscore.make.files.order import MakeOrder
from shaftscore.model import Project, Stack
from shaftscore.solution import LaneSolution
from shaftscore.stack.paths import circle

ROUND_MM = 5e-4
"""Chord error of bought round bodies."""


def other_parts(order: MakeOrder) -> OtherParts:
    """Return where the parts of followers, train and frame of an order are.

    What cannot be laid out is left out.
    """
    project, frame = order.report.project, order.frame
    places = {}
    if frame is not None:
        places = {one.stack.id: StackPlace(one.at, one.bottom_mm, one.rod_mm) for one in frame.shafts}
    else:
        places = stepped_places(project)
    groups = [*_followers(order, places), *_train(project, places), *_hubs(project, places)]
    groups += step_groups(project, places)
    return OtherParts((*groups, *([] if frame is None else _frame(project, frame))), places)


def _round(radius_mm: float, inner_mm: float = 0.0) -> Any:
    """Return the area of a circle or a ring, of shapely."""
    area = outline_area(circle(radius_mm).flattened(ROUND_MM))
    return area.difference(outline_area(circle(inner_mm).flattened(ROUND_MM))) if inner_mm else area


def _followers(order: MakeOrder, places: dict[str, StackPlace]) -> Iterator[PartGroup]:
    seats = lever_seats(order.report.solution)
    for lane in order.report.solution.lanes.values():
        place = places.get(lane.stack, StackPlace())
        try:
            layout = machine_follower(order.report.solution, lane, seats, place.at)
        except FollowerLayoutError:  # its parts are not made, and the export says why
            continue
        if layout is not None:
            yield _follower(lane, layout, place, order.frame)


def _follower(
    lane: LaneSolution, layout: FollowerLayout, place: StackPlace, frame: FramePlan | None
) -> PartGroup:
    """Return the made parts of a follower with its axle and the rods of its pivots, lifted to its stack."""
    up = place.bottom_mm
    made = [_lifted(one, up) for one in layout.placements()]
    axle = list(_axle(lane, layout, up))
    rods = list(_pivot_rods(lane, layout, place, frame))
    sliding = PairContact("sliding")
    contacts = {frozenset((one.name, part.instance)): sliding for one in (*axle, *rods) for part in made}
    return PartGroup(made, (*axle, *rods), contacts, lane.stack, lane.lane.id, lane.stack)


def _lifted(one: Placement, by_mm: float) -> Placement:
    return Placement(one.code, one.instance, one.body, one.bottom_mm + by_mm, one.course, one.upside_down)


def _axle(lane: LaneSolution, layout: FollowerLayout, up_mm: float) -> Iterator[BoughtBody]:
    """Yield the shank and the head of the screw or pin on which a roller turns."""
    bands, code = layout.bands, lane.lane.code or lane.lane.label
    if bands.screw is None:
        return
    shank = axle_mm(layout)
    carrier = next(layout.placements()).course  # of the lever or the slide, in which it is fixed

    def course(master_deg: Reals) -> PlanPose:
        """Return the pose at angles of the master shaft, degrees."""
        return PlanPose(layout.points(master_deg).roller, carrier(master_deg).turn)

    for low, high, name in (
        (bands.screw.bottom_mm, bands.roller.bottom_mm, "lower"),
        (bands.roller.top_mm, bands.screw.top_mm, "upper"),
    ):
        has_lever = any(low < lever.top_mm and high > lever.bottom_mm for lever in bands.levers)
        radius = shank / 2 if has_lever else bands.screw_radius_mm
        if high > low:
            yield BoughtBody(
                f"{code} {name} end of the axle",
                prism(_round(radius), low, high, is_round=True),
                up_mm,
                course,
            )


def _pivot_rods(
    lane: LaneSolution, layout: FollowerLayout, place: StackPlace, frame: FramePlan | None
) -> Iterator[BoughtBody]:
    """Yield the rods of a lever's pivots, from the floor that brackets stand on to the top of the lever.

    A rod that several levers share and both plates hold is yielded with the lowest of them.
    """
    code, area = lane.lane.code or lane.lane.label, _round(layout.parts.pivot_rod_mm / 2)
    pivots = [at for at in (layout.pivot, layout.guide_pivot) if at is not None]
    own = (layout.floor_mm, layout.bands.levers[-1].top_mm)
    for number, at in enumerate(pivots, start=1):
        ends, is_shared = own, number == 1 and layout.rod_in_frame and frame is not None
        if is_shared and frame is not None:
            low, high = frame.plates["bottom"][0], frame.plates["top"][1]
            ends = (low - place.bottom_mm, high - place.bottom_mm)
        if not (is_shared and layout.is_sleeve):
            name = f"{code} pivot rod" + (f" {number}" if len(pivots) > 1 else "")
            yield BoughtBody(name, prism(area, *ends, is_round=True), place.bottom_mm, standing(at))


def _train(project: Project, places: dict[str, StackPlace]) -> Iterator[PartGroup]:
    """Yield the hub of the first stack and all pinions; each meshes with the one before it."""
    first = project.stacks[0]
    try:
        parts = list(train_placements(project, places.get(first.id, StackPlace()).at))
    except ValueError:  # they are not made, and the export says why
        return
    meshing = PairContact("meshing")
    contacts = {frozenset((one.instance, two.instance)): meshing for one, two in pairwise(parts)}
    yield PartGroup(parts, (), contacts, first.id, "", first.id)


def _hubs(project: Project, places: dict[str, StackPlace]) -> Iterator[PartGroup]:
    """Yield the hubs of all stacks but the first."""
    for stack in project.stacks[1:]:
        if stack.hub is not None and project.discs_of(stack):
            place = places.get(stack.id, StackPlace())
            try:
                hub = hub_placement(project, stack, place.at)
            except ValueError:  # it is not made, and the export says why
                continue
            contacts = _geared(project, stack, hub)
            yield PartGroup([_lifted(hub, place.bottom_mm)], (), contacts, stack.id, "", stack.id)


def _geared(project: Project, stack: Stack, hub: Placement) -> dict[frozenset[str], PairContact]:
    """Return how a hub meets the one that drives it, where it is geared to one."""
    wheel = hub_wheel(project, stack)
    if wheel is None or not wheel.mate:
        return {}
    driver = next(one for one in project.stacks if one.id == wheel.mate)
    other = hub_placement(project, driver).instance
    return {frozenset((hub.instance, other)): PairContact("meshing")}


def _frame(project: Project, frame: FramePlan) -> Iterator[PartGroup]:
    """Yield plates and pillars with their rods, bearings and axles, and the knob, which turns."""
    low, high = frame.plates["bottom"][0], frame.plates["top"][1]
    placed = list(frame_placements(project, frame))
    rod = prism(_round(frame.frame.pillar_mm / 2), low, high, is_round=True)
    pillars = [hole for hole in frame.holes if hole.is_pillar]
    rods = [BoughtBody(f"rod of pillar {hole.name}", rod, 0.0, standing(hole.at)) for hole in pillars]
    rods += _spring_rods(frame)
    still = [one for one in placed if one.body == "frame"]
    yield PartGroup(still, [*rods, *_bearings(frame), *_axles(project, frame)])
    turning = [one for one in placed if one.body != "frame"]
    yield PartGroup(turning, (), {}, frame.shafts[0].stack.id)


def _spring_rods(frame: FramePlan) -> Iterator[BoughtBody]:
    """Yield the rods that springs hook on, through both plates."""
    body = prism(_round(SPRING_ROD_MM / 2), frame.plates["bottom"][0], frame.plates["top"][1], is_round=True)
    for rod in frame.springs:
        yield BoughtBody(f"spring rod {rod.name}", body, 0.0, standing(rod.at))


def _axles(project: Project, frame: FramePlan) -> Iterator[BoughtBody]:
    """Yield the axles of wheels between the motor and the first stack, through both plates."""
    axle = prism(_round(AXLE_MM / 2), frame.plates["bottom"][0], frame.plates["top"][1], is_round=True)
    for stage in placed_stages(project)[:-1]:
        at = frame.shafts[0].at + stage.driver_at
        yield BoughtBody(f"axle of the pinion of stage {stage.spur.number}", axle, 0.0, standing(at))


def _bearings(frame: FramePlan) -> Iterator[BoughtBody]:
    for shaft in frame.shafts:
        if shaft.bearing is not None:
            size = shaft.bearing[1]
            area, half = _round(size.outer_mm / 2, size.bore_mm / 2), size.width_mm / 2
            ring = prism(area, -half, half, is_round=True)
            for name, middle in (("lower", shaft.lower_mm), ("upper", shaft.upper_mm)):
                yield BoughtBody(f"{name} bearing of {shaft.stack.label}", ring, middle, standing(shaft.at))
