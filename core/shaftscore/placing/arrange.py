"""Arrange: place every block so that all rules hold, then make it good, and have the real solver confirm it.

An answer goes through three aims in the order that the person prefers; each keeps what those before it
reached. The *margin* and the *change* are linear and are first searched for with CP-SAT; the *torque* is
refined by a local search with the real torque, which starts from there. What the real solver then finds
beyond the project as drawn is learnt (longer moves, more margin) and the search begins again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.base.wording import did_you_mean
from shaftscore.edits import BlockRef
from shaftscore.judge.findings import Finding, Severity, words
from shaftscore.judge.report import Report, examine
from shaftscore.judge.report.json_object import finite
from shaftscore.model import Project
from shaftscore.placing.affine import STEP_DEG, Affine, var
from shaftscore.placing.complete import completed, holds
from shaftscore.placing.drawn import BY_TOLERANCES, errors_as_drawn
from shaftscore.placing.lanes import ArrangeError
from shaftscore.placing.local import Aim, Guards, Local
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.search import MARGIN_PARTS, Answer, Goal, Search
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.torque import Torques
from shaftscore.placing.why import Refusal, why_not

ORDERS: dict[Aim, tuple[Aim, ...]] = {
    "margin": ("margin", "torque", "least-change"),
    "torque": ("torque", "margin", "least-change"),
    "least-change": ("least-change", "margin", "torque"),
}
"""The order of aims for each preference."""


def aim_named(name: str) -> Aim:
    """Return the aim of a name. Raises ValueError that names those there are."""
    for aim in ORDERS:
        if aim == name:
            return aim
    hint = did_you_mean(name, ORDERS) or f"it is one of {', '.join(ORDERS)}"
    raise ValueError(f'there is no "{name}"; {hint}')


TURNED_S, FIRST_S, MARGIN_S, CHANGE_S = 10.0, 20.0, 2.0, 2.0
"""Deterministic time of the searches, about seconds of one processor."""

TRIES: dict[Aim, int] = {"margin": 1500, "torque": 2400, "least-change": 600}
"""Tries of the local search, for up to `LANES` lanes; in proportion for more."""

LANES = 16

MOST_TRIES = 12_000
"""Most tries of the local search for one aim, however many lanes there are."""

ROUNDS = 4
"""Most searches for an arrangement that the real solver confirms."""

LONGER = 1.1
"""A move whose disc or forces the real solver objects to is made longer by this factor."""

MORE_DEG = 0.5
"""By so much the margin is raised where the real solver objects to the timing or its chance, degrees."""

TIMING = frozenset(
    (
        "no-time",
        "pass-through",
        "overlap",
        "interlock",
        "starvation",
        "collision",
        "double-release",
        "missed-release",
        "misrouted",
        "wrong-order",
        "drop-late",
    )
)
"""Rules about the timing: an arrangement breaks none of them."""


@dataclass(frozen=True)
class ArrangementFigures:
    """What an arrangement is judged by: margin in degrees, peak torque in N·m, findings."""

    margin_deg: float | None
    peak_nm: float | None
    errors: int
    warnings: int

    @staticmethod
    def of(report: Report) -> ArrangementFigures:
        """Read them off a report."""
        peak = report.loads.camshaft.peak if report.loads is not None else None
        errors = len(errors_as_drawn(report.findings))
        notes = report.count(Severity.NOTE)
        return ArrangementFigures(
            finite(None if report.margin is None else report.margin.smallest_deg),
            None if peak is None else peak.value,
            errors,
            len(report.findings) - notes - errors,
        )


@dataclass(frozen=True)
class Moved:
    """A block that an arrangement moves: ref into the project as drawn; starts and ends, degrees."""

    ref: BlockRef
    level: str
    from_deg: tuple[float, float]
    to_deg: tuple[float, float]


@dataclass(frozen=True)
class Arrangement:
    """An arrangement that the real solver confirmed.

    project: with its blocks placed. before, after: figures. moved: what changes. best_margin_deg: no
    arrangement has a larger smallest margin than this; None where that was not asked. proven: whether
    the first aim is shown to be the best there is.
    """

    project: Project
    before: ArrangementFigures
    after: ArrangementFigures
    moved: tuple[Moved, ...]
    best_margin_deg: float | None
    proven: bool


@dataclass
class _Work:
    """What one call carries along."""

    drawn: Report
    prefer: Aim
    seed: int
    shortest: Shortest
    asked: float = 0.0
    bound: float | None = None
    proven: bool = False


def arrange(
    project: Project, prefer: Aim = "margin", seed: int = 0, progress: Progress | None = None
) -> Arrangement | Refusal:
    """Place the blocks of a project, or say why that cannot be.

    prefer: the first aim. seed: the same seed gives the same answer. Raises ArrangeError where a lane
    cannot be arranged or the real solver confirms no answer, Cancelled if progress does.
    """
    told = progress or Silent()
    told.report(0.0, "Looking at the project")
    work = _Work(examine(project), prefer, seed, Shortest(project))
    for number in range(ROUNDS):
        share = Share(told, 0.05 + 0.9 * number / ROUNDS, 0.05 + 0.9 * (number + 1) / ROUNDS)
        placed = _round(work, share)
        if isinstance(placed, Refusal):
            return placed
        told.report(share.end, "Checking the arrangement")
        report = examine(placed.project)
        objections = _objections(report, work.drawn)
        if not objections or (number == ROUNDS - 1 and not errors_as_drawn(objections)):
            return _arrangement(work, placed, report)
        _learn(work, objections)
    raise ArrangeError(_unconfirmed(errors_as_drawn(objections), report.project))


def _floor(work: _Work) -> float:
    """Return the margin that torque may not cost, steps: as drawn, up to both discs' own tolerance."""
    margin = work.drawn.margin
    known = 0.0 if margin is None else max(0.0, margin.smallest_deg)
    most = 2 * work.drawn.project.tolerances.disc_angle_deg
    return min(known, most) / STEP_DEG + work.asked


