"""Where the outputs of one motion, or of many, lie within bands: parts of runs, joined to stretches.

Ends are exact to 1e-9 degree. A motion that drops at 0 (`LaneMotion.drop_mm`) counts on through 0, and its
bands count modulo the drop.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from shaftscore.base.angles import Arcs
from shaftscore.kinematics.motion.curve import Floats, Ints
from shaftscore.kinematics.motion.runs import RunTable


class MotionStretch(NamedTuple):
    """A longest stretch of the turn within a band of outputs.

    segments: those that it touches, in turning order. turns: whether the output turns back in it.
    """

    span: Arcs
    segments: tuple[int, ...]
    turns: bool


class AskedBands(NamedTuple):
    """Bands of outputs, low_mm to high_mm, that are asked of one of several motions.

    first_run, stop_run: its runs in the table of all. first_segment: its first segment there. drop_mm: what
    it drops by at 0. segments: how many it has.
    """

    low_mm: Sequence[float]
    high_mm: Sequence[float]
    first_run: int
    stop_run: int
    first_segment: int
    segments: int
    drop_mm: float = 0.0


class _Part(NamedTuple):
    """The part of a run within a band: whether it begins and ends where the run does, and where it is.

    run, segment: as the motion itself counts them. way: 1 up, -1 down, 0 a rest.
    """

    run: int
    from_start: bool
    to_end: bool
    start_deg: float
    length_deg: float
    segment: int
    way: float


def stretches_within(runs: RunTable, asked: Sequence[AskedBands]) -> list[list[tuple[MotionStretch, ...]]]:
    """Find where the outputs of some motions lie within closed bands, all of them in one pass.

    runs: of all the motions. Returns for each motion, for each of its bands, the stretches in turning order
    of their starts.
    """
    parts = _parts(runs, asked)
    found = []
    for one in asked:
        mine = []
        for low, high in zip(one.low_mm, one.high_mm, strict=True):
            some = next(parts)
            whole = one.drop_mm and high - low >= one.drop_mm
            mine.append(_whole(one) if whole else _joined(some, one.stop_run - one.first_run))
        found.append(mine)
    return found


def _whole(one: AskedBands) -> tuple[MotionStretch, ...]:
    return (MotionStretch(Arcs.full(), tuple(range(one.segments)), True),)


def _parts(runs: RunTable, asked: Sequence[AskedBands]) -> Iterator[list[_Part]]:
    """Yield the parts of runs within each band that is asked for, in the order of the runs."""
    low, high, owner, motion = _bands(runs, asked)
    first_run, stop_run, first_segment = np.array([one[2:5] for one in asked], dtype=np.int64).T
    counts = (stop_run - first_run)[motion]
    band = np.repeat(np.arange(len(low)), counts)
    run = np.arange(len(band)) - np.repeat(np.cumsum(counts) - counts - first_run[motion], counts)
    pair, begin, end = runs.within(run, low[band], high[band])
    band, run = band[pair], run[pair]
    if any(one.drop_mm for one in asked):  # what one band became is asked at several heights
        order = np.lexsort((begin, run, owner[band]))
        band, run, begin, end = band[order], run[order], begin[order], end[order]
    segment, of = runs.segment[run], motion[band]
    length = runs.table.lengths_deg[segment]
    columns = (
        run - first_run[of],
        begin == runs.x0[run],
        end == runs.x1[run],
        runs.table.starts_deg[segment] + begin * length,
        length * (end - begin),
        segment - first_segment[of],
        np.sign(runs.s1[run] - runs.s0[run]),
    )
    rows = list(map(_Part._make, zip(*(column.tolist() for column in columns), strict=True)))
    total = sum(len(one.low_mm) for one in asked)
    bounds = np.searchsorted(owner[band], np.arange(total + 1)).tolist()
    return (rows[first:stop] for first, stop in pairwise(bounds))


def _bands(runs: RunTable, asked: Sequence[AskedBands]) -> tuple[Floats, Floats, Ints, Ints]:
    """Return all bands, their ends, which of those asked for each is, and of which motion: (b,) each."""
    low = np.array([mm for one in asked for mm in one.low_mm], dtype=float)
    high = np.array([mm for one in asked for mm in one.high_mm], dtype=float)
    owner = np.arange(len(low))
    motion = np.repeat(np.arange(len(asked)), [len(one.low_mm) for one in asked])
    if not any(one.drop_mm for one in asked):
        return low, high, owner, motion
    parts = [_modulo(runs, one, low[mine], high[mine]) for one, mine in _each(asked, owner, motion)]
    shifts = [of for of, _ in parts]
    owner = np.concatenate([owner[motion == m][of] for m, of in enumerate(shifts)])
    by = np.concatenate([by for _, by in parts])
    return low[owner] + by, high[owner] + by, owner, motion[owner]


def _each(asked: Sequence[AskedBands], owner: Ints, motion: Ints) -> Iterator[tuple[AskedBands, Ints]]:
    return ((one, owner[motion == number]) for number, one in enumerate(asked))


def _modulo(runs: RunTable, one: AskedBands, low: Floats, high: Floats) -> tuple[Ints, Floats]:
    """Repeat bands by the drop wherever the counted-on outputs reach: which band, and by how much, mm."""
    if not one.drop_mm or not len(low):
        return np.arange(len(low)), np.zeros(len(low))
    mine = slice(one.first_run, one.stop_run)
    least = min(runs.s0[mine].min(), runs.s1[mine].min())
    most = max(runs.s0[mine].max(), runs.s1[mine].max())
    first = int(np.floor((least - high.max()) / one.drop_mm))
    last = int(np.ceil((most - low.min()) / one.drop_mm))
    shifts = np.arange(first, last + 1) * one.drop_mm
    return np.tile(np.arange(len(low)), len(shifts)), np.repeat(shifts, len(low))


def _joined(parts: list[_Part], run_count: int) -> tuple[MotionStretch, ...]:
    """Join parts of successive runs that meet at the runs' ends."""
    if not parts:
        return ()
    groups = [[parts[0]]]
    for before, part in pairwise(parts):
        if _meet(before, part, run_count):
            groups[-1].append(part)
        else:
            groups.append([part])
    closes = _meet(parts[-1], parts[0], run_count)
    if closes and len(groups) == 1:
        return (MotionStretch(Arcs.full(), _segments(parts), True),)
    if closes:
        groups[0] = groups.pop() + groups[0]
    found = [MotionStretch(_span(group), _segments(group), _turns(group)) for group in groups]
    return tuple(found) if len(found) == 1 else tuple(sorted(found, key=lambda one: one.span.start))


def _meet(one: _Part, following: _Part, run_count: int) -> bool:
    after = one.run + 1 if one.run + 1 < run_count else 0
    return following.run == after and one.to_end and following.from_start


def _turns(group: list[_Part]) -> bool:
    return len({part.way for part in group}) > 1


def _segments(parts: list[_Part]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(part.segment for part in parts))


def _span(group: list[_Part]) -> Arcs:
    # Both ends of a stretch thinner than rounding may come out a hair the wrong way round.
    return Arcs.span(group[0].start_deg, max(0.0, sum(part.length_deg for part in group)))
