"""The network in which items move: supplies, magazines, gates, channels, outlets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from shaftscore.base.wording import plain
from shaftscore.model.base import Contradiction, Id, Record, Seconds
from shaftscore.model.letters import Named
from shaftscore.model.rules import State

ItemText = Named
"""What passes, in the maker's words, as one of them ("scoop")."""

Count = Annotated[int, Field(ge=0, le=1_000_000)]
"""A count of items."""


MOST_RATE_PER_MIN = 1e6
"""Items that a supply may give in a minute, at most."""

MOST_CAPACITY = 1_000_000
"""Places that a magazine may have, at most."""


class Supply(Record):
    """A source of items.

    rate_per_min: items it gives in a minute; endless if absent.
    """

    id: Id
    rate_per_min: Annotated[float, Field(gt=0, le=MOST_RATE_PER_MIN)] | None = None


class Magazine(Record):
    """A store of items, filled one at a time from a supply or another magazine.

    from (attribute `source`): id of the supply or, through a gate, the magazine that fills it; if absent
    nothing does. travel_s: each item arrives that long after it was sent, s. capacity: places in it,
    those of items under way included. start_count: items in it when the run starts.
    """

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)

    id: Id
    source: Id | None = Field(default=None, alias="from")
    travel_s: Seconds = 0.0
    capacity: Annotated[int, Field(ge=1, le=MOST_CAPACITY)]
    start_count: Count = 0

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse more at the start than there is room for, and a magazine that fills itself."""
        if self.start_count > self.capacity:
            yield "start_count", f"{self.start_count} is over the capacity of {self.capacity}"
        if self.source == self.id:
            yield "from", f'"{self.id}" cannot fill itself'


class Branch(Record):
    """One way of a diverter: items go `to` that channel, outlet or magazine while the lane is in `state`."""

    state: State
    to: Id


class Diverter(Record):
    """A `lane` whose state decides where a channel leads; `by_state` lists the ways."""

    lane: Id
    by_state: Annotated[tuple[Branch, ...], Field(min_length=1, max_length=64)]

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a branch that speaks of another lane than the diverter."""
        for index, branch in enumerate(self.by_state):
            if branch.state.lane != self.lane:
                yield (
                    f"by_state[{index}].state.lane",
                    f'"{branch.state.lane}" is not the diverter\'s lane, "{self.lane}"',
                )