def _round(work: _Work, progress: Progress) -> PlacedValues | Refusal:
    """Search once, from the first answer to the best."""
    model = arranging(work.drawn.solution, work.shortest)
    search = Search(model.problem, work.seed, model.margin)
    progress.report(0.02, "Looking for a first arrangement")
    first = first_answer(model, search, Share(progress, 0.02, 0.2))
    if first is None and model.narrowed:
        model = arranging(work.drawn.solution, work.shortest, wide=True)
        search = Search(model.problem, work.seed, model.margin)
        first = first_answer(model, search, Share(progress, 0.02, 0.2))
    if first is None:
        return why_not(work.drawn.solution, model, search, work.shortest, Share(progress, 0.2, 1.0))
    placed = PlacedValues(work, model, search, first)
    for number, aim in enumerate(ORDERS[work.prefer]):
        placed.aim(aim, Share(progress, 0.2 + 0.25 * number, 0.45 + 0.25 * number), first=number == 0)
    return placed


def first_answer(model: Arranging, search: Search, progress: Progress) -> tuple[int, ...] | None:
    """Return complete values that hold, or None if there are none.

    As drawn if that holds, else with each lane turned as a whole, else whatever the search finds. Raises
    ArrangeError if none was found in the time given.
    """
    drawn = completed(model.problem, [variable.hint for variable in model.problem.variables])
    if holds(model.problem, drawn):
        return tuple(drawn)
    what = "Looking for a first arrangement"
    turned = search.solve(
        None, TURNED_S, keep=model.as_drawn(), progress=Share(progress, 0.0, 0.3), what=what
    )
    if turned.found:
        return turned.values
    answer = search.solve(None, FIRST_S, progress=Share(progress, 0.3, 1.0), what=what)
    if answer.status == "unknown":
        raise ArrangeError("No arrangement was found in the time given, and none was shown to be impossible.")
    return answer.values if answer.found else None


