"""The elements after the gates: channels, diverters and outlets with what is written on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base import wording
from shaftscore.judge.flow.clock import US_PER_S
from shaftscore.judge.flow.drawn.elements import Known, amount, level_place
from shaftscore.judge.flow.drawn.records import (
    ChannelElement,
    DiverterElement,
    DiverterWay,
    ElementKind,
    OutletElement,
)
from shaftscore.judge.flow.drawn.run import DrawnRun
from shaftscore.judge.flow.result import Passage
from shaftscore.model import Channel, Diverter, Outlet
from shaftscore.model.flow import Branch

# Channels


@dataclass(frozen=True)
class Closest:
    """The two items that come closest to one another at a channel's end: how close, s, and their gates."""

    apart_s: float
    gates: tuple[str, str]


def closest(passages: Sequence[Passage]) -> Closest | None:
    """Return the closest two items of a channel; None for fewer than two.

    Each arrives within a window of time; between two lies what is left from the end of one to the begin
    of the next, 0 where the windows touch.
    """
    order = sorted(passages, key=lambda passage: (passage.leaves_us, passage.latest_us))
    best: tuple[int, Passage, Passage] | None = None
    last = order[0] if order else None
    for passage in order[1:]:
        assert last is not None, "there is a first where there is another"
        apart = max(0, passage.leaves_us - last.latest_us)
        best = (apart, last, passage) if best is None or apart < best[0] else best
        last = max(last, passage, key=lambda one: one.latest_us)
    return None if best is None else Closest(best[0] / US_PER_S, (best[1].gate, best[2].gate))


def channel_element(known: Known, channel: Channel, order: int, inflow: float | None) -> ChannelElement:
    """Return a channel as it is drawn; inflow: items that enter it, 1/min."""
    near = _closest(known, channel.id)
    pair = "" if near is None else _pair(known, near)
    travel, headway = _travel(channel), wording.seconds(channel.headway_s) if channel.headway_s else ""
    apart = "" if near is None else wording.seconds(near.apart_s)
    said = [
        f"Channel {wording.part_name(channel.id)}",
        travel and f"travel {travel}",
        headway and f"headway {headway}",
    ]
    said += [f"closest {apart}, {pair}"] if near is not None else []
    base = known.element(ElementKind.CHANNEL, channel.id, order=order, facts=", ".join(filter(None, said)))
    return ChannelElement(
        **vars(base),
        travel_text=travel,
        headway_text=headway,
        closest_s=None if near is None else near.apart_s,
        closest_text=apart,
        closest_pair=pair,
        is_close=near is not None and near.apart_s < channel.headway_s,
        inflow_per_min=inflow,
    )


def _closest(known: Known, channel: str) -> Closest | None:
    """Return the closest two items of a channel in the run; gates that are gone since then are left out."""
    passages = () if known.run is None else known.run.history.passages.get(channel, ())
    return closest([one for one in passages if one.gate in known.places.lane_of])


def _travel(channel: Channel) -> str:
    least, most = channel.travel_min_s, channel.travel_max_s
    if least == most:
        return wording.seconds(most) if most else ""
    return f"{wording.number(least, 2)} to {wording.number(most, 2)} s"


def _pair(known: Known, near: Closest) -> str:
    """Name the lanes of the two items."""
    lanes = (known.project.lane(known.places.lane_of[gate]) for gate in near.gates)
    codes = (lane.code or lane.label for lane in lanes)
    return ", ".join(dict.fromkeys(codes))


# Diverters


def diverter_element(known: Known, channel: Channel, diverter: Diverter, order: int) -> DiverterElement:
    """Return a diverter as it is drawn."""
    lane = known.project.lane(diverter.lane)
    ways = tuple(_way(known, channel, branch) for branch in diverter.by_state)
    said = [
        f"{way.level} to {way.to_name}{', ' * bool(way.per_turn_text)}{way.per_turn_text}" for way in ways
    ]
    facts = f"Diverter {lane.label}, at the end of {wording.part_name(channel.id)}: {'; '.join(said)}"
    base = known.element(ElementKind.DIVERTER, channel.id, order=order, facts=facts, name=lane.label)
    return DiverterElement(**vars(base), lane=lane.id, code=lane.code or lane.label, ways=ways)


def _way(known: Known, channel: Channel, branch: Branch) -> DiverterWay:
    place = level_place(known.project, branch.state)
    text = ""
    if known.run is not None and known.run.turns:
        passed = known.run.passed.get((channel.id, branch.to), 0)
        text = f"{passed:,} a turn" if passed else "none"
    key = known.places.end(branch.to)
    return DiverterWay(place.level, place.height, place.rank, key, wording.part_name(branch.to), text)


# Outlets


@dataclass(frozen=True)
class OutletCount:
    """What an outlet got in the turns of a run: fewest, most, and where it was short of what it expects.

    short_turn: the first turn (from 1) with too few, or None. most_since: the most of any turn from then on,
    fewest_since: the fewest.
    """

    fewest: int
    most: int
    short_turn: int | None = None
    fewest_since: int = 0
    most_since: int = 0


def outlet_count(run: DrawnRun | None, outlet: Outlet) -> OutletCount | None:
    """Count what an outlet got; None where nothing was run.

    Turn 1 is not looked at where a stream runs on through its begin: the run starts without the rest of it.
    """
    got = () if run is None else run.arrived.get(outlet.id, ())
    if run is None or not got:
        return None
    since = 1 if outlet.id in run.later and len(got) > 1 else 0
    wanted = len(outlet.expects or ())
    short = next((turn for turn in range(since, len(got)) if got[turn] < wanted), None)
    if short is None:
        return OutletCount(min(got[since:]), max(got[since:]))
    return OutletCount(min(got[since:]), max(got[since:]), short + 1, min(got[short:]), max(got[short:]))


def outlet_element(known: Known, outlet: Outlet, order: int) -> OutletElement:
    """Return an outlet as it is drawn."""
    counted = outlet_count(known.run, outlet)
    expects = f"expects {_expected(outlet.expects)}" if outlet.expects else ""
    got = "" if counted is None else _got(counted)
    said = ", ".join(filter(None, (f"Outlet {wording.part_name(outlet.id)}", expects, got)))
    base = known.element(ElementKind.OUTLET, outlet.id, order=order, facts=said)
    return OutletElement(
        **vars(base),
        expects_text=expects,
        got_text=got,
        is_short=counted is not None and counted.short_turn is not None,
        expects=len(outlet.expects) if outlet.expects else None,
        got=None if counted is None else (counted.fewest, counted.most),
    )


def _expected(items: Sequence[str]) -> str:
    """Write what an outlet expects: by name where all are called the same."""
    return amount(len(items), items[0]) if len(set(items)) == 1 else amount(len(items))


def _got(counted: OutletCount) -> str:
    if counted.most == 0:
        return "nothing arrives"
    if counted.short_turn is None:
        few, most = counted.fewest, counted.most
        return f"gets {most:,} a turn" if few == most else f"gets {few:,} to {most:,} a turn"
    fewer = " or fewer" if counted.fewest_since < counted.most_since else ""
    since = f" from turn {counted.short_turn:,}" if counted.short_turn > 1 else ""
    return f"{counted.most_since:,}{fewer}{since}" if since else f"gets {counted.most_since:,}{fewer} a turn"
