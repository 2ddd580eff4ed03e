"""Why there is no arrangement: a few things that cannot hold together, and the least that would help.

A *core* is a set of reasons that cannot hold together; it is found with assumptions and shrunk until
leaving out any one member makes the rest possible. A *relaxation* loosens one member by the least that
makes everything possible; it is found by giving that member's inequalities room and asking for as
little of it as can be.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shaftscore.base.progress import Progress, Share
from shaftscore.base.tolerance import CURE_DEG
from shaftscore.base.wording import down_to, rpm, up_to
from shaftscore.model import Project, replaced
from shaftscore.placing.affine import STEP_DEG, var
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.naming import Names
from shaftscore.placing.problem import Problem, Reason
from shaftscore.placing.search import Goal, Search
from shaftscore.placing.shortest import Shortest
from shaftscore.rules.kinds import meaning_of
from shaftscore.solution import Solution, solve

CORE_S, MEMBER_S, RELAX_S = 8.0, 3.0, 2.0
"""Deterministic time for the first core, for each member of it, and for each relaxation."""

MOST_ROOM = 1800
"""Most steps by which something is loosened: half a turn."""

MOST_RELAXED = 12
"""Most members of a core whose relaxation is looked for."""

SLOWEST = 0.2
"""Share of the speed down to which a slower machine is looked at."""

SPEEDS = 5
"""How often the range of speeds is halved."""


WHY = "Finding out why there is none"
WHAT_HELPS = "Looking for what would make it possible"
WHAT_SPEED = "Looking for a speed at which it is possible"
"""What is being done, for the progress."""


@dataclass(frozen=True)
class Relaxation:
    """What would make an arrangement possible: the reason to loosen, by how many degrees, in words.

    reason is None where the speed would have to change.
    """

    reason: Reason | None
    by_deg: float
    text: str


@dataclass(frozen=True)
class Refusal:
    """Why there is no arrangement.

    core: reasons that cannot hold together. texts: the same in words. minimal: whether it is shown that
    they can without any one of them. relaxations: the least first.
    """

    core: tuple[Reason, ...]
    texts: tuple[str, ...]
    minimal: bool
    relaxations: tuple[Relaxation, ...]


def why_not(
    solution: Solution, model: Arranging, search: Search, shortest: Shortest, progress: Progress
) -> Refusal:
    """Find out why a problem that has no answer has none. Raises Cancelled if progress does."""
    progress.report(0.0, WHY)
    found = search.core(CORE_S, progress)
    core, minimal = shrunk(search, found or model.problem.reasons, Share(progress, 0.1, 0.5))
    names = Names(solution.project, shortest)
    relaxed = list(_relaxations(model, core, names, search.seed, Share(progress, 0.5, 0.8)))
    slower = _slower(solution.project, core, search.seed, Share(progress, 0.8, 1.0))
    if slower is not None:
        relaxed.append(slower)
    texts = tuple(names.of(reason) for reason in core)
    return Refusal(core, texts, minimal, tuple(relaxed))


def shrunk(search: Search, core: Sequence[Reason], progress: Progress) -> tuple[tuple[Reason, ...], bool]:
    """Leave out of a core, one after the other, what is not needed; tell whether that was shown of all."""
    kept, shown = list(core), True
    for number, reason in enumerate(core):
        share = Share(progress, number / len(core), (number + 1) / len(core))
        rest = [other for other in kept if other != reason]
        answer = search.solve(None, MEMBER_S, reasons=frozenset(rest), progress=share, what=WHY)
        if answer.status == "infeasible":
            kept = rest
        elif not answer.found:
            shown = False
    return tuple(kept), shown


def _relaxations(
    model: Arranging, core: Sequence[Reason], names: Names, seed: int, progress: Progress
) -> Sequence[Relaxation]:
    """Loosen each member of a core alone by the least that helps; the least first."""
    found = []
    for number, reason in enumerate(core[:MOST_RELAXED]):
        share = Share(progress, number / len(core), (number + 1) / len(core))
        steps = _least_room(model, reason, seed, share)
        if steps is not None:
            by = up_to(steps * STEP_DEG, CURE_DEG)
            found.append(Relaxation(reason, by, names.loosened(reason, by)))
    return sorted(found, key=lambda relaxation: relaxation.by_deg)


def _least_room(model: Arranging, reason: Reason, seed: int, progress: Progress) -> int | None:
    """Return the fewest steps by which a reason must be loosened; None where that does not help."""
    problem = loosened(model.problem, reason)
    room = len(problem.variables) - 1
    search = Search(problem, seed, model.margin)
    answer = search.solve(Goal(var(room)), RELAX_S, progress=progress, what=WHAT_HELPS)
    return answer.values[room] if answer.found else None


def loosened(problem: Problem, reason: Reason) -> Problem:
    """Return a problem in which one reason has room: one more variable, the last, counts its steps."""
    room = len(problem.variables)
    relaxed = replace(problem, variables=[*problem.variables], inequalities=[])
    relaxed.new("room", 0, MOST_ROOM)
    for inequality in problem.inequalities:
        more = inequality.reason == reason
        wider = replace(inequality, expression=inequality.expression + var(room)) if more else inequality
        relaxed.inequalities.append(wider)
    return relaxed


def _slower(project: Project, core: Sequence[Reason], seed: int, progress: Progress) -> Relaxation | None:
    """Look for the highest lower speed at which everything is possible, where seconds are in the core."""
    if not any(_in_seconds(project, reason) for reason in core):
        return None
    speed = project.shaft.speed_rpm
    high, low = 1.0, SLOWEST
    if not _possible(project, low * speed, seed, Share(progress, 0.0, 0.1)):
        return None
    for number in range(SPEEDS):
        share = Share(progress, 0.1 + 0.9 * number / SPEEDS, 0.1 + 0.9 * (number + 1) / SPEEDS)
        middle = (low + high) / 2
        low, high = (middle, high) if _possible(project, middle * speed, seed, share) else (low, middle)
    wanted = down_to(low * speed, 0.1 if low * speed >= 1 else 0.01)
    return Relaxation(None, 0.0, f"Run the machine at {rpm(wanted)} instead of {rpm(speed)}.")


def _in_seconds(project: Project, reason: Reason) -> bool:
    if reason.kind != "rule":
        return reason.kind in ("gate", "channel", "outlet", "magazine")
    rule = project.rules[int(reason.of)]
    return meaning_of(rule).in_seconds(rule)


def at_speed(project: Project, speed_rpm: float) -> Project:
    """Return the project at another nominal speed; its highest speed goes with it where it was the same."""
    shaft = project.shaft
    top = shaft.speed_max_rpm
    changes: dict[str, float] = {"speed_rpm": speed_rpm}
    if top is not None:
        changes["speed_max_rpm"] = top * speed_rpm / shaft.speed_rpm
    return replaced(project, shaft=replaced(shaft, **changes))


def _possible(project: Project, speed_rpm: float, seed: int, progress: Progress) -> bool:
    slower = at_speed(project, speed_rpm)
    model = arranging(solve(slower), Shortest(slower))
    search = Search(model.problem, seed, model.margin)
    return search.solve(None, RELAX_S, progress=progress, what=WHAT_SPEED).found
