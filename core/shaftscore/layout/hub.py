"""The hub at the driven end of a stack, in its own frame: what it is made of and where that is.

Own frame: axis at the origin, zero mark at +x; z = 0 is the face away from the stack. A *foot* (the driven
wheel, or a flange for bolts) is at the bottom, a *collar* with the stack's bore stands on it and ends in the
face that meets the last disc: with pegs where the disc has pockets (driven at the bottom), with pockets
where it has pegs (driven at the top; the hub is then turned over). So it is printed without overhang.

The screw is in the collar, and so is its nut: channels are square, and the nut slides in from the foot. It
is as far as it can be from dogs and pins.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from shaftscore.base.once import once
from shaftscore.base.wording import millimetres
from shaftscore.built.fasteners import Fastener, fastener
from shaftscore.built.gears import DEDENDUM, SpurWheel
from shaftscore.layout.coupled import HubWheel, hub_wheels
from shaftscore.layout.drive import WALL_MM
from shaftscore.model import Hub, Project, Stack
from shaftscore.stack import BulgePath, dog_paths, pin_paths, pocket_depth, stack_plan
from shaftscore.stack.paths import circle, polygon
from shaftscore.stack.walls import holes_reach_mm

Heights = tuple[float, float]
"""Bottom and top of a body in its part's own frame, mm."""

FLANGE_MM = 4.0
"""Thickness of a flange that is wider than the collar (common practice, no source)."""

WEB_MM, RING_GAP_MM = 3.0, 0.5
"""Floor that joins a ring to its collar, and the gap between it and the pinion."""

NECK_MM, ROOM_MM = 0.8, 0.5
"""How far teeth go on over their face where the collar would run over the tips of another wheel; the least
distance of a collar from what turns beside it."""

RIM_MODULES = 2.5
"""Least rim outside the roots of a ring, in modules (common practice, no source)."""

SLIT_MM = 1.5
"""Width of the slit of a clamping collar."""

LOOSE_MM = 0.2
"""By which pockets for nuts and heads are wider."""

STEP_DEG = 15.0
"""Steps between the directions that are tried for the screw."""


@dataclass(frozen=True)
class BoxCut:
    """An upright box that is cut out: `along` its direction between two distances from the axis of the part.

    name: for sentences. way: direction of length 1. along, across: from and to, mm. heights: bottom and top.
    """

    name: str
    way: complex
    along: tuple[float, float]
    across: tuple[float, float]
    heights: Heights

    @property
    def path(self) -> BulgePath:
        """Outline in plan view."""
        (near, far), (right, left) = self.along, self.across
        corners = ((near, right), (far, right), (far, left), (near, left))
        return polygon(tuple(self.way * complex(*corner) for corner in corners))

    def distance_mm(self, at: complex) -> float:
        """Return the distance of a point in plan view from the box, mm; 0 inside."""
        own = at / self.way
        beside = (
            max(low - value, value - high, 0.0)
            for value, (low, high) in ((own.real, self.along), (own.imag, self.across))
        )
        return math.hypot(*beside)


@dataclass(frozen=True)
class HubPlan:
    """What a hub is made of; see the module's text.

    gear: the wheel that is its foot, if any. foot_mm: height of the foot, 0 without one.
    foot_radius_mm: of a round foot (about the teeth of a ring), None where it is an external wheel.
    height_mm: of the whole. upside_down: it is turned over in the machine. cuts: for screw and nut.
    """

    stack: Stack
    hub: Hub
    gear: HubWheel | None
    foot_mm: float
    foot_radius_mm: float | None
    collar_mm: float
    height_mm: float
    upside_down: bool
    bolts: tuple[BulgePath, ...]
    cuts: tuple[BoxCut, ...]

    @property
    def reach_mm(self) -> float:
        """Largest radius of the whole, mm."""
        wheel = self.gear.wheel.tip_mm if self.gear is not None and not self.gear.wheel.internal else 0.0
        return max(self.collar_mm, self.foot_radius_mm or wheel)

    @property
    def pegs(self) -> tuple[BulgePath, ...]:
        """Outlines of its pegs: where the stack is driven at the bottom."""
        dogs = self.stack.dogs
        return () if dogs is None or self.upside_down else dog_paths(dogs, 0.0)

    @property
    def pockets(self) -> tuple[BulgePath, ...]:
        """Outlines of its pockets: where the stack is driven at the top."""
        dogs = self.stack.dogs
        if dogs is None or not self.upside_down:
            return ()
        return dog_paths(dogs, self.stack.pocket_clearance_mm)

    @property
    def peg_heights(self) -> Heights:
        """Bottom and top of the pegs, mm."""
        assert self.stack.dogs is not None, "there are no pegs without dogs"
        return self.height_mm, self.height_mm + self.stack.dogs.height_mm

    @property
    def pocket_heights(self) -> Heights:
        """Bottom and top of the pockets, mm."""
        return self.height_mm - pocket_depth(self.stack), self.height_mm


