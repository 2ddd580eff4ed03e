"""Whether a profile plainly keeps its limits, read at the places on its smooth pieces alone.

Between two places a smooth figure goes beyond both by a fraction of what it changes from one to the next. So
what keeps a limit at all places by more than that change plainly keeps it everywhere, and its exact extremes
need not be found. `plainly` reads one profile and is the reference, `plainly_together` many in one call.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple, Protocol

import numpy as np

from shaftscore.base.tolerance import LIMIT
from shaftscore.kinematics.followers import EndToEnd, FollowerModel, Reals
from shaftscore.kinematics.profiles.limits import LaneLimits
from shaftscore.kinematics.profiles.pieces import Flags, Indices, PieceNodes, ways
from shaftscore.kinematics.profiles.places import Flank, surely_between
from shaftscore.kinematics.profiles.trace import DiscPlacement, Kinematics
from shaftscore.kinematics.profiles.undercut import (
    CORNER_RAD,
    corner_turns,
    flank_is_star_shaped,
    flanks_of,
)


class Plainly(NamedTuple):
    """What is plain of a profile.

    is_good: whether a roller's pressure angle and curvature plainly keep their limits, and nothing is cut
    away; False says nothing. radii_mm: what the least and the largest distance from the axis are surely
    between.
    """

    is_good: bool
    radii_mm: tuple[float, float]


class PlainProfile(Protocol):
    """What is read of a profile (`shaftscore.kinematics.profiles.profile.Profile`)."""

    @property
    def plain(self) -> PieceNodes:
        """Places on the smooth pieces of its motion."""
        ...

    @property
    def model(self) -> FollowerModel:
        """The kinematics of its follower."""
        ...

    @property
    def placement(self) -> DiscPlacement:
        """How the disc meets the follower."""
        ...

    @property
    def limits(self) -> LaneLimits:
        """What its places are held against."""
        ...


def plainly(profile: PlainProfile) -> Plainly:
    """Read one profile at its places."""
    at = Kinematics(profile.plain.theta_deg, profile.plain.lift, profile.model, profile.placement)
    radius = at.distance_mm
    beyond = float(np.max(np.abs(np.diff(radius)), initial=0.0))
    radii = float(np.min(radius)) - beyond, float(np.max(radius)) + beyond
    return Plainly(is_judged(profile) and _is_good(profile, at), radii)


def is_judged(profile: PlainProfile) -> bool:
    """Return whether something may be said of a profile: it is for a roller that has a radius."""
    return not profile.model.is_flat and profile.model.roller_radius_mm > 0


def _is_good(profile: PlainProfile, at: Kinematics) -> bool:
    nodes, limits = profile.plain, profile.limits
    judged, steep, rise = nodes.judged, np.abs(at.pressure_deg), nodes.rise
    within = (
        (steep, judged & (rise > 0), (-np.inf, limits.rise_deg)),
        (steep, judged & (rise < 0), (-np.inf, limits.fall_deg)),
        (at.pitch_curvature, judged, _bends(limits, profile.model.roller_radius_mm)),
    )
    return (
        all(surely_between(nodes, *one) for one in within)
        and not corner_turns(nodes, at).any()
        and all(flank_is_star_shaped(at, flank) for flank in flanks_of(limits))
    )


def _bends(limits: LaneLimits, roller_mm: float) -> tuple[float, float]:
    """Return the curvatures of the pitch curve between which crests and hollows keep their limits, 1/mm."""
    crest, hollow = 1 / (limits.crest_mm + roller_mm), 1 / max(limits.hollow_mm, LIMIT)
    return (-min(crest, hollow), min(crest, hollow)) if limits.groove else (-hollow, crest)


def plainly_together(profiles: Sequence[PlainProfile]) -> list[Plainly]:
    """Read many profiles at their places: what `plainly` says of each.

    Those that turn one way under rollers of one radius are read in one call.
    """
    found: dict[int, Plainly] = {}
    alike: dict[tuple[int, float], list[int]] = {}
    for number, profile in enumerate(profiles):
        if is_judged(profile):
            key = (profile.placement.direction, profile.model.roller_radius_mm)
            alike.setdefault(key, []).append(number)
        else:
            found[number] = plainly(profile)
    for (direction, _), numbers in alike.items():
        row = _Row([profiles[number] for number in numbers], direction)
        found |= dict(zip(numbers, row.read(), strict=True))
    return [found[number] for number in range(len(profiles))]


class _Row:
    """Profiles of one direction and roller, their places one after another, (n,) in all."""

    def __init__(self, profiles: Sequence[PlainProfile], direction: int) -> None:
        self._profiles = profiles
        nodes = [profile.plain for profile in profiles]
        counts = np.array([len(one.theta_deg) for one in nodes])
        stops = np.cumsum(counts)
        self._first = stops - counts
        self._joined, self._on = self._neighbours(nodes, stops)
        self._judged = np.concatenate([one.judged for one in nodes])
        lift = np.concatenate([one.lift for one in nodes], axis=1)
        fastest = np.repeat(np.maximum.reduceat(np.abs(lift[1]), self._first), counts)
        self._rise = ways(lift[1], fastest, np.concatenate([one.table.rise[one.piece] for one in nodes]))
        model = EndToEnd(tuple(one.model for one in profiles), (0, *stops.tolist()))
        # Where its follower stands turns a whole disc, and nothing that is read here.
        self._at = Kinematics(
            np.concatenate([one.theta_deg for one in nodes]),
            lift,
            model,
            DiscPlacement(direction, 0.0),
        )

    @staticmethod
    def _neighbours(nodes: Sequence[PieceNodes], stops: Indices) -> tuple[Flags, Indices]:
        """Return whether each place and the next are on one piece, and the next one round its disc: (n,)."""
        joined = np.concatenate([np.append(one.joined, False) for one in nodes])
        following = np.arange(1, len(joined) + 1)
        following[stops - 1] = np.append(0, stops[:-1])
        return joined, following

    def read(self) -> Iterator[Plainly]:
        """Yield what is plain of each."""
        radius = self._at.distance_mm
        beyond = np.maximum.reduceat(self._change(radius, np.ones(len(radius), bool)), self._first)
        least = np.minimum.reduceat(radius, self._first) - beyond
        most = np.maximum.reduceat(radius, self._first) + beyond
        rows = zip(self._good().tolist(), least.tolist(), most.tolist(), strict=True)
        return (Plainly(good, (low, high)) for good, low, high in rows)

    def _good(self) -> Flags:
        """Return which profiles plainly keep their limits, (p,)."""
        at, steep = self._at, np.abs(self._at.pressure_deg)
        limits = [profile.limits for profile in self._profiles]
        rises, falls = (np.array([(-np.inf, getattr(one, name)) for one in limits]) for name in _STEEP)
        bends = np.array([_bends(one.limits, one.model.roller_radius_mm) for one in self._profiles])
        return np.asarray(
            self._between(steep, self._judged & (self._rise > 0), rises)
            & self._between(steep, self._judged & (self._rise < 0), falls)
            & self._between(at.pitch_curvature, self._judged, bends)
            & ~np.logical_or.reduceat(self._turns(), self._first)
            & self._goes_round("inner")
            & (self._goes_round("outer") | np.array([not one.groove for one in limits]))
        )

    def _between(self, values: Reals, where: Flags, limits: Reals) -> Flags:
        """Return of which profiles a figure (n,) plainly keeps limits (p, 2): see `surely_between`."""
        inside = where.copy()
        inside[:-1] &= where[1:]
        change = np.maximum.reduceat(self._change(values, inside & self._joined), self._first)
        least = np.minimum.reduceat(np.where(where, values, np.inf), self._first)
        most = np.maximum.reduceat(np.where(where, values, -np.inf), self._first)
        return np.asarray((least - change > limits[:, 0]) & (most + change < limits[:, 1]))

    def _change(self, values: Reals, where: Flags) -> Reals:
        """Return how much a figure changes from each place to the next, where it counts: (n,)."""
        change = np.zeros(len(values))
        change[:-1] = np.where(where[:-1], np.abs(values[1:] - values[:-1]), 0.0)
        change[self._first[1:] - 1] = 0.0
        return change

    def _turns(self) -> Flags:
        """Return after which places the normal turns, as `corner_turns` does: (n,)."""
        ends = np.flatnonzero(~self._joined)
        normal = self._at.normal
        turn = np.angle(normal[self._on[ends]] * np.conj(normal[ends]))
        found = np.zeros(len(normal), bool)
        found[ends] = np.abs(turn) > CORNER_RAD
        return found

    def _goes_round(self, flank: Flank) -> Flags:
        """Return whose flank goes once round the axis, as `flank_is_star_shaped` does: (p,)."""
        radius = self._at.model.roller_radius_mm
        curve = self._at.offset(-radius if flank == "inner" else radius)
        step = np.angle(curve[self._on] * np.conj(curve)) * -self._at.placement.direction
        once = np.abs(np.add.reduceat(step, self._first) - 2 * np.pi) < 1.0
        return np.asarray(np.logical_and.reduceat(step > -1e-9, self._first) & once)


_STEEP = ("rise_deg", "fall_deg")
