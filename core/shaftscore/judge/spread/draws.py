"""What is drawn for each machine, and how large each error may be.

Every error is a *unit draw* times a size. Normal laws have their limits at three standard deviations,
so a unit draw of a normal law is a standard normal over 3, and the size is the plus-minus limit; those
of a uniform law lie within 0 to 1, or -1 to 1 for plays. Row 0 of every array is the nominal machine: all
errors 0. Draws do not depend on sizes, so that two sizes are compared on the same machines; those of fits,
seats, stations, adjustments and springs have a stream of their own for each lane.

Errors of a lane are its disc's: a rider shares those of the disc that it rides on. An index lane has no
disc; its part is keyed to the shaft as a disc is, and has no profile.

A *chain* passes the turning from part to part: each disc has one angle error against the part before
it, and carries the sum of all from the driven end. Play stands wherever two parts meet, also on both sides
of a spacer. What becomes of the play is in `judge.spread.play`, of the seat in `judge.spread.contact`.
Known shifts (discs turned one way while tightened, a shaft that bends or twists) are in every machine but the
nominal one.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field, fields, replace
from zlib import crc32

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import firsts, numbered
from shaftscore.built.seat import drawn_offsets_mm, station_angle_deg
from shaftscore.judge.fits import StackFit, from_driven_end, joints_before
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects, Cause
from shaftscore.judge.spread.contact import ContactTable, SeatErrors, SeatLaw
from shaftscore.judge.spread.play import (
    DrawnJoints,
    FlankDraws,
    JointDraws,
    LateFlanks,
    TorqueSigns,
    clamped_deg,
    loose_flanks,
)
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.model import Lane, Project, Stack

Floats = npt.NDArray[np.float64]

LIMIT_SIGMAS = 3.0
"""Standard deviations at the plus-minus limits of a normal law."""


MOST_DIGITS = 20
"""Draws of three values that are packed into one whole number."""


MOST_KEPT = 16
"""So many draws of a kind are kept, for as many lanes. Those of larger machines are drawn once more when they
are read again, always the same: keeping them costs more in memory than drawing them in time."""


class LazyDraws(Mapping[str, Floats]):
    """Draws by name, made when they are first read, and kept for a while."""

    def __init__(self, names: Collection[str], make: Callable[[str], Floats]) -> None:
        """Hold the names, and what draws for one of them."""
        self._names, self._make = names, make
        self._made: dict[str, Floats] = {}

    def __getitem__(self, name: str) -> Floats:
        """Return the draws of a name; raises KeyError for another one."""
        if name not in self._made:
            if name not in self._names:
                raise KeyError(name)
            if len(self._made) >= MOST_KEPT:
                self._made.clear()
            self._made[name] = self._make(name)
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        """Yield the names."""
        return iter(self._names)

    def __len__(self) -> int:
        """Return how many names there are."""
        return len(self._names)


@dataclass(frozen=True)
class Draws:
    """Unit draws of n machines, each (n + 1,), row 0 all zero.

    angle, height, link: by lane that has a disc or is an index (link: by lane). play: by the same, (k, n + 1)
    uniform -1 to 1 of the k joints just before it. fit: (k, n + 1) of their clearances; the last is that
    of the disc's bore. lined: of its marks. seat: (2, n + 1) places within a circle of radius 1. station,
    zero, friction (uniform), spring: by lane. backlash: by stack. speed: one. travel: by channel. rate:
    by supply. fill: by magazine, of the travel to it. flank: draws uniform -1 to 1, (k, n + 1), for one
    move of a lane whose k joints are loose, by lane, number of the move, whether it rises, and k. swell: by
    lane, errors of lift taken at their worst at each contact; of the worst case alone. seat_fit: clearances
    that seats are taken with. built: 0 for the nominal machine, 1 for all others.
    """

    angle: Mapping[str, Floats]
    height: Mapping[str, Floats]
    link: Mapping[str, Floats]
    play: Mapping[str, Floats]
    fit: Mapping[str, Floats]
    lined: Mapping[str, Floats]
    seat: Mapping[str, Floats]
    station: Mapping[str, Floats]
    zero: Mapping[str, Floats]
    friction: Mapping[str, Floats]
    spring: Mapping[str, Floats]
    backlash: Mapping[str, Floats]
    speed: Floats
    travel: Mapping[str, Floats]
    rate: Mapping[str, Floats]
    fill: Mapping[str, Floats]
    flank: FlankDraws
    seat_fit: Mapping[str, Floats]
    swell: Mapping[str, Floats] = field(default_factory=dict)

    @property
    def machines(self) -> int:
        """How many machines were drawn."""
        return len(self.speed) - 1

    @property
    def built(self) -> Floats:
        """0 for the nominal machine and 1 for all others, (n + 1,)."""
        made = np.ones(len(self.speed))
        made[0] = 0.0
        return made

    def first(self, machines: int) -> Draws:
        """Return the first machines, and the nominal one."""
        rows = machines + 1

        def cut(each: Mapping[str, Floats]) -> Mapping[str, Floats]:
            return LazyDraws(each, lambda name: each[name][..., :rows].copy())

        def flank(lane: str, move: int, rises: bool, count: int) -> Floats:
            return self.flank(lane, move, rises, count)[..., :rows]

        mappings = {
            one.name: cut(value)
            for one in fields(self)
            if isinstance(value := getattr(self, one.name), Mapping)
        }
        return replace(self, speed=self.speed[:rows], flank=flank, **mappings)

    def joints(self, disc: str) -> JointDraws:
        """Return what is drawn for the joints just before a disc."""
        return JointDraws(self.fit[disc], self.play[disc], self.lined[disc])


def draw(project: Project, machines: int, seed: int) -> Draws:
    """Draw machines; the same seed gives the same ones."""
    bits = np.random.PCG64(seed)
    rng = np.random.Generator(bits)

    def normal() -> Floats:
        made = np.zeros(machines + 1)
        rng.standard_normal(out=made[1:])
        made /= LIMIT_SIGMAS
        return made

    def uniform() -> Floats:
        return _with_nominal(rng.random(machines))

    keyed = [lane.id for lane in project.lanes if lane.kind != "rider"]
    flow = project.flow
    angle = {lane: normal() for lane in keyed}
    height = {lane: normal() for lane in keyed}
    speed = normal()
    travel = {} if flow is None else {channel.id: normal() for channel in flow.channels}
    rate = {} if flow is None else {supply.id: normal() for supply in flow.supplies}
    backlash = {stack.id: uniform() for stack in project.stacks}
    still = np.zeros(machines + 1)

    def loose(lane: Lane) -> Floats:
        if lane.follower.link_play_mm > 0:
            return uniform()
        bits.advance(machines)  # as if it were drawn: what follows stays the same when a link gets play
        return still

    link = {lane.id: loose(lane) for lane in project.lanes}
    counts = joint_counts(project)
    chains = {
        disc: _with_nominal(2.0 * rng.random((count, machines)) - 1.0) for disc, count in counts.items()
    }
    fill = {} if flow is None else {magazine.id: normal() for magazine in flow.magazines}
    own = OwnStreams(project, machines, seed, counts)
    return Draws(
        angle=angle,
        height=height,
        link=link,
        play=LazyDraws(keyed, lambda disc: chains[disc] if disc in chains else own.play(disc)),
        fit=(fit := LazyDraws(keyed, own.fit)),
        lined=LazyDraws(keyed, lambda disc: own.normal(disc, "lined")),
        seat=LazyDraws(keyed, own.seat),
        station=own.by_lane("station"),
        zero=own.by_lane("zero"),
        friction=LazyDraws(project.lane_index, own.friction),
        spring=own.by_lane("spring"),
        backlash=backlash,
        speed=speed,
        travel=travel,
        rate=rate,
        fill=fill,
        flank=own.flank,
        seat_fit=LazyDraws(keyed, lambda disc: fit[disc][-1]),
    )


@dataclass(frozen=True)
class OwnStreams:
    """Draws that have a stream of their own by kind and lane; counts: joints before each disc of a chain."""

    project: Project
    machines: int
    seed: int
    counts: Mapping[str, int]

    def _rng(self, name: str, kind: str, number: int = 0) -> np.random.Generator:
        return np.random.default_rng((self.seed, crc32(kind.encode()), crc32(name.encode()), number))

    def by_lane(self, kind: str) -> Mapping[str, Floats]:
        """Return normal draws by lane, (n + 1,) each."""
        return LazyDraws(self.project.lane_index, lambda lane: self.normal(lane, kind))

    def normal(self, name: str, kind: str) -> Floats:
        """Draw a normal law, (n + 1,)."""
        return _with_nominal(self._rng(name, kind).standard_normal(self.machines) / LIMIT_SIGMAS)

    def friction(self, name: str) -> Floats:
        """Draw a uniform law from 0 to 1, (n + 1,)."""
        return _with_nominal(self._rng(name, "friction").random(self.machines))

    def fit(self, disc: str) -> Floats:
        """Draw the clearances of the joints before a disc, (k, n + 1)."""
        count = self.counts.get(disc, 1)
        drawn = self._rng(disc, "fit").standard_normal((count, self.machines)) / LIMIT_SIGMAS
        return _with_nominal(drawn)

    def play(self, disc: str) -> Floats:
        """Draw where a disc lies within its play, (1, n + 1)."""
        return _with_nominal(2.0 * self._rng(disc, "play").random((1, self.machines)) - 1.0)

    def seat(self, disc: str) -> Floats:
        """Draw where a disc sits within a circle of radius 1, all places alike, (2, n + 1)."""
        drawn = self._rng(disc, "seat").random((2, self.machines))
        return _with_nominal(drawn_offsets_mm(1.0, drawn.T).T)

    def flank(self, lane: str, move: int, _rises: bool, count: int) -> Floats:
        """Draw where loose joints are at one move of a lane, (count, n + 1)."""
        drawn = self._rng(lane, "flank", move).random((count, self.machines))
        return _with_nominal(2.0 * drawn - 1.0)


def _with_nominal(drawn: Floats) -> Floats:
    """Put the nominal machine before those that were drawn, along the last axis."""
    return np.concatenate((np.zeros((*drawn.shape[:-1], 1)), drawn), axis=-1)


def disc_of(project: Project, lane_id: str) -> str:
    """Return the id of the lane whose disc moves a lane."""
    return project.lane(lane_id).program_id


def chained(project: Project, stack: Stack) -> tuple[str, ...]:
    """Return the lanes of a stack whose discs pass rotation on, from the driven end; () without a chain.

    Pins pass through all parts, so that nothing adds up.
    """
    return from_driven_end(project, stack) if stack.is_chain else ()


def moving(project: Project, lane_id: str) -> tuple[str, ...]:
    """Return the discs whose angle errors move a lane: its own, and with a chain all before it."""
    disc = disc_of(project, lane_id)
    chain = chained(project, project.stack_of(project.lane(lane_id)))
    return chain[: chain.index(disc) + 1] if disc in chain else (disc,)


def joint_counts(project: Project) -> dict[str, int]:
    """Return how many pairs of parts meet just before each disc of a chain, by disc."""
    counts: dict[str, int] = {}
    for stack in project.stacks:
        counts |= joints_before(stack, chained(project, stack))
    return counts


@dataclass(frozen=True, eq=False)
class CornerKinds:
    """Machines by what moves a lane's intervals.

    number: (n + 1,) of the kind of each machine, counted from 0. first: (kinds,) the first machine of each.
    key: the draws of all kinds; the same in other machines whose kinds are the same.
    """

    number: npt.NDArray[np.intp]
    first: npt.NDArray[np.intp]
    key: bytes


@dataclass(frozen=True)
class Errors:
    """The errors of drawn machines: draws times sizes.

    scale: of disc_angle_deg, one or (n + 1,). off: lanes whose discs are made and keyed without an error.
    muted: causes that are switched off. fits: of the stacks by id, without which nothing has play or seat.
    signs: by disc of a loose stack, which way its joints are pushed, where the forces are known. effects:
    what other modules add.
    """

    project: Project
    draws: Draws
    scale: float | Floats = 1.0
    off: frozenset[str] = frozenset()
    muted: frozenset[Cause] = frozenset()
    fits: Mapping[str, StackFit] = field(default_factory=dict)
    signs: Mapping[str, TorqueSigns] = field(default_factory=dict)
    effects: BuiltEffects = NO_EFFECTS

    def _has(self, cause: Cause) -> bool:
        return cause not in self.muted

    def fit_of(self, lane_id: str) -> StackFit | None:
        """Return the fit of a lane's stack, if it is known."""
        return self.fits.get(self.project.stack_of(self.project.lane(lane_id)).id)

    # Angles

    def shift_deg(self, lane_id: str, radius_mm: float | None = None) -> Floats:
        """Return by how much later a lane's program runs, master angle, (n + 1,).

        Without what depends on the contact. radius_mm: of the roller's centre, at which its place across its
        line counts, mm.
        """
        lane = self.project.lane(lane_id)
        stack = self.project.stack_of(lane)
        own = sum((self._disc_deg(one) for one in self.printed(lane_id)), np.asarray(0.0))
        if self._has("backlash"):
            own = own + self.draws.backlash[stack.id] * stack_backlash_deg(self.project, stack)
        own = own + self._play_deg(lane_id) + self._station_deg(lane_id, radius_mm)
        if self._has("shaft") and lane_id in self.effects.angle_deg:
            own = own + self.effects.angle_deg[lane_id] * self.draws.built
        return np.asarray(own + np.zeros(len(self.draws.speed))) / stack.turns

    def printed(self, lane_id: str) -> tuple[str, ...]:
        """Return the discs whose angles as printed move a lane."""
        fit = self.fit_of(lane_id)
        return moving(self.project, lane_id) if fit is None else fit.printed(disc_of(self.project, lane_id))

    def _disc_deg(self, disc: str) -> Floats:
        """Return the error of one disc as printed against what it is keyed to, degrees of its stack."""
        if disc in self.off or not self._has("disc-angle"):
            return np.asarray(0.0)
        return self.draws.angle[disc] * (self.project.tolerances.disc_angle_deg * self.scale)

    def _play_deg(self, lane_id: str) -> Floats:
        """Return what the play of tightened joints does to a lane, degrees of its stack."""
        fit, disc = self.fit_of(lane_id), disc_of(self.project, lane_id)
        if fit is None or not self._has("play"):
            return np.asarray(0.0)
        return clamped_deg(fit, disc, self._joints)

    @property
    def _joints(self) -> DrawnJoints:
        draws = self.draws
        return DrawnJoints(draws.joints, draws.flank, draws.built, self.off, self.signs)

    def _station_deg(self, lane_id: str, radius_mm: float | None) -> Floats:
        size = self.project.tolerances.station_mm
        if radius_mm is None or size == 0 or lane_id in self.off or not self._has("station"):
            return np.asarray(0.0)
        return station_angle_deg(self.draws.station[lane_id] * size, radius_mm)

    def flanks(self, lane_id: str) -> LateFlanks | None:
        """Return what loose joints do to a lane at each of its moves; None where none is loose."""
        fit, disc = self.fit_of(lane_id), disc_of(self.project, lane_id)
        if fit is None or not self._has("play"):
            return None
        return loose_flanks(fit, lane_id, disc, self._joints)

    # Lifts

    def height_mm(self, lane_id: str) -> Floats:
        """Return by how much higher a lane's roller is at every contact, mm, (n + 1,)."""
        lane, disc = self.project.lane(lane_id), disc_of(self.project, lane_id)
        size = 0.0 if disc in self.off or lane.kind == "index" else self.project.tolerances.profile_mm
        height = self.draws.height[disc] * (size if self._has("profile") else 0.0)
        if self._has("shaft") and lane_id in self.effects.lift_mm:
            height = height + self.effects.lift_mm[lane_id] * self.draws.built
        return height

    def zero_mm(self, lane_id: str) -> Floats:
        """Return by how much higher a lane's output is adjusted, mm, (n + 1,); one 0 where there is none."""
        size = self.project.tolerances.zero_mm
        lane = self.project.lane(lane_id)
        if size == 0 or lane_id in self.off or lane.kind == "index" or not self._has("zero"):
            return np.asarray(0.0)
        return self.draws.zero[lane_id] * size

    def seat(self, lane_id: str, table: ContactTable) -> SeatErrors | None:
        """Return what the seat of its disc does to a lane at its contacts; None where it sits on its axis."""
        fit, disc = self.fit_of(lane_id), disc_of(self.project, lane_id)
        still = disc in self.off or not self._has("seat")
        if still or fit is None or disc not in fit.discs or fit.seat_mm + fit.spread_mm == 0:
            return None
        radius = fit.drawn_seat_mm(self.draws.seat_fit[disc]) * self.draws.built
        swell = self.draws.swell.get(lane_id, np.asarray(0.0)) * (fit.seat_mm + fit.spread_mm)
        law: SeatLaw = "anywhere"
        push = None
        if fit.law == "loose" or (disc in self.signs and self.signs[disc].slips):
            groove = self.project.lane(lane_id).follower.closure == "groove"
            push = self.signs[disc].push.get(lane_id) if disc in self.signs else None
            law = ("by-force" if push is not None else "anywhere") if groove else "pushed"
        x, y = self.draws.seat[disc] * radius
        return SeatErrors(table, law, x, y, radius, swell, push if law == "by-force" else None)

    def link_mm(self, lane_id: str) -> tuple[Floats, Floats]:
        """Return by how much higher the output stands after a rise and after a fall, mm, (n + 1,) each.

        The play is the whole way between both; where in it the nominal machine stands is drawn. Row 0 has
        no play. One and the same 0 where there is none, or a spring keeps the link on one side.
        """
        lane = self.project.lane(lane_id)
        still = lane_id in self.off or is_taut(lane) or not self._has("link-play")
        play = 0.0 if still else lane.follower.link_play_mm
        if play == 0:
            none = np.asarray(0.0)
            return none, none
        share = self.draws.link[lane_id]
        back = np.where(np.arange(len(share)) == 0, 0.0, 1.0 - share)
        return -play * share, play * back

    def spring_draws(self, lane_id: str) -> tuple[Floats, Floats]:
        """Return the unit draws of a lane's friction (0 to 1, between both if switched off) and spring."""
        still = np.zeros(len(self.draws.speed))
        friction = self.draws.friction[lane_id] if self._has("friction") else still + 0.5
        return friction, self.draws.spring[lane_id] if self._has("spring") else still

    def corner_kinds(self, lane_id: str) -> CornerKinds:
        """Return which machines are alike in what moves a lane's intervals; their draws are -1, 0 or 1."""
        draws, disc = self.draws, disc_of(self.project, lane_id)
        columns = [draws.height[disc], draws.link[lane_id], draws.zero[lane_id], draws.built]
        if self.fits:
            columns += [draws.swell.get(lane_id, draws.built), draws.seat_fit[disc]]
        if self.flanks(lane_id) is not None:
            fit = self.fit_of(lane_id)
            columns += [] if fit is None else [draws.fit[one][0] for one in fit.joined(disc)]
            columns += [draws.flank(lane_id, 0, rises, 1)[0] for rises in (True, False)]
        digits = np.array(columns).astype(np.int8)
        numbers = np.zeros(len(draws.speed), dtype=np.int64)
        for place, column in enumerate(digits):
            numbers = numbers * 3 + column + 1
            if place % MOST_DIGITS == MOST_DIGITS - 1:
                numbers = numbered(numbers).astype(np.int64)
        numbers = numbered(numbers)
        first = firsts(numbers)
        return CornerKinds(numbers, first, digits[:, first].tobytes())

    @property
    def speed(self) -> Floats:
        """Return the speed as a share of the nominal one, (n + 1,)."""
        return _share(self.draws.speed, self.project.tolerances.speed_percent * self._has("speed"))

    @property
    def _travel_percent(self) -> float:
        return self.project.tolerances.travel_percent * self._has("travel")

    def travel(self, channel_id: str) -> Floats:
        """Return travel times in a channel as a share of what the project says, (n + 1,)."""
        return _share(self.draws.travel[channel_id], self._travel_percent)

    def fill(self, magazine_id: str) -> Floats:
        """Return travel times to a magazine as a share of what the project says, (n + 1,)."""
        return _share(self.draws.fill[magazine_id], self._travel_percent)

    def rate(self, supply_id: str) -> Floats:
        """Return a supply's rate as a share of what the project says, (n + 1,)."""
        percent = self.project.tolerances.rate_percent * self._has("rate")
        return _share(self.draws.rate[supply_id], percent)


def _share(drawn: Floats, percent: float) -> Floats:
    # A draw far beyond the limits would stop the machine or run it backwards.
    return np.maximum(1.0 + drawn * percent / 100.0, 0.01)


def is_taut(lane: Lane) -> bool:
    """Return whether a spring at the output always pulls the link to one side, so that it has no play."""
    load, spring = lane.load, lane.follower.closure == "spring"
    return spring and load is not None and load.at == "output" and load.spring_force.preload_n > 0
