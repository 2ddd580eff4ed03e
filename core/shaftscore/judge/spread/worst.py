"""The worst case: every error within its limits, and all of them against the rule.

A place of a rule has two lanes at most. Its slack only rises or only falls with each error, so the
worst machine is at a corner of the errors. All errors of a lane that make it earlier or later go to their
limits together (printed angle, play, marks, station), and so do all that lift its output (edge, seat,
adjustment); loose joints whose forces are not described are at either flank at rises and at falls. Seats
are taken at their worst at every contact. Speed, travels and rates each are at either limit. Errors that
move both lanes alike (one stack's play, the joints of a chain below both) cancel and stay 0; known shifts are
in every corner. What the *class* of a rule (`CLASSES`) does not depend on stays 0. The machines of many
places are judged together: each has the errors of one place's lanes only, and is as possible a machine for
every other place.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal

import numpy as np

from shaftscore.base.once import once
from shaftscore.judge.fits import StackFit
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.draws import Draws, Errors, Floats, LazyDraws, disc_of, is_taut, joint_counts
from shaftscore.judge.spread.judging import JudgedRule, judge
from shaftscore.judge.spread.machines import Machines
from shaftscore.judge.spread.states import RunIntervals
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.model import Flow, Lane, Project, Rule
from shaftscore.rules.items import reach
from shaftscore.rules.kinds import meaning_of
from shaftscore.rules.project import Key, Kind
from shaftscore.rules.times import State

_MOST_CHANNELS = 3
"""Channels whose travels are taken to their limits one by one; of more, all go together."""

MOST_ROWS = 3_000
"""Machines that are judged in one pass, to bound the memory."""

MOST_DRAWS = 12_000_000
"""Draws of all machines of one pass, which only machines of hundreds of lanes come to."""

BOTH = (-1.0, 1.0)
LEVELS = (-1.0, 0.0, 1.0)
SHARES = (0.0, 1.0)


def worst_cases(drawn: Machines, judged: Sequence[JudgedRule], flow: FlowResult | None) -> dict[Key, float]:
    """Return the worst slack of each rule, degrees, by its kind and what it is about.

    drawn: machines of the solution; judged: what was judged of them.
    """
    # The nominal machine, as the draws read it, is the first possible one; corners are read to other digits.
    worst = {one.key: float(one.slack_deg[0]) for one in judged}
    alike: dict[tuple[State, bytes], tuple[RunIntervals, ...]] = {}
    for name, some in _together(drawn.project, judged):
        wanted = {one.key for one in some}
        places = {place.lanes for one in some for place in one.places}
        for blocks in _batches(_block(drawn.errors, lanes, name) for lanes in sorted(places)):
            errors = replace(drawn.errors, draws=corners(drawn.project, blocks))
            machines = Machines(drawn.solution, errors, few=True, runs=drawn.runs, alike=alike)
            for one in judge(machines, flow, wanted):
                worst[one.key] = min(worst[one.key], float(one.slack_deg.min()))
    return worst


RuleClass = Literal["still", "timed", "spring", "moved", "stock"]
"""Rules whose slack depends on the same kinds of errors, beside those of their lanes: of angles, of seconds,
of springs, of items that move, and of what magazines hold."""

CLASSES: Mapping[Kind, RuleClass] = {
    "pass-through": "still",
    "spring": "spring",
    "release": "timed",
    "headway": "moved",
    "diverter": "moved",
    "outlet-order": "moved",
    "stock": "stock",
    "supply": "stock",
}
"""The class of each kind of rule; rules between lanes are of angles or of seconds, as each says."""


OF_ITEMS: frozenset[RuleClass] = frozenset(("moved", "stock"))
"""Classes of rules that are judged together, since items are followed through all of them at once."""


def _together(
    project: Project, judged: Iterable[JudgedRule]
) -> Iterator[tuple[RuleClass, Sequence[JudgedRule]]]:
    """Yield the rules that are judged in the same machines, with their class."""
    of_items: dict[RuleClass, list[JudgedRule]] = {}
    for one in judged:
        name = CLASSES.get(one.kind) or _between_lanes(project.rules[int(one.what)])
        if name in OF_ITEMS:
            of_items.setdefault(name, []).append(one)
        else:
            yield name, (one,)
    yield from of_items.items()


def _between_lanes(rule: Rule) -> RuleClass:
    return "timed" if meaning_of(rule).in_seconds(rule) else "still"


@dataclass(frozen=True)
class CornerDraw:
    """One draw that goes to its limits: what of the draws, of whom, and how it follows its axis.

    as_value: "same", "against" its sign, or its "size".
    """

    kind: str
    name: str
    as_value: Literal["same", "against", "size"] = "same"

    def of(self, values: Floats) -> Floats:
        """Return the draw at values of the axis, (n,)."""
        return (
            np.abs(values) if self.as_value == "size" else -values if self.as_value == "against" else values
        )


@dataclass(frozen=True)
class _Axis:
    """Draws that go to their limits together, and the values of the axis."""

    draws: tuple[CornerDraw, ...]
    values: tuple[float, ...]


def _axis(kind: str, names: Iterable[str], values: tuple[float, ...]) -> _Axis:
    return _Axis(tuple(CornerDraw(kind, name) for name in names), values)


@dataclass(frozen=True, eq=False)
class CornerBlock:
    """The machines of one place: all corners (rows, axes) of the errors that matter between its lanes."""

    axes: tuple[_Axis, ...]
    corners: Floats


def _block(errors: Errors, lanes: Sequence[str], of: RuleClass) -> CornerBlock:
    if of == "spring":
        axes = [_axis("friction", lanes, SHARES), _axis("spring", lanes, BOTH)]
    else:
        axes = [*_lane_axes(errors, lanes), *_common_axes(errors.project, of)]
    points = [*product(*(axis.values for axis in axes))]
    return CornerBlock(tuple(axes), np.array(points, dtype=float).reshape(len(points), len(axes)))


def _batches(blocks: Iterable[CornerBlock]) -> Iterator[list[CornerBlock]]:
    """Put blocks together that are judged in one pass."""
    batch: list[CornerBlock] = []
    rows, drawn = 0, set[tuple[str, str]]()
    for block in blocks:
        own = {(one.kind, one.name) for axis in block.axes for one in axis.draws}
        rows, drawn = rows + len(block.corners), drawn | own
        if batch and (rows > MOST_ROWS or rows * len(drawn) > MOST_DRAWS):
            yield batch
            batch, rows, drawn = [], len(block.corners), own
        batch.append(block)
    if batch:
        yield batch


def corners(project: Project, blocks: Sequence[CornerBlock]) -> Draws:
    """Return the machines of some places, row 0 the nominal one; errors of other lanes are 0 in each."""
    count = sum(len(block.corners) for block in blocks) + 1
    moved: dict[tuple[str, str], Floats] = {}
    begin = 1
    for block in blocks:
        end = begin + len(block.corners)
        for number, axis in enumerate(block.axes):
            for one in axis.draws:
                column = moved.setdefault((one.kind, one.name), np.zeros(count))
                column[begin:end] = one.of(block.corners[:, number])
        begin = end
    return drawn_at(project, count, moved)


def drawn_at(project: Project, count: int, moved: Mapping[tuple[str, str], Floats]) -> Draws:
    """Return machines whose draws are given, (count,) by kind and name; all others are 0."""
    still = np.zeros(count)

    def of(kind: str, names: Collection[str]) -> LazyDraws:
        return LazyDraws(names, lambda name: moved.get((kind, name), still))

    def rows(kind: str) -> LazyDraws:
        return LazyDraws(keyed, lambda name: _repeated(moved.get((kind, name), still), counts.get(name, 1)))

    def flank(lane: str, _move: int, rises: bool, count: int) -> Floats:
        return _repeated(moved.get(("rise" if rises else "fall", lane), still), count)

    def seat(name: str) -> Floats:
        axes = [(axis, name) for axis in ("seat x", "seat y")]
        if not any(axis in moved for axis in axes):
            return _repeated(still, len(axes))
        return np.array([moved.get(axis, still) for axis in axes])

    keyed = once(
        project, "keyed lanes", lambda: frozenset(lane.id for lane in project.lanes if lane.kind != "rider")
    )
    every = project.lane_index
    flow, counts = project.flow, once(project, "joint counts", lambda: joint_counts(project))
    return Draws(
        angle=of("angle", keyed),
        height=of("height", keyed),
        link=of("link", every),
        play=rows("play"),
        fit=rows("fit"),
        lined=of("lined", keyed),
        seat=LazyDraws(keyed, seat),
        station=of("station", every),
        zero=of("zero", every),
        friction=of("friction", every),
        spring=of("spring", every),
        backlash=of("backlash", [stack.id for stack in project.stacks]),
        speed=moved.get(("speed", ""), still),
        travel={} if flow is None else of("travel", [channel.id for channel in flow.channels]),
        rate={} if flow is None else of("rate", [supply.id for supply in flow.supplies]),
        fill={} if flow is None else of("fill", [magazine.id for magazine in flow.magazines]),
        flank=flank,
        seat_fit=of("seat_fit", keyed),
        swell=of("swell", every),
    )


def _repeated(column: Floats, count: int) -> Floats:
    """Return a column (n,) as so many rows alike, (count, n), which take no memory of their own."""
    return np.broadcast_to(column, (count, len(column)))


def _lane_axes(errors: Errors, lanes: Sequence[str]) -> Iterator[_Axis]:
    """List what moves one of the lanes and not the others."""
    project = errors.project
    stacks = {project.stack_of(project.lane(lane)).id for lane in lanes}
    discs = [disc_of(project, lane) for lane in lanes]
    shared = len(set(discs)) < len(discs)
    edge = bool(project.tolerances.profile_mm)
    for lane, disc in zip(lanes, discs, strict=True):
        yield from _angle_axes(errors, lane, [other for other in lanes if other != lane])
        lift = [CornerDraw("height", disc)] if edge and not shared else []
        lift += _lift_draws(errors, lane)
        if lift:
            yield _Axis(tuple(lift), LEVELS)
    if shared and edge:
        yield from (_axis("height", (disc,), LEVELS) for disc in dict.fromkeys(discs))
    yield from (_axis("link", (lane,), SHARES) for lane in lanes if _is_loose(project.lane(lane)))
    for stack in project.stacks:
        if len(stacks) > 1 and stack.id in stacks and stack_backlash_deg(project, stack):
            yield _axis("backlash", (stack.id,), SHARES)


def _angle_axes(errors: Errors, lane: str, others: Sequence[str]) -> Iterator[_Axis]:
    """List what makes a lane earlier or later, and none of the others."""
    sizes = errors.project.tolerances
    beyond = {disc for other in others for disc in errors.printed(other)}
    draws = [CornerDraw("angle", disc) for disc in errors.printed(lane) if disc not in beyond]
    draws = draws if sizes.disc_angle_deg else []
    if sizes.station_mm:
        draws.append(CornerDraw("station", lane))
    fit = errors.fit_of(lane)
    loose: list[str] = []
    if fit is not None:
        disc = fit.disc_of(lane)
        apart = {fit.disc_of(other) for other in others if errors.fit_of(other) is fit}
        draws += _play_draws(fit, disc, apart)
        if errors.flanks(lane) is not None:
            loose = [one for one in fit.joined(disc) if not any(one in fit.joined(other) for other in apart)]
    if draws:
        yield _Axis(tuple(draws), BOTH)
    if fit is not None and loose:
        yield _axis("fit", loose, BOTH)
        if any(one not in errors.signs for one in loose):
            yield from (_axis(kind, (lane,), BOTH) for kind in ("rise", "fall"))


def _play_draws(fit: StackFit, disc: str, apart: Iterable[str]) -> Iterator[CornerDraw]:
    """List the draws by which the play of tightened joints moves a disc and not the discs apart."""
    if fit.law == "lined-up":
        lined = {one for other in apart for one in fit.lined(other)}
        for one in fit.lined(disc):
            if one not in lined:
                yield CornerDraw("lined", one)
                yield CornerDraw("fit", one, "size")
    if fit.law in ("as-they-lie", "one-way"):
        joined = {one for other in apart for one in fit.joined(other)}
        for one in fit.joined(disc):
            if one not in joined:
                yield CornerDraw("play", one)
                yield CornerDraw("fit", one, "size" if fit.law == "as-they-lie" else "same")


def _lift_draws(errors: Errors, lane: str) -> Iterator[CornerDraw]:
    """List what lifts one lane's output, beside the edge of its disc."""
    fit, sizes = errors.fit_of(lane), errors.project.tolerances
    if sizes.zero_mm:
        yield CornerDraw("zero", lane)
    if fit is not None and fit.seat_mm + fit.spread_mm > 0:
        yield CornerDraw("swell" if fit.law != "loose" else "seat_fit", *_seat_name(fit, lane))