def hub_plan(project: Project, stack: Stack) -> HubPlan:
    """Return the plan of a stack's hub; raises ValueError where it cannot be made, and says why."""
    return once(project, ("hub plan", stack), lambda: _hub_plan(project, stack))


def _hub_plan(project: Project, stack: Stack) -> HubPlan:
    wheels = hub_wheels(project)
    plan = _without_screw(stack, wheels.get(stack.id))
    _refuse_thin(plan)
    _refuse_level(project, plan, wheels)
    return _with_screw(plan)


def _without_screw(stack: Stack, gear: HubWheel | None) -> HubPlan:
    """Return the plan of a hub without the cuts for its screw; raises ValueError for one without a collar."""
    hub = stack.hub
    assert hub is not None, "a stack without a hub has no plan of one"
    screw = fastener(hub.bolt_mm)
    collar, bolt_radius = _collar_mm(stack, hub, screw), _bolt_radius_mm(hub)
    foot, radius = _foot(gear, collar, bolt_radius, screw)
    if gear is None and foot >= hub.thickness_mm:
        raise ValueError(
            f"its flange of {millimetres(foot)} leaves no collar of {millimetres(hub.thickness_mm)}"
        )
    return HubPlan(
        stack=stack,
        hub=hub,
        gear=gear,
        foot_mm=foot,
        foot_radius_mm=radius,
        collar_mm=collar,
        height_mm=hub.thickness_mm + (0.0 if gear is None else _below_collar_mm(gear, foot)),
        upside_down=stack.driven_end == "top",
        bolts=_bolts(hub, bolt_radius, screw),
        cuts=(),
    )


def _below_collar_mm(gear: HubWheel, foot_mm: float) -> float:
    """Return the height under the stated thickness of a collar, mm; a neck of teeth takes its own off it."""
    return foot_mm if gear.wheel.internal else gear.face_mm


def _collar_mm(stack: Stack, hub: Hub, screw: Fastener) -> float:
    """Return the radius of the collar, mm: that of the spacers, or what screw and nut need."""
    bore = stack.bore.outer_radius_mm + stack.fit_clearance_mm
    least = holes_reach_mm(stack) + WALL_MM
    if hub.kind == "set-screw":
        least = max(least, bore + 3 * WALL_MM + screw.nut_mm + LOOSE_MM)
    if hub.kind == "clamp":
        head = max(screw.nut_across_mm, screw.head_across_mm) + LOOSE_MM
        least = max(least, _clamp_radius_mm(stack, screw) + head / 2 + WALL_MM)
    return max(stack.spacer_radius_mm, least)


def _clamp_radius_mm(stack: Stack, screw: Fastener) -> float:
    """Return how far the clamping screw passes from the axis, mm: it and its nut clear the bore."""
    bore = stack.bore.outer_radius_mm + stack.fit_clearance_mm
    return bore + WALL_MM + max(screw.hole_mm, screw.nut_across_mm + LOOSE_MM) / 2


def _bolt_radius_mm(hub: Hub) -> float | None:
    """Return the radius of the bolt circle, mm; None without bolts."""
    return None if hub.bolt_circle_mm is None else hub.bolt_circle_mm / 2


def _foot(
    gear: HubWheel | None, collar_mm: float, bolt_radius_mm: float | None, screw: Fastener
) -> tuple[float, float | None]:
    """Return height and radius of the foot; no radius for an external wheel, no height for no foot."""
    if gear is not None:
        face, wheel = gear.face_mm, gear.wheel
        if not wheel.internal:
            return face + (NECK_MM if collar_mm + ROOM_MM > gear.room_mm else 0.0), None
        rim = max(RIM_MODULES * wheel.module_mm, 2 * WALL_MM)
        assert gear.pinion is not None, "a ring has a pinion"
        return face + RING_GAP_MM + WEB_MM, ring_root_mm(wheel, gear.pinion) + rim
    if bolt_radius_mm is None:
        return 0.0, collar_mm
    needed = bolt_radius_mm + screw.hole_mm / 2 + WALL_MM
    return (0.0, collar_mm) if needed <= collar_mm else (FLANGE_MM, needed)


