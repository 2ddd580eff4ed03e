"""From a draft to dwells: where the visits of each step start, what each lane holds, and what has no time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from shaftscore.base.angles import TURN
from shaftscore.base.tolerance import EDIT_DEG
from shaftscore.base.wording import degrees
from shaftscore.edits.state_table.table import Column, Span, Timing, sizes, spans_of, step_at
from shaftscore.model.project import Project
from shaftscore.program.meaning import PaintMeaning, ProgramDraft, starts_of


@dataclass(frozen=True)
class LaneVisit:
    """A visit of a lane: step, counted from 0, level, place among the step's visits, and when it holds.

    start_deg, hold_deg: degrees of the lane's own stack.
    """

    lane_id: str
    step: int
    level: str
    place: int
    start_deg: float
    hold_deg: float


@dataclass(frozen=True)
class TimeProblem:
    """A lane without time in a step, counted from 0.

    level: where it should be. longest_deg: longest hold that fits, degrees; None where the hold is not what
    is too long, or none fits. is_late: it only returns after its step has ended; else its moves overlap and
    the program cannot be applied.
    """

    lane_id: str
    step: int
    level: str
    longest_deg: float | None
    is_late: bool

    def text(self, project: Project) -> str:
        """Write what is wrong, as a sentence."""
        who = f"{project.lane(self.lane_id).label} {self.level} in step {self.step + 1}"
        what = "returns after its step has ended" if self.is_late else "has no time for its moves"
        if self.longest_deg is None:
            return f"{who} {what}; shorten the moves, or start earlier."
        return f"{who} {what}; the longest hold that fits is {degrees(self.longest_deg)}."


@dataclass(frozen=True)
class LaidLane:
    """A lane as the draft makes it: its dwells and what has no time among them."""

    lane_id: str
    spans: tuple[Span, ...]
    problems: tuple[TimeProblem, ...]


def visits_of(project: Project, draft: ProgramDraft) -> tuple[LaneVisit, ...]:
    """Return all visits, step by step, in the order of the grid within a step."""
    starts = starts_of(project, len(draft.frames))
    found: list[LaneVisit] = []
    for step, frame in enumerate(draft.frames):
        place = 0
        for lane_id in draft.grid.lanes:
            meaning, level = draft.meanings[lane_id], frame.level(lane_id)
            if meaning.kind != "visit" or level is None or level == meaning.rest:
                continue
            start = starts[step] + draft.timing.first_deg + place * draft.timing.stagger_deg
            found.append(LaneVisit(lane_id, step, level, place, start, meaning.hold_deg))
            place += 1
    return tuple(found)


def shown_columns(draft: ProgramDraft) -> Mapping[str, Column]:
    """Return the level of each lane in each step as the state table shows it, by lane id."""
    return {lane_id: _column(draft, lane_id, draft.meanings[lane_id]) for lane_id in draft.grid.lanes}


def _column(draft: ProgramDraft, lane_id: str, meaning: PaintMeaning) -> Column:
    painted = tuple(frame.level(lane_id) for frame in draft.frames)
    if meaning.kind == "stay" and any(level is not None for level in painted):
        return painted
    return tuple(level if level is not None else meaning.rest for level in painted)


def lay_lanes(project: Project, draft: ProgramDraft) -> dict[str, LaidLane]:
    """Return every lane that has a place as the draft makes it, by lane id."""
    by_lane: dict[str, list[LaneVisit]] = {lane_id: [] for lane_id in draft.grid.lanes}
    for visit in visits_of(project, draft):
        by_lane[visit.lane_id].append(visit)
    return {lane_id: _laid(project, draft, lane_id, visits) for lane_id, visits in by_lane.items()}


def _laid(project: Project, draft: ProgramDraft, lane_id: str, visits: list[LaneVisit]) -> LaidLane:
    starts, meaning = starts_of(project, len(draft.frames)), draft.meanings[lane_id]
    if meaning.kind == "visit":
        spans = tuple(_visit_spans(visits, meaning.rest, draft.timing.move_deg, starts[0]))
        return LaidLane(lane_id, spans, tuple(_visit_problems(draft, visits, starts)))
    column = _column(draft, lane_id, meaning)
    spans = tuple(spans_of(column, Timing(None, draft.timing.move_deg), starts))
    return LaidLane(lane_id, spans, tuple(_step_problems(lane_id, spans, starts)))


def _visit_spans(visits: list[LaneVisit], rest: str, move: float, first: float) -> Iterator[Span]:
    """Yield the dwells of a lane that visits: each hold, and the rest between it and the next one."""
    if not visits:
        yield rest, first, TURN
    for visit, after in zip(visits, _starts_after(visits), strict=True):
        yield visit.level, visit.start_deg, visit.hold_deg
        back = visit.start_deg + visit.hold_deg + move
        yield rest, back, after - move - back


def _starts_after(visits: list[LaneVisit]) -> list[float]:
    """Return where the visit after each one starts, unrolled degrees."""
    starts = [visit.start_deg for visit in visits]
    return [*starts[1:], *(start + TURN for start in starts[:1])]


def _visit_problems(
    draft: ProgramDraft, visits: list[LaneVisit], starts: tuple[float, ...]
) -> Iterator[TimeProblem]:
    """Yield the visits that do not return in time: before the next one, or within their step."""
    move, lengths = draft.timing.move_deg, sizes(starts)
    for visit, after in zip(visits, _starts_after(visits), strict=True):
        within = starts[visit.step] + lengths[visit.step] - move - visit.start_deg
        before_next = after - 2 * move - visit.start_deg
        longest = min(within, before_next)
        if visit.hold_deg > longest + EDIT_DEG:
            fits = round(longest, 5) if longest >= 0 else None
            is_late = visit.hold_deg <= before_next + EDIT_DEG
            yield TimeProblem(visit.lane_id, visit.step, visit.level, fits, is_late)


def _step_problems(lane_id: str, spans: tuple[Span, ...], starts: tuple[float, ...]) -> Iterator[TimeProblem]:
    """Yield the dwells for which the moves beside them leave no time."""
    for level, start, length in spans:
        if length < -EDIT_DEG:
            step = step_at(starts, start + length / 2)
            yield TimeProblem(lane_id, step, level, None, is_late=False)


def lanes_changed(project: Project, draft: ProgramDraft, before: ProgramDraft) -> tuple[str, ...]:
    """Return the lanes with a place, by id, whose dwells another draft does not make, or that have none yet.

    What was not touched keeps its program, however it was timed.
    """
    now, then = lay_lanes(project, draft), lay_lanes(project, before)
    return tuple(
        own
        for own, laid in now.items()
        if own not in then or laid.spans != then[own].spans or not project.lane(own).blocks
    )


def with_holds_that_fit(draft: ProgramDraft, problems: tuple[TimeProblem, ...]) -> ProgramDraft:
    """Return the draft in which each lane that has no time holds the longest that fits all its visits."""
    least: dict[str, float] = {}
    for problem in problems:
        if problem.longest_deg is not None:
            least[problem.lane_id] = min(problem.longest_deg, least.get(problem.lane_id, TURN))
    for lane_id, hold in least.items():
        draft = draft.with_meaning((lane_id,), hold_deg=hold)
    return draft