class Channel(Record):
    """A way for items.

    travel_min_s, travel_max_s: an item arrives between these after it left, s. headway_s: least time
    between two arrivals at its end, s. to: id of the channel, outlet or magazine where it leads, or a
    diverter.
    """

    id: Id
    travel_min_s: Seconds = 0.0
    travel_max_s: Seconds = 0.0
    headway_s: Seconds = 0.0
    to: Id | Diverter

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse a shortest travel over the longest."""
        if self.travel_min_s > self.travel_max_s:
            least, most = plain(self.travel_min_s), plain(self.travel_max_s)
            yield "travel_max_s", f"must be at least travel_min_s, {least} s, got {most} s"


class Outlet(Record):
    """Where items leave the machine.

    expects: a turn's items in order; not compared if absent or empty.
    """

    id: Id
    expects: Annotated[tuple[ItemText, ...], Field(max_length=4096)] | None = None


class Reload(Record):
    """Lets a gate open only after it was in `state` for item_s seconds since its last opening."""

    state: State
    item_s: Seconds


class Gate(Record):
    """What lets items out of a magazine while a lane is in a state.

    state: when an item can get by. from (attribute `source`): id of the magazine. to: id of the channel,
    outlet or magazine where items go; not followed further if absent. mode single: one item leaves at
    each begin; an interval shorter than item_s lets none out. Mode stream: one leaves item_s after the
    begin and every item_s. item_s: that time, s. items: meant in an interval that holds a block (1 for
    single). item: what one is called. reload: what must have come before.
    """

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)

    id: Id
    state: State
    source: Id = Field(alias="from")
    to: Id | None = None
    mode: Literal["single", "stream"] = "single"
    item_s: Seconds = 0.0
    items: Annotated[int, Field(ge=0, le=10000)] = 1
    item: ItemText = "item"
    reload: Reload | None = None

    def contradictions(self) -> Iterator[Contradiction]:
        """Refuse items that the mode cannot let out, and a reload of another lane."""
        if self.mode == "single" and self.items != 1:
            yield "items", f"a single gate lets 1 out at a time, got {self.items}; mode stream lets out more"
        if self.mode == "stream" and self.item_s <= 0:
            yield "item_s", "must be greater than 0 for a stream, got 0"
        if self.reload is not None and self.reload.state.lane != self.state.lane:
            other, own = self.reload.state.lane, self.state.lane
            yield "reload.state.lane", f'"{other}" is not the gate\'s lane, "{own}"'


class Flow(Record):
    """The whole network: `supplies` fill `magazines`, `gates` let items into `channels` to `outlets`."""

    supplies: Annotated[tuple[Supply, ...], Field(max_length=4096)] = ()
    magazines: Annotated[tuple[Magazine, ...], Field(max_length=4096)] = ()
    channels: Annotated[tuple[Channel, ...], Field(max_length=4096)] = ()
    outlets: Annotated[tuple[Outlet, ...], Field(max_length=4096)] = ()
    gates: Annotated[tuple[Gate, ...], Field(max_length=4096)] = ()

    @property
    def states(self) -> Iterator[State]:
        """The states that decide what items do: of gates, of their reloads, of the ways of diverters."""
        for gate in self.gates:
            yield gate.state
            yield from (gate.reload.state,) if gate.reload is not None else ()
        for channel in self.channels:
            if isinstance(channel.to, Diverter):
                yield from (branch.state for branch in channel.to.by_state)

    @cached_property
    def lanes(self) -> frozenset[str]:
        """The ids of the lanes whose states decide what items do."""
        return frozenset(state.lane for state in self.states)

    @cached_property
    def channels_by_id(self) -> Mapping[str, Channel]:
        """The channels by their ids."""
        return MappingProxyType({channel.id: channel for channel in self.channels})

    @cached_property
    def supplies_by_id(self) -> Mapping[str, Supply]:
        """The supplies by their ids."""
        return MappingProxyType({supply.id: supply for supply in self.supplies})

    @cached_property
    def filled_by(self) -> Mapping[str, int]:
        """How many magazines each supply or magazine fills, by its id; those that fill none are left out."""
        return MappingProxyType(Counter(one.source for one in self.magazines if one.source is not None))

    @cached_property
    def gates_from(self) -> Mapping[str, tuple[Gate, ...]]:
        """The gates that draw from each supply or magazine, by its id, in file order."""
        return _listed((gate.source, gate) for gate in self.gates)

    @cached_property
    def gates_into(self) -> Mapping[str, tuple[Gate, ...]]:
        """The gates whose items can get to each channel, outlet and magazine, by its id, in file order."""
        ways = {to: self.reach(to) for to in {gate.to for gate in self.gates}}
        return _listed((end, gate) for gate in self.gates for end in ways[gate.to])

    def reach(self, to: str | None) -> frozenset[str]:
        """Return the ids of all that items sent `to` can get to by channels: those, outlets and magazines."""
        found: set[str] = set()
        ahead = [to] if to else []
        while ahead:
            here = ahead.pop()
            if here in found:
                continue
            found.add(here)
            if here in self.channels_by_id:
                way = self.channels_by_id[here].to
                ahead += [branch.to for branch in way.by_state] if isinstance(way, Diverter) else [way]
        return frozenset(found)

    @property
    def ids(self) -> frozenset[str]:
        """The ids of all parts."""
        supplies, magazines = [part.id for part in self.supplies], [part.id for part in self.magazines]
        channels, outlets = [part.id for part in self.channels], [part.id for part in self.outlets]
        return frozenset([*supplies, *magazines, *channels, *outlets, *(gate.id for gate in self.gates)])


def _listed(gates: Iterable[tuple[str, Gate]]) -> Mapping[str, tuple[Gate, ...]]:
    found: dict[str, list[Gate]] = {}
    for name, gate in gates:
        found.setdefault(name, []).append(gate)
    return MappingProxyType({name: tuple(own) for name, own in found.items()})