def ring_root_mm(ring: SpurWheel, pinion: SpurWheel) -> float:
    """Return a radius that no root of a ring goes beyond, mm: how far the tool of the basic rack goes in."""
    return ring.reference_mm + (DEDENDUM + max(ring.shift, pinion.shift)) * ring.module_mm


def _bolts(hub: Hub, radius_mm: float | None, screw: Fastener) -> tuple[BulgePath, ...]:
    """Return the holes for bolts, between the zero mark and half a step on."""
    if radius_mm is None:
        return ()
    places = (cmath.exp(2j * math.pi * (place + 0.5) / hub.bolts) for place in range(hub.bolts))
    return tuple(circle(screw.hole_mm / 2, radius_mm * place) for place in places)


def _refuse_thin(plan: HubPlan) -> None:
    """Raise ValueError where teeth, bolts or bore leave too little material."""
    reach, screw = holes_reach_mm(plan.stack), fastener(plan.hub.bolt_mm)
    bolt_radius_mm = _bolt_radius_mm(plan.hub)
    if plan.gear is not None and plan.foot_radius_mm is None:
        _refuse_wall("wall between its bore and its teeth", plan.gear.wheel.root_mm - reach)
    if bolt_radius_mm is None:
        return
    if plan.gear is not None:
        wheel = plan.gear.wheel
        edge = wheel.tip_mm if wheel.internal else wheel.root_mm
        _refuse_wall("wall between its bolts and its teeth", edge - bolt_radius_mm - screw.hole_mm / 2)
    _refuse_wall("wall between its bore and its bolts", bolt_radius_mm - screw.hole_mm / 2 - reach)
    around = 2 * bolt_radius_mm * math.sin(math.pi / plan.hub.bolts) if plan.hub.bolts > 1 else math.inf
    _refuse_wall("wall between its bolts", around - screw.hole_mm)


def _refuse_level(project: Project, plan: HubPlan, wheels: Mapping[str, HubWheel]) -> None:
    """Raise ValueError where a wheel is not level with the one of the stack that drives it."""
    if plan.gear is None or not plan.gear.mate:
        return
    driver = next(stack for stack in project.stacks if stack.id == plan.gear.mate)
    if driver.driven_end != plan.stack.driven_end:
        raise ValueError(f"it is at the other end than the wheel of {driver.label}, which drives it")
    driving = _without_screw(driver, wheels[driver.id])
    apart = outer_face_mm(project, plan) - outer_face_mm(project, driving)
    apart += _raised_mm(project, plan.stack) - _raised_mm(project, driver)
    _refuse_collars(plan, driving)
    if abs(apart) > LEVEL_MM:
        way = "higher" if apart > 0 else "lower"
        raise ValueError(f"its wheel is {millimetres(abs(apart))} {way} than that of {driver.label}")


def _refuse_collars(plan: HubPlan, driving: HubPlan) -> None:
    """Raise ValueError where the collars of two hubs in mesh would meet."""
    assert plan.gear is not None, "a wheel in mesh"
    missing = plan.collar_mm + driving.collar_mm + ROOM_MM - plan.gear.centre_mm
    if missing > 0:
        told = f"its collar and that of {driving.stack.label} are {millimetres(missing)} too near"
        raise ValueError(f"{told}; more teeth or module")


def _raised_mm(project: Project, stack: Stack) -> float:
    """Return the height of a stack's bottom face over its lower bearing, mm; 0 without a frame."""
    return 0.0 if project.frame is None or stack.rod is None else stack.rod.below_mm


def outer_face_mm(project: Project, plan: HubPlan) -> float:
    """Return the height of a hub's face away from its stack, mm, from the stack's bottom face."""
    if plan.upside_down:
        return stack_plan(project, plan.stack).height_mm + plan.height_mm
    return -plan.height_mm


LEVEL_MM = 0.5
"""By which two wheels in mesh may be at different heights."""


def _refuse_wall(what: str, left_mm: float) -> None:
    if left_mm < WALL_MM:
        raise ValueError(f"the {what} is {millimetres(left_mm)}; at least {millimetres(WALL_MM)} required")


