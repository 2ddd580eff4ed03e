"""The place of a rule that a finding of the flow is about, and its slack after an edit."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import singledispatch
from math import inf

from shaftscore.judge.flow.clock import microseconds
from shaftscore.judge.flow.engine import Shortfall
from shaftscore.judge.flow.meetings import Meeting
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.judge.flow.openings import GateOpening
from shaftscore.judge.flow.order import WrongOrder
from shaftscore.judge.flow.reserve import JudgedPlace
from shaftscore.judge.flow.verdicts import LostItem
from shaftscore.model import Channel, Diverter, Flow, Gate
from shaftscore.rules.project import rules_of
from shaftscore.rules.times import MachineTimes, RulePlace


@singledispatch
def place_of(_cause: object, _network: Network, _flow: Flow) -> JudgedPlace | None:
    """Return the place of the rule that a cause breaks; None of what magazines need, which is no angle."""
    return None


@place_of.register
def _of_opening(cause: GateOpening, network: Network, _flow: Flow) -> JudgedPlace:
    return release_place(network.gates[cause.gate], max(1, cause.meant))


@place_of.register
def _of_shortfall(cause: Shortfall, network: Network, _flow: Flow) -> JudgedPlace | None:
    opening = network.openings[cause.opening]
    return (
        release_place(network.gates[opening.gate], opening.meant + 1) if cause.out > opening.meant else None
    )


def release_place(gate: Gate, items: int) -> JudgedPlace:
    """Return the place of a gate's openings, which count the time of some items, or of a reload."""
    counted = microseconds(gate.item_s) * items
    if gate.reload is not None:
        counted = max(counted, microseconds(gate.reload.item_s))
    return JudgedPlace("release", gate.id, frozenset((gate.state.lane,)), counted)


@place_of.register
def _of_meeting(cause: Meeting, network: Network, flow: Flow) -> JudgedPlace:
    near, slots = cause.near, network.slots
    first, second = slots[near.first], slots[near.second]
    step = next(one for one in first.route.passes if one.channel == near.channel)
    channel = next(one for one in flow.channels if one.id == near.channel)
    width = step.latest_us - step.earliest_us
    lanes = frozenset((_lane(network, first), _lane(network, second)))
    return JudgedPlace("headway", channel.id, lanes, width + microseconds(channel.headway_s), width)


@place_of.register
def _of_lost(cause: LostItem, network: Network, flow: Flow) -> JudgedPlace:
    slot = network.slots[cause.slot]
    channel = last_channel(slot, flow)
    latest, lanes = slot.route.window[1], {_lane(network, slot)}
    if isinstance(channel.to, Diverter):
        lanes.add(channel.to.lane)
    return JudgedPlace("diverter", channel.id, frozenset(lanes), latest, latest)


@place_of.register
def _of_order(cause: WrongOrder, network: Network, _flow: Flow) -> JudgedPlace:
    came = [one for one in (cause.mismatch.got, cause.mismatch.other) if one is not None]
    lanes = frozenset(_lane(network, network.slots[one.slot]) for one in came)
    width = max((one.latest_us - one.earliest_us for one in came), default=0)
    return JudgedPlace("outlet-order", cause.outlet, lanes, width, width)


def _lane(network: Network, slot: Slot) -> str:
    return network.gates[slot.gate].state.lane


def last_channel(slot: Slot, flow: Flow) -> Channel:
    """Return the last channel on the way of a slot's items."""
    return next(one for one in flow.channels if one.id == slot.route.passes[-1].channel)


def places_of_rule(times: MachineTimes, place: JudgedPlace) -> tuple[RulePlace, ...]:
    """Return all places of the rule of one place, at its part."""
    rule = (place.kind, place.what)
    return tuple(one for kind, what, places in rules_of(times) if (kind, what) == rule for one in places)


def slacks_near(places: Iterable[RulePlace], near: Collection[str]) -> dict[frozenset[str], float]:
    """Return the slack, degrees, by lanes, of places that some lane takes part in."""
    found: dict[frozenset[str], float] = {}
    for one in places:
        lanes = frozenset(one.lanes)
        if not lanes.isdisjoint(near):
            found[lanes] = min(found.get(lanes, inf), float(one.slack_deg[0]))
    return found
