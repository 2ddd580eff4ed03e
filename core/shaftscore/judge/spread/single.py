"""Machines with one error each: what the slack of each place costs, source by source.

Row 0 is the nominal machine, row 1 the one as built with every error in its middle (known shifts alone), and
each source of error has two rows, at either limit. See `shaftscore.rules.survival`.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.judge.spread.draws import Draws, Errors, Floats, is_taut
from shaftscore.judge.spread.worst import drawn_at
from shaftscore.layout.stage_play import stack_backlash_deg
from shaftscore.model import Lane
from shaftscore.rules.survival import CIRCLE, NORMAL, UNIFORM

FIRST_ROWS = 2
"""Rows before those of the sources: the nominal machine, and the one as built."""

Column = tuple[str, str]
"""A kind of draw, and whose."""


@dataclass(frozen=True)
class ErrorSource:
    """One independent error: the draws that it moves, its limits and middle as draws, and its sigma.

    sigma: standard deviation as a share of the way from the middle to a limit.
    """

    columns: tuple[Column, ...]
    sigma: float
    middle: float = 0.0

    @property
    def limits(self) -> tuple[float, float]:
        """Both limits, as draws."""
        return (0.0, 1.0) if self.middle else (-1.0, 1.0)


def sources(errors: Errors) -> tuple[ErrorSource, ...]:
    """List all sources of error of a project that have any size; springs and their friction left out."""
    return (*_of_lanes(errors), *_of_stacks(errors), *_of_flow(errors))


def _source(kind: str, name: str, sigma: float = NORMAL, middle: float = 0.0) -> ErrorSource:
    return ErrorSource(((kind, name),), sigma, middle)


def _of_lanes(errors: Errors) -> Iterator[ErrorSource]:
    sizes = errors.project.tolerances
    for lane in errors.project.lanes:
        if lane.kind != "rider":
            yield from _of_disc(errors, lane)
        if sizes.station_mm:
            yield _source("station", lane.id)
        if sizes.zero_mm and lane.kind != "index":
            yield _source("zero", lane.id)
        if lane.follower.link_play_mm > 0 and not is_taut(lane):
            yield _source("link", lane.id, UNIFORM, 0.5)
        if errors.flanks(lane.id) is not None:
            yield from (_source(way, lane.id, UNIFORM) for way in ("rise", "fall"))


def _of_disc(errors: Errors, lane: Lane) -> Iterator[ErrorSource]:
    """List the errors of one disc: as printed, and by its fit."""
    sizes, fit = errors.project.tolerances, errors.fit_of(lane.id)
    if sizes.disc_angle_deg:
        yield _source("angle", lane.id)
    if sizes.profile_mm and lane.kind != "index":
        yield _source("height", lane.id)
    if fit is None or lane.id not in fit.discs:
        return
    if fit.has_play and fit.law == "as-they-lie":
        yield _source("play", lane.id, UNIFORM)
    if fit.has_play and fit.law == "lined-up":
        yield _source("lined", lane.id)
    if fit.spread_mm > 0:
        yield ErrorSource((("fit", lane.id), ("seat_fit", lane.id)), NORMAL)
    if fit.seat_mm + fit.spread_mm > 0:
        yield from (_source(axis, lane.id, CIRCLE) for axis in ("seat x", "seat y"))


def _of_stacks(errors: Errors) -> Iterator[ErrorSource]:
    for stack in errors.project.stacks:
        if stack_backlash_deg(errors.project, stack):
            yield _source("backlash", stack.id, UNIFORM, 0.5)


def _of_flow(errors: Errors) -> Iterator[ErrorSource]:
    sizes, flow = errors.project.tolerances, errors.project.flow
    if sizes.speed_percent:
        yield _source("speed", "")
    if flow is None:
        return
    if sizes.travel_percent:
        yield from (_source("travel", channel.id) for channel in flow.channels)
        yield from (_source("fill", magazine.id) for magazine in flow.magazines)
    if sizes.rate_percent:
        yield from (_source("rate", supply.id) for supply in flow.supplies)


def one_at_a_time(errors: Errors, some: Sequence[ErrorSource], every: Sequence[ErrorSource]) -> Draws:
    """Return machines with one error of `some` each; of all others of `every` the middle."""
    rows = FIRST_ROWS + 2 * len(some)
    columns: dict[Column, Floats] = {}
    for source in every:
        if source.middle:
            for column in source.columns:
                columns[column] = _middles(rows, source.middle)
    for number, source in enumerate(some):
        for column in source.columns:
            values = columns.setdefault(column, _middles(rows, source.middle))
            first = FIRST_ROWS + 2 * number
            values[first : first + 2] = source.limits
    return drawn_at(errors.project, rows, columns)


def _middles(rows: int, middle: float) -> Floats:
    values = np.full(rows, middle)
    values[0] = 0.0
    return values