@lru_cache(maxsize=64)  # many directions are tried, and all that is near the hub asks for its plan
def _with_screw(plan: HubPlan) -> HubPlan:
    """Return the plan with the cuts for its screw, where they are farthest from dogs, pins and bolts.

    Raises ValueError where there is no room for them.
    """
    if plan.hub.kind == "bolted":
        return plan
    screw = fastener(plan.hub.bolt_mm)
    tall = plan.height_mm - plan.foot_mm if plan.gear is not None else plan.hub.thickness_mm
    needed = screw.nut_corner_mm + 2 * LOOSE_MM + 2 * WALL_MM
    if tall < needed:
        what = f"its collar is {millimetres(tall)} high"
        raise ValueError(f"{what}; its screw needs at least {millimetres(needed)}")
    make = _set_screw if plan.hub.kind == "set-screw" else _clamp
    turns = [180.0 + sign * STEP_DEG * step for step in range(12) for sign in (1, -1)]
    tried = [make(plan, screw, cmath.exp(1j * math.radians(turn))) for turn in turns]
    best = max(tried, key=lambda cuts: round(_room_mm(plan, cuts), 6))
    if _room_mm(plan, best) < WALL_MM / 2:
        raise ValueError("there is no room for its screw between dogs, pins and bolts")
    return replace(plan, cuts=best)


def _set_screw(plan: HubPlan, screw: Fastener, way: complex) -> tuple[BoxCut, ...]:
    """Return the channel of a set screw towards the axis, and the pocket of its nut."""
    middle = (plan.height_mm + plan.foot_mm) / 2
    half, wide = screw.hole_mm / 2, (screw.nut_across_mm + LOOSE_MM) / 2
    bore = plan.stack.bore.outer_radius_mm + plan.stack.fit_clearance_mm
    nut = bore + 1.5 * WALL_MM
    top = middle + screw.nut_corner_mm / 2 + LOOSE_MM
    return (
        BoxCut(
            "screw channel", way, (0.0, plan.collar_mm + 1), (-half, half), (middle - half, middle + half)
        ),
        BoxCut("nut pocket", way, (nut, nut + screw.nut_mm + LOOSE_MM), (-wide, wide), (0.0, top)),
    )


def _clamp(plan: HubPlan, screw: Fastener, way: complex) -> tuple[BoxCut, ...]:
    """Return the slit of a clamping collar, the channel of its screw across it, and nut and head pockets."""
    middle, at = (plan.height_mm + plan.foot_mm) / 2, _clamp_radius_mm(plan.stack, screw)
    half, reach = screw.hole_mm / 2, plan.collar_mm + 1
    nut, head = (screw.nut_across_mm + LOOSE_MM) / 2, (screw.head_across_mm + LOOSE_MM) / 2
    off = SLIT_MM / 2 + 2 * WALL_MM
    top = middle + screw.nut_corner_mm / 2 + LOOSE_MM
    across = way * 1j
    slit = (-SLIT_MM / 2, SLIT_MM / 2)
    # the channel runs across the slit: its own direction is `across`, its sides are distances along `way`
    return (
        BoxCut("slit", way, (0.0, reach), slit, (plan.foot_mm, plan.height_mm + 1)),
        BoxCut(
            "screw channel", across, (-reach, reach), (-at - half, -at + half), (middle - half, middle + half)
        ),
        BoxCut(
            "nut pocket", across, (off, off + screw.nut_mm + LOOSE_MM), (-at - nut, -at + nut), (0.0, top)
        ),
        BoxCut(
            "head pocket", across, (-reach, -off), (-at - head, -at + head), (middle - head, middle + head)
        ),
    )


def _room_mm(plan: HubPlan, cuts: tuple[BoxCut, ...]) -> float:
    """Return the least distance of cuts from what else is cut or stands in the collar, mm."""
    return min(
        (cut.distance_mm(at) - radius for at, radius in _obstacles(plan) for cut in cuts), default=math.inf
    )


def _obstacles(plan: HubPlan) -> list[tuple[complex, float]]:
    """Return circles (middle, radius mm) about pins, dogs and bolts."""
    stack = plan.stack
    paths = [*plan.bolts, *plan.pegs, *plan.pockets]
    if stack.pins is not None:
        paths += pin_paths(stack.pins, stack.pins.clearance_mm)
    return [_around(path) for path in paths]


def _around(path: BulgePath) -> tuple[complex, float]:
    """Return a circle about a peg, pocket or hole: middle and radius, mm."""
    middle = sum(path.vertices) / len(path.vertices)
    return middle, path.shifted(-middle).largest_radius
