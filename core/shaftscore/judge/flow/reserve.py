"""What cures leave beyond the machine as drawn, so that they hold with the tolerances.

A time is left over at every place: the error that the place must survive (`shaftscore.rules.survival`), where
whoever asks for the flow knows it; else what can be said without drawing machines: speed, travel and printed
angles, root of the sum of squares. Numbers of magazines are found on the network of the machine that needs
most: the fastest one within its tolerances, with the slowest supplies and travels.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from fractions import Fraction
from math import hypot, isfinite, sqrt

from shaftscore.base.angles import TURN
from shaftscore.judge.flow.clock import CycleClock, Pace, exact, pace_of
from shaftscore.judge.flow.network import Network, Slot
from shaftscore.model import Project, Tolerances
from shaftscore.rules.project import Kind
from shaftscore.rules.supply import rate_in_reserve

Survived = Callable[[Kind, str, Collection[str]], float]
"""Returns the error, degrees, that a place of a rule must survive: its kind, what it is about, the lanes."""


@dataclass(frozen=True)
class JudgedPlace:
    """A place of a rule: its kind, what it is about, and its lanes.

    counted_us, travels_us: how long what counts in seconds lasts there, and how long items travel, µs.
    """

    kind: Kind
    what: str
    lanes: frozenset[str]
    counted_us: int = 0
    travels_us: int = 0


@dataclass(frozen=True)
class Reserve:
    """The reserves of one project; survived: None where errors are not known."""

    project: Project
    clock: CycleClock
    survived: Survived | None = None

    def us(self, place: JudgedPlace) -> int:
        """Return what is to be left at a place, µs."""
        return round(self.deg(place) * self.clock.cycle_us / TURN)

    def deg(self, place: JudgedPlace) -> float:
        """Return what is to be left at a place, degrees; 0 where an error alone loses what it is about."""
        if self.survived is not None:
            error = self.survived(place.kind, place.what, place.lanes)
            return error if isfinite(error) else 0.0
        sizes, per_us = self.project.tolerances, TURN / self.clock.cycle_us
        printed = sqrt(len(place.lanes)) * sizes.disc_angle_deg
        faster = place.counted_us * per_us * sizes.speed_percent / 100
        wider = place.travels_us * per_us * sizes.travel_percent / 100
        return hypot(printed, faster, wider)


def most_needed(network: Network, tolerances: Tolerances) -> Network:
    """Return the network of the machine within the tolerances that needs most of its magazines."""
    faster = exact(rate_in_reserve(1.0, tolerances))
    share = exact((1 + tolerances.speed_percent / 100) * (1 + tolerances.travel_percent / 100))
    printed = round(2 * tolerances.disc_angle_deg * network.clock.cycle_us / TURN)
    return replace(
        network,
        clock=replace(network.clock, speed_rpm=network.clock.speed_rpm * faster),
        sources=tuple(
            replace(source, pace=None if source.pace is None else _slower(source.pace, faster))
            for source in network.sources
        ),
        stores=tuple(
            replace(store, travel_us=_longer(store.travel_us, share) + printed) for store in network.stores
        ),
        slots=tuple(_late(slot, share) for slot in network.slots),
    )


def _slower(pace: Pace, by: Fraction) -> Pace:
    return pace_of((pace.whole + Fraction(pace.part, pace.parts)) * by)


def _longer(time_us: int, share: Fraction) -> int:
    return round(time_us * share)


def _late(slot: Slot, share: Fraction) -> Slot:
    """Return a slot whose items take the longest on their way."""
    passes = tuple(replace(step, latest_us=_longer(step.latest_us, share)) for step in slot.route.passes)
    return replace(slot, route=replace(slot.route, passes=passes))
