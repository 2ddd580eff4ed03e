"""A log of an encoder and switches as rows of measurements: where each signal changes, and in which sense.

The first line names the columns, separated by commas, semicolons or tabs: `angle`, of the master shaft in
degrees (it may count on past a turn), and for each signal a lane and what it says: `A1 open` is a switch
that is one way while A1 is at open and the other way elsewhere, `A1 mm` is the output in mm. A lane stands
by its id, code or name. The threshold of a switch is found from its own values: it parts them into two
groups so that the variance between them is greatest (N. Otsu, A Threshold Selection Method from Gray-Level
Histograms, IEEE Trans. Systems, Man, and Cybernetics 9 (1979) 62-66); which group means the level is the one
that agrees more with the program. A signal has changed once it is past the threshold by a share of the
distance of both groups.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, parse_number, plain
from shaftscore.kinematics.motion.states import level_intervals
from shaftscore.make.asbuilt.reading import measurable
from shaftscore.model.project import Measured, Project
from shaftscore.solution import LaneSolution, Solution

MOST_TEXT = 16_000_000
"""Longest log that is read, characters."""

MOST_ROWS = 200_000
"""Most lines of a log."""

MOST_EDGES = 20_000
"""Most edges that are taken from one log."""

PAST = 0.2
"""Share of the distance of both groups by which a signal is past the threshold once it has changed."""

APART = 0.6
"""Least share of a switch's variance that lies between its two groups."""

OUTPUT = "mm"
"""What a column is called after its lane where it is the output."""

Reals = npt.NDArray[np.float64]


@dataclass(frozen=True)
class LogThreshold:
    """Where a signal was parted: its column, the value, and how many edges it gave."""

    column: str
    value: float
    edges: int


@dataclass(frozen=True)
class ReadLog:
    """What a log gives: rows of measurements, and the threshold of every switch."""

    rows: tuple[Measured, ...]
    thresholds: tuple[LogThreshold, ...]


@dataclass(frozen=True)
class _Column:
    """A signal: its name, its lane, its level ("" for an output in mm), its values, (n,)."""

    name: str
    lane_id: str
    level: str
    values: Reals


def read_log(solution: Solution, text: str) -> ReadLog:
    """Read a log; raises EditError with what cannot be read or tells no edge."""
    angles, columns = _table(solution.project, text)
    run = _counted_on(angles)
    rows: list[Measured] = []
    thresholds: list[LogThreshold] = []
    for column in columns:
        solved = measurable(solution, column.lane_id)
        if column.level:
            at = _threshold(column)
            found = list(_switched(solved, column, run, at))
            thresholds.append(LogThreshold(column.name, at, len(found)))
        else:
            found = list(_passed(solved, column, run))
        rows += found
        if len(rows) > MOST_EDGES:
            raise EditError(f"the log has over {MOST_EDGES:,} edges; cut it to a few turns")
    if not rows:
        raise EditError("no signal of the log changes: turn the machine past the edges while it is logged")
    return ReadLog(tuple(rows), tuple(thresholds))


# ---- the table


def _table(project: Project, text: str) -> tuple[Reals, list[_Column]]:
    if len(text) > MOST_TEXT:
        raise EditError(f"the log has {len(text):,} characters; {MOST_TEXT:,} are the most")
    lines = [line for line in text.lstrip("\ufeff").splitlines() if line.strip()]
    if len(lines) < 3:
        raise EditError("a log has a line with the columns' names and at least two lines of values")
    if len(lines) > MOST_ROWS + 1:
        raise EditError(f"the log has {len(lines) - 1:,} lines of values; {MOST_ROWS:,} are the most")
    separator = next((one for one in "\t;" if one in lines[0]), ",")
    heads = [cell.strip() for cell in next(csv.reader([lines[0]], delimiter=separator))]
    if "angle" not in [head.casefold() for head in heads]:
        raise EditError('line 1: there is no column "angle"')
    named = [None if head.casefold() == "angle" else _signal(project, head) for head in heads]
    values = _values(lines[1:], separator, len(heads))
    columns = [
        _Column(head, *signal, values[:, place])
        for place, (head, signal) in enumerate(zip(heads, named, strict=True))
        if signal is not None
    ]
    if not columns:
        raise EditError('line 1: there is no signal; name one a lane and a level, such as "A1 open"')
    return values[:, named.index(None)], columns


