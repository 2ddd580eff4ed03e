"""What the operation of a machine with slow or stepped stacks is looked at over: its round, not one cycle."""

from __future__ import annotations

from fractions import Fraction

from shaftscore.base.wording import counted
from shaftscore.bringup.sheets import listed
from shaftscore.judge.report.rounds import machine_rounds
from shaftscore.model import Project
from shaftscore.model.rounds import CYCLE
from shaftscore.solution import Solution


def flow_over_round(solution: Solution) -> tuple[Solution, Fraction] | None:
    """Return the lanes of the flow over the cycles after which they repeat, and how many these are.

    The very same solution for a machine that repeats with each cycle; None where the round is too long.
    """
    rounds = machine_rounds(solution)
    found = rounds.flow
    if found is None:
        return None if solution.project.flow is not None else (solution, CYCLE)
    return found, rounds.flow_cycles


def round_sentences(cycles: Fraction) -> tuple[str, ...]:
    """Return that what is said is said of all cycles of a round; nothing of a cycle."""
    if cycles == CYCLE:
        return ()
    length = counted(int(cycles), "cycle") if cycles > 1 else f"1/{cycles.denominator} of a cycle"
    return (
        f"A round is {length} of the master, after which what items meet repeats; all of it is looked at.",
    )


def too_long(project: Project) -> str:
    """Return why items are not looked at."""
    slow = [stack.label for stack in project.stacks if project.rates[stack.id].denominator > 1]
    return f"The gates repeat together too late to be looked at ({listed(slow)})."
