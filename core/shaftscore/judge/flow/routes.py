"""The way of an item from its gate to where it ends: channels, diverters, an outlet or a magazine.

Where an item goes depends on when it left and on the diverters' lanes, which repeat every turn, and not
on what else is in the machine. So the *route* of a slot is found once: its *passes* (a channel and the
window in which the item reaches that channel's end) and its end. Windows are (earliest, latest) in µs
after the item left its gate; along several channels the shortest and the longest travels add up.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

from shaftscore.judge.flow.clock import CycleClock, microseconds
from shaftscore.judge.flow.openings import StateSpan
from shaftscore.model import Branch, Channel, Flow, State

States = Callable[[State], tuple[StateSpan, ...] | None]
"""Intervals of a state, master angles; None where they are not known (the lane has no motion)."""

Lost = Literal["none", "two", "round"]
"""Why an item is misrouted: the diverter in no state, in two, or a way that goes round for ever."""


@dataclass(frozen=True)
class Pass:
    """One passage: the channel and the window in which the item reaches its end, µs after it left."""

    channel: str
    earliest_us: int
    latest_us: int


@dataclass(frozen=True)
class Route:
    """The whole way. end: id of an outlet or a magazine, "" where the item just leaves the machine.

    lost: why it is misrouted at the end of its last pass, or None. known: whether all diverters on
    the way have a motion; where not, nothing is said of its end.
    """

    passes: tuple[Pass, ...]
    end: str
    lost: Lost | None = None
    known: bool = True

    @property
    def window(self) -> tuple[int, int]:
        """Earliest and latest arrival at the end, µs after the item left."""
        return (self.passes[-1].earliest_us, self.passes[-1].latest_us) if self.passes else (0, 0)


@dataclass(frozen=True)
class ChannelRoutes:
    """The channels of a network, with what decides at their ends."""

    channels: Mapping[str, Channel]
    clock: CycleClock
    states: States

    @staticmethod
    def of(flow: Flow, clock: CycleClock, states: States) -> ChannelRoutes:
        """Gather the channels of a network."""
        return ChannelRoutes({channel.id: channel for channel in flow.channels}, clock, states)

    def route(self, to: str | None, leaves_us: int) -> Route:
        """Follow an item that leaves for `to` at an offset of the cycle."""
        passes: list[Pass] = []
        earliest = latest = 0
        here, lost = to or "", None
        while here in self.channels:
            channel = self.channels[here]
            if len(passes) > len(self.channels):
                return Route(tuple(passes), "", "round")
            earliest += microseconds(channel.travel_min_s)
            latest += microseconds(channel.travel_max_s)
            passes.append(Pass(channel.id, earliest, latest))
            here, lost, known = self._next(channel, leaves_us + earliest, latest - earliest)
            if lost is not None or not known:
                return Route(tuple(passes), "", lost, known)
        return Route(tuple(passes), here)

    def _next(self, channel: Channel, at_us: int, width_us: int) -> tuple[str, Lost | None, bool]:
        """Decide where a channel leads an item that arrives from `at_us` on for `width_us`."""
        if isinstance(channel.to, str):
            return channel.to, None, True
        held, touched = [], []
        for branch in channel.to.by_state:
            intervals = self.states(branch.state)
            if intervals is None:
                return "", None, False
            held += [branch] * self._holds(intervals, at_us, width_us)
            touched += [branch] * self._touches(intervals, at_us, width_us)
        return (*_decided(held, touched), True)

    def _holds(self, intervals: tuple[StateSpan, ...], at_us: int, width_us: int) -> bool:
        """Return whether one of the intervals lasts through the whole window."""
        return any(
            interval.span.is_full or self._since(interval, at_us) + width_us <= self._length(interval)
            for interval in intervals
        )

    def _touches(self, intervals: tuple[StateSpan, ...], at_us: int, width_us: int) -> bool:
        """Return whether one of the intervals shares more than an end with the window."""
        return any(
            interval.span.is_full
            or self._since(interval, at_us) < self._length(interval)
            or self.clock.cycle_us - self._since(interval, at_us) < width_us
            for interval in intervals
        )

    def _since(self, interval: StateSpan, at_us: int) -> int:
        """Return the time from the interval's last begin to `at_us`."""
        return (at_us - self.clock.offset(interval.span.start)) % self.clock.cycle_us

    def _length(self, interval: StateSpan) -> int:
        start = interval.span.start
        return self.clock.offset(start + interval.span.length) - self.clock.offset(start)


def _decided(held: list[Branch], touched: list[Branch]) -> tuple[str, Lost | None]:
    """Take the one branch that holds throughout, unless another one with another end holds in part."""
    if not held:
        return "", "none"
    ends = {branch.to for branch in held} | {branch.to for branch in touched}
    return (held[0].to, None) if len(ends) == 1 else ("", "two")
