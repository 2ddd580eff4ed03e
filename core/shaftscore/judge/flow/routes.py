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
from shaftscore.model import Channel, Flow, State
from shaftscore.rules import diverter
from shaftscore.rules.items import onward
from shaftscore.rules.times import LinearSpan

States = Callable[[State], tuple[StateSpan, ...] | None]
"""Intervals of a state, master angles; None where they are not known (the lane has no motion)."""

Lost = diverter.Undecided | Literal["round"]
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
        window = LinearSpan(0, 0)
        here, lost = to or "", None
        while here in self.channels:
            channel = self.channels[here]
            if len(passes) > len(self.channels):
                return Route(tuple(passes), "", "round")
            window = onward(window, microseconds(channel.travel_min_s), microseconds(channel.travel_max_s))
            passes.append(Pass(channel.id, window.start, window.end))
            here, lost, known = self._next(channel, onward(window, leaves_us, leaves_us))
            if lost is not None or not known:
                return Route(tuple(passes), "", lost, known)
        return Route(tuple(passes), here)

    def _next(self, channel: Channel, window: LinearSpan[int]) -> tuple[str, Lost | None, bool]:
        """Decide where a channel leads an item that arrives in a window, µs from the start of a turn."""
        if isinstance(channel.to, str):
            return channel.to, None, True
        takes, touches = [], []
        for branch in channel.to.by_state:
            intervals = self.states(branch.state)
            if intervals is None:
                return "", None, False
            found = [self._beside(interval, window) for interval in intervals]
            takes += [branch] * any(min(diverter.inside(window, held)) >= 0 for held, _ in found)
            touches += [branch] * any(min(diverter.clear(window, *both)) < 0 for both in found)
        return (*diverter.decided(takes, touches), True)

    def _beside(
        self, interval: StateSpan, window: LinearSpan[int]
    ) -> tuple[LinearSpan[int], LinearSpan[int]]:
        """Return the repeat of an interval that starts last before a window does, and the next one, µs.

        One that lasts the whole turn covers the window.
        """
        if interval.span.is_full:
            return window, window
        offset, cycle = self.clock.offset, self.clock.cycle_us
        begin = offset(interval.span.start)
        start = window.start - (window.start - begin) % cycle
        end = start + offset(interval.span.start + interval.span.length) - begin
        return LinearSpan(start, end), LinearSpan(start + cycle, end + cycle)
