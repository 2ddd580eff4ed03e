"""thin-margin: everything holds in the nominal machine, but too few real ones would work.

The cure names the disc angle that would be enough, or the move of a block of the lane that costs most by
which the chance would be; the editor does the move, which is tried before it is offered.
"""

from __future__ import annotations

from collections.abc import Iterator

from shaftscore.base.angles import turn_to
from shaftscore.base.wording import degrees, down_to
from shaftscore.edits import BlockRef
from shaftscore.judge.checks.cures import Attempt, first_verified, is_free, moved, shift_text
from shaftscore.judge.findings import Cure, Finding, found
from shaftscore.judge.findings.naming import block_text
from shaftscore.judge.flow import FlowResult
from shaftscore.judge.spread.spread import ENOUGH, Spread, chance_of
from shaftscore.model import Project
from shaftscore.solution import Solution, solve

SHIFTS = (0.5, 1.0, 2.0, 4.0)
"""Degrees by which a block is tried to be moved either way, the smallest first."""

ANGLE_STEP_DEG = 0.01
"""Disc angles in cures are rounded down to this."""


def thin_margin(solution: Solution, flow: FlowResult | None, spread: Spread) -> Finding | None:
    """Return the finding, or None where the margin is not thin."""
    if not spread.is_thin:
        return None
    worst = min(spread.rules, key=lambda rule: rule.chance)
    first = spread.costs[0].lane if spread.costs else None
    others = [lane for lane in worst.lanes if lane != first]
    return found(
        "thin-margin",
        tuple(filter(None, (first, *others))),
        value=1.0 - spread.chance,
        limit=1.0 - ENOUGH,
        cure=_cure(solution, flow, spread),
    )


def _cure(solution: Solution, flow: FlowResult | None, spread: Spread) -> Cure | None:
    """Return both ways out; the edit is the move where one does it, else the closer disc angle."""
    move = _move(solution, flow, spread)
    said, angle = [], spread.needed_disc_angle_deg
    tight = 0.0 if angle is None else down_to(angle, ANGLE_STEP_DEG)
    if tight > 0:
        said.append(f"disc angle within {degrees(tight, 2)}")
    if move is not None:
        said.append(move.sentence)
    if not said:
        return None
    text = ", or ".join(said) + "."
    sentence = text[:1].upper() + text[1:]
    if move is not None:
        return Cure(sentence=sentence, edit=move.edit, arguments=move.arguments)
    return Cure(sentence=sentence, edit="set_tolerances", arguments={"disc_angle_deg": tight})


def _move(solution: Solution, flow: FlowResult | None, spread: Spread) -> Cure | None:
    if not spread.costs:
        return None

    def cured(edited: Project) -> bool:
        after = solve(edited, solution, set(solution.lanes))
        return chance_of(after, flow, spread.machines, spread.seed) >= ENOUGH

    return first_verified(solution.project, _attempts(solution.project, spread), cured)


def _attempts(project: Project, spread: Spread) -> Iterator[Attempt]:
    """Move the shortest blocks of the lane that costs most, later and earlier, a little first."""
    lane = project.lane(spread.costs[0].lane)
    refs = [BlockRef(lane.id, index) for index in range(len(lane.blocks))]
    refs = sorted(filter(lambda ref: is_free(project, ref), refs), key=lambda ref: _length(project, ref))
    for by in SHIFTS:
        for ref in refs[:1]:
            for shift in (by, -by):
                attempt = moved(project, ref, shift)
                text = f"{block_text(project, ref)} {shift_text(_said(project, ref, attempt))}"
                yield Attempt(attempt.edit, attempt.arguments, text)


def _length(project: Project, ref: BlockRef) -> float:
    return project.lane(ref.lane_id).blocks[ref.index].length_deg


def _said(project: Project, ref: BlockRef, attempt: Attempt) -> float:
    """Return the shift that an attempt makes after rounding, degrees."""
    from_deg = project.lane(ref.lane_id).blocks[ref.index].start_deg
    start = attempt.arguments["start_deg"]
    assert isinstance(start, float)
    return turn_to(from_deg, start)
