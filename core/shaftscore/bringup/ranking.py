"""Likely causes in their order: ranks, groups that cannot be told apart, and where to look next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shaftscore.base.angles import TURN
from shaftscore.base.wording import counted, degrees, listed, millimetres
from shaftscore.bringup.angles import check_angles, step_at
from shaftscore.bringup.comparing import HAND_DEG, ComparedSheet, predicted_sighting
from shaftscore.bringup.condition import Conditions
from shaftscore.bringup.counted_causes import with_counts
from shaftscore.bringup.fault_words import mark
from shaftscore.bringup.finder import CauseFinder, FoundCause, conditions_with
from shaftscore.bringup.items import TURNS
from shaftscore.bringup.outputs import BuiltOutputs
from shaftscore.bringup.records import (
    AlikeCauses,
    BuildFault,
    FaultRanking,
    LikelyCause,
    NextLook,
    PredictedSighting,
)
from shaftscore.bringup.sightings import Sighting, SightingSheet
from shaftscore.solution import Solution

LEAST_DIFFERENCES = 3
"""Differences under which no cause is believed."""

PAIR_SIGHTINGS = 2
"""By so many sightings a pair must explain more than every single cause, beside those of a lane, and of the
differences, that may be wrong."""

MOST_DOUBTED = 2
"""Differences that are doubted at most when a pair is held against a single cause."""

WRONG_ONE_IN = 50
"""One tick in so many may be wrong."""

ONE_SIGHTING = 1.5
"""What a single sighting is worth: one more explained, one less against."""

MOST_CAUSES = 12
"""Causes that are listed."""

ORDER = (
    "wrong-way",
    "upside-down",
    "hub-tooth",
    "geared-tooth",
    "swapped",
    "crossed",
    "stuck",
    "disc-over",
    "off-position",
    "spring-off",
    "empty",
    "slow-items",
    "all-late",
    "turned-disc",
    "travel",
    "late-falls",
    "slips",
)
"""Kinds of faults, the likelier first where what was seen is equal; those with a fitted size last."""


def likely_causes(
    solution: Solution,
    sheet: SightingSheet,
    outputs: BuiltOutputs | None = None,
    angles: Sequence[float] = (),
) -> FaultRanking:
    """Rank the causes of what was seen of a solved project.

    outputs: of this very solution, kept from a ranking before, which makes the next one faster. angles:
    where the shaft is stopped, degrees (`check_angles` if empty). Lanes that do not move, or that the
    project does not have, are left out. Raises KeyError for a level that its lane does not have.
    """
    compared = ComparedSheet(outputs or BuiltOutputs(solution), sheet)
    if not compared.differences:
        return FaultRanking(compared.sightings, 0, (), False, _nothing(compared))
    room = ONE_SIGHTING if compared.sightings >= WRONG_ONE_IN else 0.0
    wrong = len(sheet.checks) // WRONG_ONE_IN + min(compared.differences // WRONG_ONE_IN, MOST_DOUBTED)
    gain = ONE_SIGHTING * (PAIR_SIGHTINGS + wrong)
    of_lanes = _believable(CauseFinder(compared), gain, room) if compared.lane_differences else []
    found = with_counts(compared, of_lanes, gain)
    causes = _each_once(sorted(found.causes, key=_order))[:MOST_CAUSES]
    groups = _groups(compared, causes, room)
    doubt = _doubt(compared, causes)
    look = _next_look(compared, groups, doubt, angles or check_angles(solution))
    message = _message(compared, doubt, look, found.left_out)
    return FaultRanking(compared.sightings, compared.differences, groups, not doubt, message, look)


def _nothing(compared: ComparedSheet) -> str:
    if not compared.sightings:
        return "Nothing was seen yet."
    return f"{_all(compared)} as drawn."


def _all(compared: ComparedSheet) -> str:
    word, count = _word(compared), compared.sightings
    return f"All {count} {word}s are" if count > 1 else f"The {word} is"


def _word(compared: ComparedSheet) -> str:
    """Return what was seen, in a word."""
    if not compared.counted.rows:
        return "sighting"
    return "observation" if compared.lane_sightings else "count"


def _believable(finder: CauseFinder, gain: float, room: float) -> list[FoundCause]:
    """Return the causes that are listed, best first: singles, and pairs if one explains clearly more.

    gain: by how much a pair must score over all singles, a share of all sightings. room: by how much causes
    that are not told apart may differ, a share of all sightings.
    """
    singles = finder.singles()
    best = singles[0].score if singles else 0.0
    pairs = finder.pairs()
    needed = best + gain
    if not pairs or pairs[0].score < needed:
        pairs = []
    least = min(needed, pairs[0].score - room) if pairs else 0.0
    pairs = [one for one in pairs if one.score >= least]
    return _each_once(sorted([*pairs, *singles], key=_order))[:MOST_CAUSES]


def _order(cause: FoundCause) -> tuple[float, int, int]:
    """Return what causes are sorted by: the best first, of equal ones the simplest."""
    return -cause.score, *_simplicity(cause.faults)


def _each_once(found: Sequence[FoundCause]) -> list[FoundCause]:
    """Return causes without those that are the same faults in another order."""
    kept: dict[frozenset[BuildFault], FoundCause] = {}
    for one in found:
        kept.setdefault(frozenset(one.faults), one)
    return list(kept.values())


def _simplicity(faults: Sequence[BuildFault]) -> tuple[int, int]:
    return len(faults), max(ORDER.index(fault.kind) for fault in faults)


Doubt = Literal["", "few", "poor"]
"""Why no cause is believed: too few differences, or none explains more than half of them."""


def _doubt(compared: ComparedSheet, found: Sequence[FoundCause]) -> Doubt:
    if compared.differences < LEAST_DIFFERENCES:
        return "few"
    most = found[0].tally.explained if found else 0
    wrong = min(compared.sightings // WRONG_ONE_IN, compared.differences - LEAST_DIFFERENCES)
    return "" if 2 * most > compared.differences - wrong else "poor"


def _message(compared: ComparedSheet, doubt: Doubt, look: NextLook | None, left_out: int) -> str:
    told = _doubt_text(compared, doubt, look)
    if not left_out:
        return told
    verb = "was" if left_out == 1 else "were"
    return f"{told} Items of {counted(left_out, 'cause')} {verb} not run: it would take too long."


def _doubt_text(compared: ComparedSheet, doubt: Doubt, look: NextLook | None) -> str:
    differ = f"{compared.differences} of {compared.sightings} {_word(compared)}s differ"
    if not doubt:
        return f"{differ}."
    if look is None and not compared.lane_differences:
        return f"{differ}. Not clear: count what comes to each outlet in {TURNS} turns, or look at the lanes."
    if look is None:
        return f"{differ}. Not clear: measure where lanes change, for Lane > Correct from measurements."
    more = max(1, LEAST_DIFFERENCES - compared.differences)
    will = "will tell" if more > 1 else "will tell more"
    return f"Not clear yet. {counted(more, 'more check')} {will}."


# ---- groups


def _groups(compared: ComparedSheet, found: Sequence[FoundCause], room: float) -> tuple[AlikeCauses, ...]:
    """Return causes in groups that what was seen cannot tell apart.

    Where one tick in WRONG_ONE_IN may be wrong, causes apart by a single sighting are not told apart. room:
    by how much their scores may then differ, a share of all sightings.
    """
    scores = [one.score for one in found]
    grouped: list[list[LikelyCause]] = []
    head = np.inf
    for one in found:
        rank = 1 + sum(score > one.score + 1e-9 for score in scores)
        cause = _cause(compared, one, rank)
        if one.score < head - room - 1e-9:
            grouped.append([])
            head = one.score
        grouped[-1].append(cause)
    return tuple(AlikeCauses(tuple(group), _alike_text(group, compared.differences)) for group in grouped)


def _alike_text(group: Sequence[LikelyCause], differences: int) -> str:
    """Return a sentence about the other causes of a group; empty for one, or where none explains much."""
    first, others = group[0], group[1:]
    if not others or 2 * first.explained <= differences:
        return ""
    same = [one for one in others if _agreements(one) == _agreements(first)]
    if same:
        return f"{_named(same)} would look the same. Check this first: {first.faults[0].look}"
    verb = "explains" if len(others) == 1 else "explain"
    nearly = "" if others[-1].rank == first.rank else "nearly "
    return f"{_named(others)} {verb} it {nearly}as well."


def _named(causes: Sequence[LikelyCause]) -> str:
    """Return the statements of some causes, two of them, and how many more."""
    names = [f"“{one.statement}”" for one in causes[:2]]
    return listed([*names, f"{len(causes) - 2} more"] if len(causes) > 2 else names)


def _agreements(cause: LikelyCause) -> tuple[list[bool | None], tuple[int, ...]]:
    """Return which of the sightings a cause agrees with, in order, and what it brings."""
    return [one.agrees for check in cause.predicted for one in check.values()], cause.brought


def _cause(compared: ComparedSheet, found: FoundCause, rank: int) -> LikelyCause:
    drawn = compared.outputs.drawn()
    conditions = conditions_with(drawn, compared, found.faults)
    predicted = _predicted(compared, conditions)
    brought = compared.counted.brought(conditions, found.faults) or ()
    return LikelyCause(
        faults=found.faults,
        statement="; ".join(_lower(place, fault.statement) for place, fault in enumerate(found.faults)),
        explained=found.tally.explained,
        against=found.tally.against,
        rank=rank,
        predicted=predicted,
        told=_told(compared, predicted) or compared.counted.told(brought),
        brought=brought,
    )


def _lower(place: int, statement: str) -> str:
    """Return a statement as the first or a later part of a sentence."""
    article = statement.startswith(("The ", "All ", "Disc ", "Discs ", "Magazine "))
    return statement[0].lower() + statement[1:] if place and article else statement


def _predicted(compared: ComparedSheet, conditions: Conditions) -> tuple[dict[str, PredictedSighting], ...]:
    """Return what conditions predict of every lane, a mapping a check."""
    found: tuple[dict[str, PredictedSighting], ...] = tuple({} for _ in compared.sheet.checks)
    for lane in compared.outputs.lanes:
        for own, one in zip(found, compared.predicted(lane, conditions[lane]), strict=True):
            own[lane] = one
    return found


def _told(compared: ComparedSheet, predicted: Sequence[Mapping[str, PredictedSighting]]) -> str:
    """Return a sentence about the first sighting that predictions contradict; empty without one."""
    for check, found in zip(compared.sheet.checks, predicted, strict=True):
        for lane, seen in check.seen.items():
            if lane in found and found[lane].agrees is False:
                name = mark(compared.outputs.project, lane)
                would = _seen_text(found[lane].level, found[lane].output_mm, seen)
                return f"{name} would be {would} at {degrees(check.angle_deg)}; you saw {_text(seen)}."
    return ""


def _seen_text(level: str, output_mm: float | None, seen: Sighting) -> str:
    """Return a prediction in the words in which a sighting was given."""
    if output_mm is None:
        return "nowhere"
    return level if isinstance(seen, str) and level and level != seen else f"at {millimetres(output_mm)}"


def _text(seen: Sighting) -> str:
    return seen if isinstance(seen, str) else millimetres(seen)


# ---- the next look


@dataclass(frozen=True)
class _Place:
    """A lane at an angle, how far two causes are apart there (share of its travel), what they predict."""

    lane: str
    angle_deg: float
    apart: float
    first: PredictedSighting
    second: PredictedSighting


def _next_look(
    compared: ComparedSheet, groups: Sequence[AlikeCauses], doubt: Doubt, usual: Sequence[float]
) -> NextLook | None:
    """Return the observation that tells the first two causes apart, or the first cause from the drawing."""
    causes = [cause for group in groups for cause in group.causes]
    if not causes or (len(causes) == 1 and not doubt):
        return None
    rivals: list[LikelyCause | None] = [*causes[1:]] or [None]
    for rival in rivals[:3]:
        place = _telling_place(compared, causes[0], rival, usual)
        if place is not None:
            return _look(compared, place)
    return None


def _look(compared: ComparedSheet, place: _Place) -> NextLook:
    project = compared.outputs.project
    step = step_at(project, place.angle_deg)
    sentence = (
        f"Look at {mark(project, place.lane)} in step {step} ({degrees(place.angle_deg)}) next: "
        "it tells them apart."
    )
    return NextLook(place.lane, place.angle_deg, step, place.first, place.second, sentence)


def _telling_place(
    compared: ComparedSheet, one: LikelyCause, other: LikelyCause | None, usual: Sequence[float]
) -> _Place | None:
    """Return where two causes differ most at an angle not looked at, at a check's angle if one does."""
    drawn = compared.outputs.drawn()
    first = conditions_with(drawn, compared, one.faults)
    second = conditions_with(drawn, compared, other.faults if other is not None else ())
    turn = max((check.turn for check in compared.sheet.checks), default=1)
    for angles in (np.array(usual), np.arange(0.0, TURN, 1.0)):
        best = _best_place(compared, first, second, angles, turn)
        if best is not None:
            return best
    return None