def _signal(project: Project, head: str) -> tuple[str, str]:
    """Return the lane and the level ("" for the output) of a column's name."""
    names = {
        name: lane for lane in reversed(project.lanes) for name in (lane.name, lane.code, lane.id) if name
    }
    for name, lane in sorted(names.items(), key=lambda item: -len(item[0])):
        rest = head.removeprefix(name).strip()
        if not head.startswith(name) or rest == head:
            continue
        if rest == OUTPUT:
            return lane.id, ""
        if rest in project.levels_of(lane):
            return lane.id, rest
        levels = ", ".join(project.levels_of(lane))
        hint = did_you_mean(rest, project.levels_of(lane))
        told = f'line 1: "{head}" needs a level of {lane.label} ({levels}), or {OUTPUT} for its output'
        raise EditError(f"{told}; {hint}" if hint else told)
    hint = did_you_mean(head.partition(" ")[0], names)
    raise EditError(f'line 1: "{head}" begins with no lane' + (f"; {hint}" if hint else ""))


def _values(lines: Sequence[str], separator: str, wide: int) -> Reals:
    found = np.empty((len(lines), wide))
    for number, cells in enumerate(csv.reader(lines, delimiter=separator)):
        if len(cells) < wide:
            raise EditError(f"line {number + 2}: has {len(cells)} cells for {wide} columns")
        try:
            found[number] = [parse_number(cell) for cell in cells[:wide]]
        except ValueError as error:
            raise EditError(f"line {number + 2}: {error}") from error
    return found


def _counted_on(angles: Reals) -> Reals:
    """Return the angles counted on past every turn, (n,); lines in a row are under half a turn apart."""
    return np.rad2deg(np.unwrap(np.deg2rad(angles)))


# ---- edges


def _threshold(column: _Column) -> float:
    """Return the value that parts a switch's values in two; raises EditError without two groups."""
    ordered = np.sort(column.values)
    count, total = np.arange(1, len(ordered)), np.cumsum(ordered)
    low = total[:-1] / count
    high = (total[-1] - total[:-1]) / (len(ordered) - count)
    between = count * (len(ordered) - count) * (high - low) ** 2
    place = int(np.argmax(between))
    whole = float(np.var(ordered)) * len(ordered) ** 2
    if whole <= 0 or between[place] / whole < APART:
        raise EditError(f'"{column.name}" has no two values that can be told apart; is the switch connected?')
    return float(low[place] + high[place]) / 2


def _switched(solved: LaneSolution, column: _Column, run: Reals, at: float) -> Iterator[Measured]:
    """Yield the edges of a level from its switch."""
    values = column.values
    past = PAST * (np.mean(values[values > at]) - np.mean(values[values <= at]))
    spans = [one.span for one in level_intervals(solved.lane, solved.motion, column.level)]  # type: ignore[arg-type]
    own = wrap(run * solved.turns)
    due = np.zeros(len(own), dtype=bool)
    for span in spans:
        start, length = span.spans[0]
        due |= wrap(own - start) <= length
    if np.mean((values > at) == due) < 0.5:
        values, at = -values, -at
    yield from _edges(solved, column.level, run, values - at, float(past))


def _passed(solved: LaneSolution, column: _Column, run: Reals) -> Iterator[Measured]:
    """Yield the edges of all levels from a measured output."""
    band = solved.lane.band
    for level, height in solved.lane.levels.items():
        inside = band - np.abs(column.values - height)
        yield from _edges(solved, level, run, inside, PAST * band)


def _edges(solved: LaneSolution, level: str, run: Reals, inside: Reals, past: float) -> Iterator[Measured]:
    """Yield an edge wherever a signal goes from clearly under 0 to clearly over it, or back."""
    clear = np.flatnonzero(np.abs(inside) > past)
    flips = np.flatnonzero(np.sign(inside[clear[1:]]) != np.sign(inside[clear[:-1]]))
    for flip in flips:
        first, last = int(clear[flip]), int(clear[flip + 1])
        turned = run[last] - run[first]
        if turned == 0 or abs(turned) * solved.turns >= TURN / 2:
            continue  # it stood still, or was turned on too far for an edge to be placed
        angle = _zero(run[first : last + 1], inside[first : last + 1])
        entering, forward = bool(inside[last] > 0), bool(turned > 0)
        yield Measured(
            lane=solved.lane.id,
            level=level,
            edge="begin" if entering == forward else "end",
            angle_deg=float(wrap(angle * solved.turns)),
            sense="forward" if forward else "backward",
        )


def _zero(run: Reals, inside: Reals) -> float:
    """Return the angle at which a signal is 0 for the first time between its ends."""
    place = int(np.flatnonzero(np.sign(inside[1:]) != np.sign(inside[0]))[0])
    before, after = float(inside[place]), float(inside[place + 1])
    return float(run[place] + (run[place + 1] - run[place]) * before / (before - after))


def threshold_text(found: LogThreshold) -> str:
    """Write where a signal was parted."""
    return f"{found.column}: parted at {plain(found.value, 3)}, {found.edges} edges"
