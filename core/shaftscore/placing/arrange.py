"""Arrange: place every block so that all rules hold, then make it good, and have the real solver confirm it.

The *margin* is the least normalised slack: what is left before a rule breaks, in units of the error that it
must survive. It is linear in starts and lengths, and searched for with CP-SAT, as is the least *change*; the
*torque* is lowered by a local search with the real torque. Simple answers come first: whole groups are
shifted, then whole lanes, then single blocks are moved, and each further level must be better to count
(`levels`). Every answer is judged by the real solver, and none is offered that is worse than the machine as
drawn (`standing`). What the real solver finds beyond that is learnt (longer moves, more margin) and the
search begins again.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Progress, Share, Silent
from shaftscore.base.wording import counted, degrees, did_you_mean
from shaftscore.judge.findings import Finding, words
from shaftscore.judge.spread.slacks import RuleSlack
from shaftscore.judge.spread.words import chance_text
from shaftscore.model import Project
from shaftscore.model.rounds import CYCLE
from shaftscore.placing.changes import MayChange
from shaftscore.placing.figures import Arrangement, ArrangementFigures, Moved, moved_blocks
from shaftscore.placing.first import shifted_lanes
from shaftscore.placing.lanes import ArrangeError
from shaftscore.placing.levels import Level, levels_of
from shaftscore.placing.local import Aim
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.objections import Objections
from shaftscore.placing.placed import ArrangeWishes, PlacedValues, first_answer
from shaftscore.placing.rounds import on_master, seen_for_arranging
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.standing import LIKELIER, Standing, is_larger
from shaftscore.placing.why import Refusal, why_not

AIMS: tuple[Aim, ...] = ("margin", "torque", "least-change")
"""What can come first."""


def aim_named(name: str) -> Aim:
    """Return the aim of a name. Raises ValueError that names those there are."""
    for aim in AIMS:
        if aim == name:
            return aim
    hint = did_you_mean(name, AIMS) or f"it is one of {', '.join(AIMS)}"
    raise ValueError(f'there is no "{name}"; {hint}')


ROUNDS = 3
"""Most searches for an arrangement that the real solver confirms."""

MORE = 0.25
"""By so much normalised slack is required where the real solver objects to the timing."""

GOOD = 1.0
"""With this normalised slack every place survives: no other order of events is looked for."""

PLENTY = 2.0
"""A simple answer with this normalised slack is as good as any: no blocks are moved for more."""

AGAIN = 2
"""How often margins are weighed again with the errors of what was found."""

LOWER = 0.01
"""A peak torque is lower if it is by this share."""


def arrange(
    project: Project,
    prefer: Aim = "margin",
    seed: int = 0,
    progress: Progress | None = None,
    may: MayChange | None = None,
) -> Arrangement | Refusal:
    """Place the blocks of a project, or say why that cannot be.

    prefer: the first aim. seed: the same seed gives the same answer. may: what may change. Where nothing
    better is found, the answer is the project as drawn. If progress cancels, the best found so far is the
    answer. Raises ArrangeError where a lane cannot be arranged, Cancelled if progress does so before
    anything better was found.
    """
    seen, cycles = seen_for_arranging(project)
    found = _arranged(seen, ArrangeWishes(prefer, seed, may or MayChange()), progress or Silent())
    if isinstance(found, Arrangement):
        return on_master(found, project, cycles)
    if cycles != CYCLE:  # its reasons would speak of the round's degrees and speed
        over = counted(int(cycles), "cycle")
        raise ArrangeError(f"No arrangement keeps all rules; over {over} the reasons are not worked out yet.")
    return found


def _arranged(project: Project, wishes: ArrangeWishes, said: Progress) -> Arrangement | Refusal:
    """Place the blocks of a project whose round is a cycle, as `arrange` does."""
    drawn = Standing.of(project, between=partial(said.report, 0.0, "Checking the machine as drawn"))
    course = _Course(drawn, wishes)
    try:
        refusal = course.run(Share(said, 0.05, 1.0))
    except Cancelled:
        if course.best is course.drawn:
            raise
        return course.arrangement(cancelled=True)
    return refusal or course.arrangement()


class _Course:
    """One call: the machine as drawn, the best found so far, and what was learnt."""

    def __init__(self, drawn: Standing, wishes: ArrangeWishes) -> None:
        self.drawn = self.best = drawn
        self._wishes = wishes
        largest = None if wishes.may.discs else drawn.largest_disc_mm
        self._shortest = Shortest(drawn.project, largest)
        self._by: Level | None = None
        self._searched: Standing | None = None
        self._moved: tuple[Moved, ...] = ()
        self._asked = 0.0
        self._objections = Objections()

    def run(self, progress: Progress) -> Refusal | None:
        """Search; the reasons where there is no arrangement at all. Raises Cancelled if progress does."""
        model = self._model(lengths_stay=True)
        self._shift_first(model, Share(progress, 0.0, 0.01))
        placed, levels = PlacedValues(model, self.drawn.report.solution, self._wishes, 0.0), levels_of(model)
        for number in range(ROUNDS):
            share = Share(progress, max(0.01, number / ROUNDS), (number + 1) / ROUNDS)
            self._objections = Objections()
            refusal = self._round(placed, levels[-1:] if number else levels, share)
            if refusal is not None:
                return refusal if self.best is self.drawn and self.drawn.errors else None
            if not self._learn():
                break  # it would only search the same again
        if self.best is self.drawn and self.drawn.errors and self._objections.findings:
            raise ArrangeError(_unconfirmed(self._objections.findings, self.drawn.project))
        return None

    def arrangement(self, *, cancelled: bool = False) -> Arrangement:
        """Return the best found so far."""
        return Arrangement(
            project=self.best.project,
            before=ArrangementFigures.of(self.drawn),
            after=ArrangementFigures.of(self.best),
            moved=self._moved,
            by=self._by,
            cancelled=cancelled,
            may=self._wishes.may,
        )

    def _shift_first(self, model: Arranging, progress: Progress) -> None:
        """Judge the largest margin of whole groups, else of whole lanes, in the order of events as drawn."""
        if self._wishes.prefer != "margin":
            return
        for level in levels_of(model)[:-1]:
            shifted = shifted_lanes(model, level)
            if shifted is None:
                continue
            self._judge(shifted.project, shifted.moved, level, progress)
            if self.best is not self.drawn:
                return

    def _round(self, placed: PlacedValues, levels: Sequence[Level], progress: Progress) -> Refusal | None:
        """Go through levels once; placed: values that are made better where lanes turn as a whole."""
        for number, level in enumerate(levels):
            share = Share(progress, number / len(levels), (number + 1) / len(levels))
            if self._is_idle(level):
                continue
            if level == "blocks":
                placed = placed.with_blocks(self._model(), self._asked)
            if level == "blocks" and placed.values is None:
                refusal = self._first(placed, share)
                if isinstance(refusal, Refusal):
                    return refusal
                placed = refusal
            self._level(placed, level, share)
        return None

    def _is_idle(self, level: Level) -> bool:
        """Return whether a level is left out: blocks make the least change, else simple comes first."""
        if self._wishes.prefer == "least-change":
            return level != "blocks"
        found = self._searched
        plenty = found is not None and not found.errors and not is_larger(PLENTY, found.margin)
        return self._wishes.prefer == "margin" and plenty

    def _model(
        self,
        *,
        wide: bool = False,
        errors: Sequence[RuleSlack] | None = None,
        lengths_stay: bool = False,
    ) -> Arranging:
        """Return the arranging problem; errors: places with what they survive, as drawn unless given.

        lengths_stay: for levels at which lanes turn as a whole.
        """
        return arranging(
            self.drawn.report.solution,
            self._shortest,
            wide=wide,
            may=self._wishes.may,
            errors=self.drawn.slacks if errors is None else errors,
            lengths_stay=lengths_stay,
        )

    def _first(self, placed: PlacedValues, progress: Progress) -> PlacedValues | Refusal:
        """Find any arrangement, with every outlet for each lane if need be; or say why there is none."""
        search = placed.search("blocks")
        found = first_answer(placed.model, search, progress)
        if found is None and placed.model.narrowed:
            solution = self.drawn.report.solution
            placed = PlacedValues(self._model(wide=True), solution, self._wishes, self._asked, wide=True)
            search = placed.search("blocks")
            found = first_answer(placed.model, search, progress)
        if found is None:
            solution = self.drawn.report.solution
            return why_not(solution, placed.model, search, self._shortest, progress)
        placed.values = found
        return placed

    def _level(self, placed: PlacedValues, level: Level, progress: Progress) -> None:
        """Search at one level, and judge what was found."""
        begun = self._begin(placed, level, Share(progress, 0.0, 0.2))
        before = placed.values
        search = level == "groups" or not self._is_good
        placed.improve(level, Share(progress, 0.2, 0.7), self.so_far, search=search)
        if begun is not None and before is not None:
            placed.keep_unless_larger(level, before)
        if placed.values is not None and placed.values != before:
            if begun is not None:
                self._objections = begun  # those since were to what is no longer looked at
            standing, against = self._offer(placed.model, placed.values, level, Share(progress, 0.7, 0.75))
            if level == "blocks" and not against.are_of_shape:
                self._again(placed, standing, Share(progress, 0.75, 0.9))
        for values in placed.further(level, Share(progress, 0.9, 1.0), self.so_far):
            self._offer(placed.model, values, level, Share(progress, 1.0, 1.0))

    def _begin(self, placed: PlacedValues, level: Level, progress: Progress) -> Objections | None:
        """Judge a first answer, while there is none; return what was objected to before, None without one."""
        if self.best is not self.drawn or level == "blocks" or self._wishes.prefer != "margin":
            return None
        before, drawn = self._objections, placed.values
        placed.begin(level, Share(progress, 0.0, 0.9), self.so_far)
        if placed.values is None or placed.values == drawn:
            return None
        self._offer(placed.model, placed.values, level, Share(progress, 0.9, 1.0))
        return before

    def _again(self, placed: PlacedValues, standing: Standing, progress: Progress) -> None:
        """Raise the margins again with the errors of what was found, which change with the moves' lengths."""
        for number in range(AGAIN):
            progress.report(number / AGAIN, f"Weighing margins again; {self.so_far}")
            placed.weigh(self._model(wide=placed.wide, errors=standing.slacks))
            before = placed.values
            placed.improve("blocks", Silent(), self.so_far, search=not self._is_good)
            if placed.values is None or placed.values == before:
                return
            share = Share(progress, (number + 0.5) / AGAIN, (number + 1) / AGAIN)
            standing, _ = self._offer(placed.model, placed.values, "blocks", share)

    def _offer(
        self, model: Arranging, values: Sequence[int], level: Level, progress: Progress
    ) -> tuple[Standing, Objections]:
        """Judge an answer of the levels; see `_judge`."""
        found = self._judge(model.arranged(values), moved_blocks(model, values), level, progress)
        if self.best is found[0]:
            self._searched = self.best
        return found

    def _judge(
        self, project: Project, moved: tuple[Moved, ...], level: Level, progress: Progress
    ) -> tuple[Standing, Objections]:
        """Take an answer where it is better than the best; keep what the real solver has against it."""

        def between() -> None:
            progress.report(0.5, f"Checking what was found; {self.so_far}")

        standing = Standing.of(project, self.drawn, between)
        against = Objections.against(standing, self.drawn, discs_may_grow=self._wishes.may.discs)
        if not against and self._is_better(standing, between):
            self.best, self._by, self._moved = standing, level, moved
            self._weigh(between)  # their chances are shown, also where the person stops the search
        self._objections += against
        return standing, against

    def _weigh(self, between: Callable[[], object]) -> None:
        """Compute the chances of the machine as drawn and of the best."""
        for standing in (self.best, self.drawn):
            standing.weigh(between)

    def _is_better(self, standing: Standing, between: Callable[[], object]) -> bool:
        """Return whether an answer is better for the first aim, and not worse than the machine as drawn."""
        best, prefer = self.best, self._wishes.prefer
        if standing.faults != best.faults:
            return standing.faults < best.faults
        if prefer == "least-change":
            return False
        lower = (standing.peak_nm or 0.0) < (best.peak_nm or 0.0) * (1 - LOWER)
        return (prefer == "margin" and standing.is_better_than(best, between)) or (
            lower and self._keeps(standing)
        )

    def _keeps(self, standing: Standing) -> bool:
        """Return whether an answer with a lower torque loses nothing that counts for more."""
        best = self.best
        floor = min(best.margin, 1.0) if self._wishes.prefer == "torque" else best.margin * (1 - LOWER)
        return standing.margin >= floor - LOWER and standing.chance_movable > best.chance_movable - LIKELIER

    def _learn(self) -> bool:
        """Take from objections what the next search must keep; return whether that is anything new."""
        asks_more = self._wishes.prefer == "least-change" and self._objections.ask_margin
        self._asked += MORE if asks_more else 0.0
        return self._objections.teach(self._shortest) or asks_more

    @property
    def _is_good(self) -> bool:
        """Whether the best is so good that no other order of events is looked for."""
        return not self.best.errors and self.best.margin >= GOOD

    @property
    def so_far(self) -> str:
        """The best so far, in words."""
        best = self.best
        if best.errors:
            return "no valid arrangement yet"
        slack = best.smallest_deg
        margin = "no rule limits it" if slack is None else f"margin {degrees(slack)}"
        chance = best.chance if best.is_weighed else None
        return f"best so far {margin}" + ("" if chance is None else f", chance {chance_text(chance)}")


def _unconfirmed(objections: Sequence[Finding], project: Project) -> str:
    said = words(objections[0], project)
    return f"No arrangement was confirmed by the solver. Last: {said.title}, {said.lanes}. {said.what}"
