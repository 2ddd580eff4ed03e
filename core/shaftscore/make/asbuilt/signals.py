"""A log of an encoder and switches as rows of measurements: where each signal changes, and in which sense.

The first line names the columns, separated by commas, semicolons or tabs: `angle`, of the master shaft in
degrees (it may count on past a turn), and for each signal a lane and what it says: `A1 open` is a switch
that is one way while A1 is at open and the other way elsewhere, `A1 mm` is the output in mm. A lane stands
by its id, code or name. The threshold of a switch is found from its own values: it parts them into two
groups so that the variance between them is greatest (N. Otsu, A Threshold Selection Method from Gray-Level
Histograms, IEEE Trans. Systems, Man, and Cybernetics 9 (1979) 62-66); which group means the level is the one
that agrees more with the program. A signal has changed once it is past the threshold by a share of the
distance of both groups.

Lanes of slow and stepped stacks are read by their own angle in the cycle that the log is found to start in
(`log_cycles`). What a log is too short to tell of them is said in its `notes`.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from shaftscore.base.angles import TURN, wrap
from shaftscore.base.errors import EditError
from shaftscore.base.wording import did_you_mean, parse_number, plain
from shaftscore.make.asbuilt.log_cycles import (
    LoggedSignal,
    LogStart,
    is_due,
    is_even,
    log_start,
    place_text,
    silent_text,
    unknown_text,
)
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
    """What a log gives: rows of measurements, and the threshold of every switch.

    places: where each row was found in the run, "cycle 7, 212.0°". notes: sentences on lanes of slow stacks:
    where their edges are, and what the log is too short to tell.
    """

    rows: tuple[Measured, ...]
    thresholds: tuple[LogThreshold, ...]
    places: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Column:
    """A signal: its name, its lane, its level ("" for an output in mm), its values, (n,)."""

    name: str
    lane_id: str
    level: str
    values: Reals


@dataclass(frozen=True)
class _Edge:
    """An edge: its row, and where on the circle of its lane's round it was found, unrolled degrees.

    is_locked: it came while the stage of the stack was locked, so that it tells no angle of the stack.
    """

    row: Measured
    circle_deg: float
    is_locked: bool


def read_log(solution: Solution, text: str) -> ReadLog:
    """Read a log; raises EditError with what cannot be read or tells no edge."""
    angles, columns = _table(solution.project, text)
    run = _counted_on(angles)
    lanes = {column.lane_id: measurable(solution, column.lane_id) for column in columns}
    notes: list[str] = []
    parted = list(_parted(lanes, columns, run, notes))
    start = log_start([signal for _, signal, _ in parted], run)
    notes += _unknown(parted, start, run)
    edges: list[_Edge] = []
    thresholds: list[LogThreshold] = []
    for column, signal, at in parted:
        if start.first.get(signal.solved.stack, 0) is None:
            continue
        circle = start.circle(signal.solved, run)
        found = list(_switched(signal, circle) if column.level else _passed(signal, circle))
        if column.level:
            thresholds.append(LogThreshold(column.name, at, len(found)))
        notes += _places(column, signal.solved, found)
        edges += [edge for edge in found if not edge.is_locked]
        if len(edges) > MOST_EDGES:
            raise EditError(f"the log has over {MOST_EDGES:,} edges; cut it to a few turns")
    if not edges:
        why = "".join(f"; {note}" for note in notes)
        raise EditError(
            f"no signal of the log changes: turn the machine past the edges while it is logged{why}"
        )
    places = tuple(place_text(one.circle_deg, lanes[one.row.lane].course.cycles) for one in edges)
    return ReadLog(tuple(one.row for one in edges), tuple(thresholds), places, tuple(notes))


def _parted(
    lanes: Mapping[str, LaneSolution], columns: Sequence[_Column], run: Reals, notes: list[str]
) -> Iterator[tuple[_Column, LoggedSignal, float]]:
    """Yield each column as a signal, and the threshold of a switch; notes: of slow lanes at rest."""
    for column in columns:
        solved = lanes[column.lane_id]
        if not column.level:
            yield column, LoggedSignal(solved, "", column.values), 0.0
            continue
        try:
            at = _threshold(column)
        except EditError:
            if solved.course.cycles <= 1:
                raise
            notes.append(silent_text(column.name, solved.course.cycles, run))
            continue
        yield column, LoggedSignal(solved, column.level, column.values - at), at


def _unknown(
    parted: Sequence[tuple[_Column, LoggedSignal, float]], start: LogStart, run: Reals
) -> Iterator[str]:
    """Yield what the log is too short to tell of slow stacks."""
    for stack, first in start.first.items():
        if first is None:
            own = {one.solved.lane.label: one.solved for _, one, _ in parted if one.solved.stack == stack}
            cycles = next(iter(own.values())).course.cycles
            yield unknown_text(list(own), cycles, run, start.possible[stack])


MOST_PLACES = 4
"""Edges of a lane whose places are told."""


def _places(column: _Column, solved: LaneSolution, edges: Sequence[_Edge]) -> Iterator[str]:
    """Yield where the edges of a lane of a slow stack are, and how many came while its stage was locked."""
    cycles = solved.course.cycles
    read = [one for one in edges if not one.is_locked]
    if cycles > 1 and read:
        told = [
            f"{one.row.level} {'starts' if one.row.edge == 'begin' else 'ends'} at "
            f"{place_text(one.circle_deg, cycles)}"
            for one in read[:MOST_PLACES]
        ]
        more = f" and {len(read) - MOST_PLACES} more" if len(read) > MOST_PLACES else ""
        yield f"{column.name}: {', '.join(told)}{more}"
    locked = len(edges) - len(read)
    if locked:
        yield f"{column.name}: {locked} edges came while its stage was locked and are not read"


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


def _switched(signal: LoggedSignal, circle: Reals) -> Iterator[_Edge]:
    """Yield the edges of a level from its switch; circle: of the lane's round, counted on, (n,) degrees."""
    values = signal.values
    past = PAST * (np.mean(values[values > 0]) - np.mean(values[values <= 0]))
    own = wrap(_own(signal.solved, circle))
    if np.mean((values > 0) == is_due(signal.solved, signal.level, np.asarray(own))) < 0.5:
        values = -values
    yield from _edges(signal.solved, signal.level, circle, values, float(past))


