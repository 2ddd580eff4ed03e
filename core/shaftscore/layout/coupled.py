"""The wheels on hubs, and how a stack that turns with another one is geared to it.

The first stack's wheel is the driven one of the train's last stage where that is a spur stage with a module;
else it has the teeth and the module that its hub gives. A further stack whose hub gives teeth meshes with the
nearest stack before it that has a wheel and turns the other way. Its axis then follows from the records: the
centre distance from the teeth, with the backlash of the drive, and the direction that is farthest from the
stations of both stacks and from the pinion.

Angles are in plan view, seen from the top, while the zero marks are on the reference line. The *marked gap*
of the driving wheel is the one nearest to the line of centres; the *marked tooth* of the driven wheel points
into it. Where the phase of a wheel is its pinion's, both can be off that line by up to half a pitch.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from shaftscore.base.angles import wrap
from shaftscore.base.once import once
from shaftscore.base.wording import plain
from shaftscore.built.gears import (
    SpurPair,
    SpurWheel,
    centre_for,
    least_shift,
    lowered_to,
    not_pointed,
    shift_for,
)
from shaftscore.built.teeth import form_beyond_base_mm
from shaftscore.layout.drive import placed_stages
from shaftscore.layout.gears import CENTRE_MM, FACE_MODULES, LEAST_TEETH, backlash_for_mm, is_made
from shaftscore.model import Hub, Project, Stack

REACH_MM = 0.01
"""By which the tip of a wheel that was made for another mate may reach into a fillet."""

STEP_DEG = 5
"""Steps between the directions in which a geared stack is looked for."""


@dataclass(frozen=True)
class HubWheel:
    """The wheel on a hub.

    pinion: that runs in a ring, None of an external wheel. face_mm: width of the teeth. turned_rad: of the
    outline, whose tooth (of a ring, space) is at +x else. gaps_rad: marked gaps. tooth_rad: the marked
    tooth, None of a wheel that drives only or that the motor's pinion drives. at: axis of the stack, mm.
    mate: id of the stack that drives it, at a centre distance in mm; empty where none does. room_mm: from
    its axis to the nearest tips of wheels that it meshes with, mm; inf in a ring.
    """

    wheel: SpurWheel
    pinion: SpurWheel | None
    face_mm: float
    turned_rad: float
    gaps_rad: tuple[float, ...]
    tooth_rad: float | None
    at: complex
    mate: str = ""
    centre_mm: float = 0.0
    room_mm: float = math.inf


def hub_wheels(project: Project) -> Mapping[str, HubWheel]:
    """Return the wheel of each stack whose hub has one, by the stack's id.

    Raises ValueError where one cannot be made, and says why.
    """
    return once(project, "hub wheels", lambda: MappingProxyType(_hub_wheels(project)))


def _hub_wheels(project: Project) -> dict[str, HubWheel]:
    wheels: dict[str, HubWheel] = {}
    for place, stack in enumerate(project.stacks):
        hub = stack.hub
        if hub is None or hub.gear is False:
            continue
        own = _first(project, hub) if place == 0 else _geared(project, stack, hub, wheels)
        if own is None:
            continue
        wheels[stack.id] = own
        if own.mate:
            wheels[own.mate] = _driving(wheels[own.mate], own)
    return wheels


def _driving(driver: HubWheel, own: HubWheel) -> HubWheel:
    """Return the wheel that drives another one, with its marked gap and the room that the other leaves."""
    room = min(driver.room_mm, own.centre_mm - own.wheel.tip_mm)
    return replace(driver, gaps_rad=(*driver.gaps_rad, _gap_towards(driver, own.at)), room_mm=room)


def hub_wheel(project: Project, stack: Stack) -> HubWheel | None:
    """Return the wheel of a stack's hub, None without one; raises ValueError where it cannot be made."""
    return hub_wheels(project).get(stack.id)


def _first(project: Project, hub: Hub) -> HubWheel | None:
    """Return the wheel of the first stack. Raises ValueError where it cannot be made."""
    stages = () if project.drive is None else project.drive.stages
    if stages and is_made(stages[-1]):
        stage = placed_stages(project)[0]
        pair = stage.spur.pair
        if hub.teeth not in (None, pair.wheel.teeth):
            raise ValueError(f"its {hub.teeth} teeth are not the {pair.wheel.teeth} of the last stage")
        gap, turned = stage.gap_rad(upside_down=False), stage.outline_turn(upside_down=False)
        pinion = pair.pinion if pair.wheel.internal else None
        room = math.inf if pair.wheel.internal else pair.centre_mm - pair.pinion.tip_mm
        return HubWheel(pair.wheel, pinion, stage.spur.face_mm, turned, (gap,), None, 0j, room_mm=room)
    if hub.teeth is None:
        if hub.gear:
            raise ValueError("its wheel is not described: the last stage is no spur stage with a module")
        return None
    if hub.module_mm is None:
        raise ValueError(f"its {hub.teeth} teeth have no module, neither its own nor that of a last stage")
    wheel = not_pointed(SpurWheel(hub.module_mm, hub.teeth, max(least_shift(hub.teeth), 0.0)))
    return HubWheel(wheel, None, FACE_MODULES * hub.module_mm, 0.0, (), None, 0j)