def _best_place(
    compared: ComparedSheet, first: Conditions, second: Conditions, angles: np.ndarray, turn: int
) -> _Place | None:
    """Return the unseen sighting that two conditions predict most differently; None where they agree."""
    outputs = compared.outputs
    run = angles + TURN * (turn - 1)
    best: tuple[float, str, int] = (0.0, "", 0)
    for lane in outputs.lanes:
        if first[lane] == second[lane]:
            continue
        apart = _apart(outputs, lane, (first, second), run)
        apart[_seen_at(compared, lane, angles)] = 0.0
        place = int(np.argmax(apart))
        if apart[place] > best[0] + 1e-9:
            best = (float(apart[place]), lane, place)
    apart_by, lane, place = best
    if not lane:
        return None
    there = run[place : place + 1]
    both = [
        predicted_sighting(outputs, lane, float(outputs.at(one[lane], there)[0])) for one in (first, second)
    ]
    return _Place(lane, float(angles[place]), apart_by, both[0], both[1])


def _apart(
    outputs: BuiltOutputs, lane: str, both: tuple[Conditions, Conditions], run_deg: np.ndarray
) -> np.ndarray:
    """Return how far two conditions are apart, shares of the travel, (n,): 0 where both show one level."""
    project = outputs.project
    levels = sorted(project.levels_of(project.lane(lane)).values())
    lows, highs = zip(*(outputs.within(one[lane], run_deg, HAND_DEG) for one in both), strict=True)
    gap = np.maximum(lows[0] - highs[1], lows[1] - highs[0])
    gap = np.where(np.isnan(gap), 0.0, gap)
    seen = [
        np.array([_nearest(levels, value) for value in (low + high) / 2])
        for low, high in zip(lows, highs, strict=True)
    ]
    travel = (levels[-1] - levels[0]) if len(levels) > 1 else 1.0
    return np.where((seen[0] != seen[1]) & (gap > 0), gap / (travel or 1.0), 0.0)


def _nearest(levels: Sequence[float], value: float) -> float:
    return min(levels, key=lambda level: abs(level - value), default=0.0)


def _seen_at(compared: ComparedSheet, lane: str, angles: np.ndarray) -> np.ndarray:
    """Return at which angles a lane was looked at, (n,)."""
    seen = compared.lanes.get(lane)
    if seen is None:
        return np.zeros(len(angles), bool)
    at = np.array([compared.sheet.checks[number].angle_deg for number in seen.check])
    return np.asarray(np.any(np.abs(angles[:, None] - at[None, :]) < HAND_DEG, axis=1))