def _passed(signal: LoggedSignal, circle: Reals) -> Iterator[_Edge]:
    """Yield the edges of all levels from a measured output."""
    band = signal.solved.lane.band
    for level, height in signal.solved.lane.levels.items():
        inside = band - np.abs(signal.values - height)
        yield from _edges(signal.solved, level, circle, inside, PAST * band)


def _own(solved: LaneSolution, circle: Reals) -> Reals:
    """Return the angles of a lane's stack, unrolled, (n,) degrees."""
    return circle * solved.course.turns if not solved.course.is_stepped else solved.course.own(circle)[0]


def _edges(solved: LaneSolution, level: str, run: Reals, inside: Reals, past: float) -> Iterator[_Edge]:
    """Yield an edge wherever a signal goes from clearly under 0 to clearly over it, or back.

    run: angles of the circle of the lane's round, counted on, (n,) degrees.
    """
    course = solved.course
    clear = np.flatnonzero(np.abs(inside) > past)
    flips = np.flatnonzero(np.sign(inside[clear[1:]]) != np.sign(inside[clear[:-1]]))
    for flip in flips:
        first, last = int(clear[flip]), int(clear[flip + 1])
        turned = run[last] - run[first]
        if turned == 0 or _is_far(solved, float(run[first]), float(run[last])):
            continue  # it stood still, or was turned on too far for an edge to be placed
        angle = _zero(run[first : last + 1], inside[first : last + 1])
        entering, forward = bool(inside[last] > 0), bool(turned > 0)
        own = course.own(np.array([angle]))[:2, 0]
        row = Measured(
            lane=solved.lane.id,
            level=level,
            edge="begin" if entering == forward else "end",
            angle_deg=float(wrap(angle * course.turns if is_even(solved) else own[0])),
            sense="forward" if forward else "backward",
        )
        yield _Edge(row, angle, course.is_stepped and bool(own[1] == 0.0))


def _is_far(solved: LaneSolution, first: float, last: float) -> bool:
    """Return whether a stack turned half a turn or more between angles of the circle, or its master did."""
    course = solved.course
    first_own, last_own = _own(solved, np.array([first, last]))
    is_far = abs(last_own - first_own) >= TURN / 2
    return bool(is_far or (course.cycles > 1 and abs(last - first) * float(course.cycles) >= TURN / 2))


def _zero(run: Reals, inside: Reals) -> float:
    """Return the angle at which a signal is 0 for the first time between its ends."""
    place = int(np.flatnonzero(np.sign(inside[1:]) != np.sign(inside[0]))[0])
    before, after = float(inside[place]), float(inside[place + 1])
    return float(run[place] + (run[place + 1] - run[place]) * before / (before - after))


def threshold_text(found: LogThreshold) -> str:
    """Write where a signal was parted."""
    return f"{found.column}: parted at {plain(found.value, 3)}, {found.edges} edges"