class PlacedValues:
    """Values that hold, made better aim by aim."""

    def __init__(self, work: _Work, model: Arranging, search: Search, values: Sequence[int]) -> None:
        self._work, self._model, self._search = work, model, search
        self.values = tuple(values)
        self._guards = Guards()

    @property
    def project(self) -> Project:
        """The project with its blocks where the values put them."""
        return self._model.arranged(self.values)

    def moved(self) -> tuple[Moved, ...]:
        """List the blocks that stand elsewhere, in the order of lanes and of blocks as drawn."""
        return tuple(
            Moved(
                BlockRef(lane.id, index),
                old.level,
                (old.start_deg, old.end_deg),
                (new.start_deg, new.end_deg),
            )
            for lane in self._model.project.lanes
            for index, (old, new) in enumerate(
                zip(lane.blocks, self._model.blocks(lane.id, self.values), strict=True)
            )
            if old is not new
        )

    def aim(self, aim: Aim, progress: Progress, *, first: bool) -> None:
        """Make the values as good as can be for one aim, and keep that from then on."""
        if aim == "margin" and self._model.has_margin:
            self._margin(Share(progress, 0.0, 0.6), first=first)
        elif aim == "least-change" and first:
            self._change(Share(progress, 0.0, 0.6))
        self._locally(aim, Share(progress, 0.6 if aim != "torque" else 0.0, 1.0), first=first)

    def _locally(self, aim: Aim, progress: Progress, *, first: bool) -> None:
        work = self._work
        local = Local(self._model, self.values, Torques(work.drawn.solution), work.seed)
        guards = self._guards
        if aim == "torque" and first:
            guards = replace(guards, margin=min(_floor(work), local.margin))
        local.improve(aim, guards, self._tries(aim), progress, WHAT[aim])
        self.values = tuple(local.values)
        kept = {"margin": local.margin, "torque": local.height, "least-change": local.change}
        self._guards = replace(guards, **{GUARD[aim]: kept[aim]})

    def _tries(self, aim: Aim) -> int:
        """Return how often the local search tries: more where there are many lanes."""
        lanes = len(self._model.lanes.moving)
        return min(MOST_TRIES, max(TRIES[aim], TRIES[aim] * lanes // LANES))

    def _margin(self, progress: Progress, *, first: bool) -> None:
        """Search for the largest smallest margin; after another aim only within what that reached."""
        keep = self._kept_change() if self._guards.change < inf else ()
        if self._guards.height < inf:
            return  # the torque is not linear: the local search keeps it
        goal = Goal(var(self._model.margin) * -1.0)
        answer = self._solve(goal, MARGIN_S, keep, progress, WHAT["margin"])
        if answer.found and first:
            self._work.bound = -answer.bound / MARGIN_PARTS * STEP_DEG
            self._work.proven = answer.status == "optimal"

    def _change(self, progress: Progress) -> None:
        """Search for the least change that keeps the margin which the real solver asked for."""
        asked = (var(self._model.margin) - float(round(self._work.asked * MARGIN_PARTS)),)
        keep = asked if self._work.asked and self._model.has_margin else ()
        goal = Goal(self._model.change)
        answer = self._solve(goal, CHANGE_S, keep, progress, WHAT["least-change"])
        self._work.proven = answer.status == "optimal"

    def _kept_change(self) -> tuple[Affine, ...]:
        return (self._model.change * -1.0 + float(round(self._guards.change)),)

    def _solve(
        self, goal: Goal, seconds: float, keep: Sequence[Affine], progress: Progress, what: str
    ) -> Answer:
        hint = self._with_figures()
        answer = self._search.solve(goal, seconds, keep=keep, hint=hint, progress=progress, what=what)
        if answer.found:
            self.values = answer.values
        return answer

    def _with_figures(self) -> tuple[int, ...]:
        """Put margin and changes into the values, which the local search leaves as they were."""
        return self._model.with_figures(self.values)


WHAT: dict[Aim, str] = {
    "margin": "Widening the smallest margin",
    "torque": "Lowering the peak torque",
    "least-change": "Going back to what was drawn",
}
"""What an aim does, for the progress."""

GUARD: dict[Aim, str] = {"margin": "margin", "torque": "height", "least-change": "change"}
"""The guard that keeps what an aim reached."""


def _objections(report: Report, drawn: Report) -> list[Finding]:
    """Return what the real solver has against an answer: errors of timing, and what was not there before."""
    known = {(finding.rule, finding.lanes) for finding in drawn.findings}
    known_rules = {
        finding.rule for finding in drawn.findings if not finding.lanes or finding.rule == "thin-margin"
    }
    return [
        finding
        for finding in report.findings
        if (finding.severity is Severity.ERROR and finding.rule in TIMING)
        or (
            finding.severity is not Severity.NOTE
            and finding.rule != BY_TOLERANCES
            and finding.rule not in known_rules
            and (finding.rule, finding.lanes) not in known
        )
    ]


def _learn(work: _Work, objections: Sequence[Finding]) -> None:
    """Take from objections what the next search must keep: longer moves, and more margin."""
    for finding in objections:
        if finding.rule in TIMING or not finding.lanes or finding.rule == "thin-margin":
            work.asked += MORE_DEG / STEP_DEG
            continue
        for lane_id in finding.lanes:
            lane = work.drawn.project.lane(lane_id)
            for index in range(len(lane.blocks)):
                work.shortest.longer(lane_id, index, LONGER)


def _unconfirmed(objections: Sequence[Finding], project: Project) -> str:
    said = words(objections[0], project)
    return f"No arrangement was confirmed by the solver. Last: {said.title}, {said.lanes}. {said.what}"


def _arrangement(work: _Work, placed: PlacedValues, report: Report) -> Arrangement:
    return Arrangement(
        project=report.project,
        before=ArrangementFigures.of(work.drawn),
        after=ArrangementFigures.of(report),
        moved=placed.moved(),
        best_margin_deg=work.bound,
        proven=work.proven,
    )