def _geared(project: Project, stack: Stack, hub: Hub, wheels: dict[str, HubWheel]) -> HubWheel | None:
    """Return the wheel of a further stack. Raises ValueError where it cannot be made."""
    if hub.teeth is None:
        if hub.gear:
            raise ValueError(f"{stack.label}: its wheel is not described: its hub gives no teeth")
        return None
    try:
        driver = _driver(project, stack, hub, wheels)
        pair = _pair(wheels[driver.id].wheel, hub.teeth, backlash_for_mm(project.stacks[0].fit_clearance_mm))
    except ValueError as error:
        raise ValueError(f"{stack.label}: {error}") from error
    other = wheels[driver.id]
    at = other.at + cmath.rect(pair.centre_mm, math.radians(_direction_deg(project, driver, stack, other)))
    tooth = _tooth_into(other, pair.wheel.teeth, at)
    room = pair.centre_mm - other.wheel.tip_mm
    return HubWheel(pair.wheel, None, other.face_mm, tooth, (), tooth, at, driver.id, pair.centre_mm, room)


def _driver(project: Project, stack: Stack, hub: Hub, wheels: dict[str, HubWheel]) -> Stack:
    """Return the stack that a stack is geared to. Raises ValueError where none fits."""
    before = project.stacks[: project.stacks.index(stack)]
    others = [one for one in before if one.id in wheels and project.turn_of(one) != project.turn_of(stack)]
    if not others:
        raise ValueError("no stack before it has a wheel and turns the other way, as meshing wheels do")
    driver = others[-1]
    wheel = wheels[driver.id].wheel
    if wheel.internal:
        raise ValueError(f"the wheel of {driver.label} is a ring, which drives no further stack")
    if hub.module_mm not in (None, wheel.module_mm):
        raise ValueError(f"its module is not the {plain(wheel.module_mm)} mm of {driver.label}")
    rates = project.rates
    if wheel.teeth * rates[driver.id] != (hub.teeth or 0) * rates[stack.id]:
        wanted = plain(float(wheel.teeth * rates[driver.id] / rates[stack.id]), 2)
        raise ValueError(f"{hub.teeth} teeth do not give its turns; {wanted} on {driver.label} do")
    return driver


@lru_cache(maxsize=256)
def _pair(driver: SpurWheel, teeth: int, backlash_mm: float) -> SpurPair:
    """Return a wheel in mesh with one that is made already. Raises ValueError where it cannot be made."""
    if teeth < LEAST_TEETH:
        raise ValueError(f"a wheel of {teeth} teeth is not made; at least {LEAST_TEETH} required")
    plain_wheel = SpurWheel(driver.module_mm, teeth, max(least_shift(teeth), 0.0))
    centre = math.ceil(centre_for(driver, plain_wheel, backlash_mm) / CENTRE_MM - 1e-9) * CENTRE_MM
    shift = shift_for(driver, plain_wheel, centre, backlash_mm) - driver.shift
    own = not_pointed(replace(plain_wheel, shift=shift))
    pair = SpurPair(driver, own, round(centre, 6))
    line = pair.centre_mm * math.sin(pair.working_angle)
    own = lowered_to(own, min(own.tip_mm, math.hypot(own.base_mm, line - form_beyond_base_mm(driver))))
    if driver.tip_mm > math.hypot(driver.base_mm, line - form_beyond_base_mm(own)) + REACH_MM:
        raise ValueError("the tips of the wheel that drives it reach into its fillets; more teeth required")
    return SpurPair(driver, own, pair.centre_mm)


def _direction_deg(project: Project, driver: Stack, stack: Stack, wheel: HubWheel) -> float:
    """Return the direction in which a stack is from the one that drives it, degrees."""
    taken = [lane.station_deg for lane in project.lanes if project.stack_of(lane) is driver]
    taken += [lane.station_deg + 180 for lane in project.lanes if project.stack_of(lane) is stack]
    taken += [math.degrees(gap) for gap in wheel.gaps_rad]
    if wheel.tooth_rad is not None:
        taken.append(math.degrees(wheel.tooth_rad))

    return clearest_deg(frozenset(taken))


@lru_cache(maxsize=256)
def clearest_deg(taken: frozenset[float]) -> float:
    """Return the direction, in steps, that is farthest from those which are taken, degrees.

    Kept, as wheels are laid out again for every follower that must be clear of them.
    """

    def room(way: float) -> float:
        return min((180 - abs(wrap(way - one) - 180) for one in taken), default=180.0)

    return float(max(range(0, 360, STEP_DEG), key=lambda way: round(room(way), 6)))


def _gap_towards(driver: HubWheel, at: complex) -> float:
    """Return the gap of a driving wheel that is nearest to the line of centres, radians."""
    pitch = math.tau / driver.wheel.teeth
    towards = cmath.phase(at - driver.at)
    first = driver.turned_rad + pitch / 2
    return first + pitch * round((towards - first) / pitch)


def _tooth_into(driver: HubWheel, teeth: int, at: complex) -> float:
    """Return where the tooth of a driven wheel is that goes into the marked gap of its driver, radians."""
    towards = cmath.phase(at - driver.at)
    off = _gap_towards(driver, at) - towards
    return cmath.phase(driver.at - at) - off * driver.wheel.teeth / teeth