def _seat_name(fit: StackFit, lane: str) -> tuple[str, Literal["same", "against"]]:
    return (lane, "same") if fit.law != "loose" else (fit.disc_of(lane), "against")


def _is_loose(lane: Lane) -> bool:
    return lane.follower.link_play_mm > 0 and not is_taut(lane)


def _common_axes(project: Project, of: RuleClass) -> Iterator[_Axis]:
    sizes, flow = project.tolerances, project.flow
    if sizes.speed_percent and of != "still":
        yield _axis("speed", ("",), BOTH)
    if flow is None or of not in ("moved", "stock"):
        return
    channels = [channel.id for channel in flow.channels]
    groups = [(name,) for name in channels] if len(channels) <= _MOST_CHANNELS else [tuple(channels)]
    if sizes.travel_percent and channels and (of == "moved" or _fills_by_gates(flow)):
        yield from (_axis("travel", group, BOTH) for group in groups)
    if of == "moved":
        return
    if sizes.travel_percent and flow.magazines:
        yield _axis("fill", tuple(magazine.id for magazine in flow.magazines), BOTH)
    if sizes.rate_percent and flow.supplies:
        yield _axis("rate", tuple(supply.id for supply in flow.supplies), BOTH)


def _fills_by_gates(flow: Flow) -> bool:
    """Return whether items that gates let out come to a magazine, so that travels in channels count there."""
    magazines = {magazine.id for magazine in flow.magazines}
    return any(not magazines.isdisjoint(reach(flow, gate.to)) for gate in flow.gates)
