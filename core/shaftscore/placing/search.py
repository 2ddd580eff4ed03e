"""Solving an arranging problem with CP-SAT, the same answer for the same seed on every machine.

Inequalities get whole coefficients in `FINE` parts of a step, rounded so that what holds here holds
exactly. A search is cut into slices of deterministic time, so that it reports, can be cancelled, and
still never depends on the clock: fixed workers take turns (interleaved search). A later slice begins
with the best answer of the one before. Where the person stops it, the slice ends at once.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from math import floor
from typing import Any, Literal

from shaftscore.base.progress import Progress, Silent, stopping
from shaftscore.placing.affine import Affine
from shaftscore.placing.complete import completed
from shaftscore.placing.problem import Inequality, Problem, Reason

FINE = 100_800
"""Parts of a step; a multiple of the turns that stacks usually make, so that their shares are whole."""

MARGIN_PARTS = 100
"""The smallest margin is counted in this many parts of a step."""

WORKERS = 2
"""Workers that take turns; a fixed number, so that answers do not depend on the machine."""

STUCK_S, STUCK_SHARE = 2.0, 10.0
"""A slice that takes this long, and so many times its deterministic time, is ended by the clock.

The solver may narrow two bounds step by step without counting it as time; only then does an answer depend on
the machine.
"""

FIRST_SLICE, GROWTH = 0.5, 1.6
"""Deterministic time of the first slice (about seconds), and by how much each next is longer."""

FIRST_SLICE_ANY = 2.0
"""The same where any answer will do: such a search loses more by beginning again."""

Status = Literal["optimal", "feasible", "infeasible", "unknown"]


@dataclass(frozen=True)
class Answer:
    """What a search gave: status, and the variables' values."""

    status: Status
    values: tuple[int, ...] = ()

    @property
    def found(self) -> bool:
        """Whether there are values."""
        return self.status in ("optimal", "feasible")


@dataclass(frozen=True)
class Goal:
    """What is to be as small as possible: an affine expression (its coefficients are rounded to whole)."""

    expression: Affine


class Search:
    """A problem as a CP-SAT model; make it once, solve it for several goals."""

    def __init__(self, problem: Problem, seed: int, margin: int | None = None) -> None:
        """Build the model; margin: number of the variable that is the smallest margin."""
        from ortools.sat.python import cp_model  # takes half a second to load

        self.seed = seed
        self._cp, self._problem, self._margin = cp_model, problem, margin
        self._model: Any = cp_model.CpModel()
        self._vars = [self._model.new_int_var(v.least, v.most, v.name) for v in problem.variables]
        self._on: dict[Reason, Any] = {r: self._model.new_bool_var(str(r)) for r in problem.reasons}
        for inequality in problem.inequalities:
            self._add(inequality)
        for choice in problem.choices:
            literals = [self._vars[number] for number in choice.literals]
            off = [] if choice.reason is None else [self._on[choice.reason].negated()]
            self._model.add_bool_or([*literals, *off])

    def _add(self, inequality: Inequality) -> None:
        terms, constant = whole(inequality, self._problem, self._margin)
        on = [self._vars[number] for number in inequality.literals]
        if inequality.reason is not None:
            on.append(self._on[inequality.reason])
        expression = sum((by * self._vars[number] for number, by in terms.items()), constant)
        if not terms:
            if constant < 0:
                self._model.add_bool_or([literal.negated() for literal in on])
            return
        bound = self._model.add(expression >= 0)
        if on:
            bound.only_enforce_if(on)

    def solve(
        self,
        goal: Goal | None,
        seconds: float,
        *,
        reasons: Collection[Reason] | None = None,
        keep: Sequence[Affine] = (),
        hint: Sequence[int] | None = None,
        progress: Progress | None = None,
        what: str = "",
    ) -> Answer:
        """Search for at most about `seconds` (deterministic time).

        reasons: those that must hold, all if None; the others need not. keep: expressions with whole
        coefficients that must also be at least 0. hint: values to begin with.
        Raises shaftscore.base.errors.Cancelled if progress does.
        """
        told = progress or Silent()
        model = self._model.clone()
        for reason, literal in self._on.items():
            wanted = reasons is None or reason in reasons
            model.add(model.get_bool_var_from_proto_index(literal.index) == int(wanted))
        for expression in keep:
            model.add(self._whole(expression) + int(expression.constant) >= 0)
        if goal is not None:
            model.minimize(self._whole(goal.expression))
        best = Answer("unknown", tuple(hint) if hint is not None else ())
        spent, slice_s = 0.0, FIRST_SLICE if goal is not None else FIRST_SLICE_ANY
        while spent < seconds:
            told.report(min(1.0, spent / seconds), what)
            solver = self._solver(min(slice_s, seconds - spent), any_answer=goal is None)
            best = self._slice(model, solver, best, told)
            if best.status in ("optimal", "infeasible") or (goal is None and best.found):
                break
            spent += slice_s
            slice_s *= GROWTH
        if best.status == "unknown":
            told.report(1.0, what)  # whether the time was up, or the person stopped it
        return best

    def _whole(self, expression: Affine) -> Any:
        return sum((round(by) * self._vars[number] for number, by in expression.terms.items()), 0)

    def _slice(self, model: Any, solver: Any, before: Answer, told: Progress) -> Answer:
        cp = self._cp
        model.clear_hints()
        hints = before.values or completed(self._problem, [v.hint for v in self._problem.variables])
        for variable, value in zip(self._vars, hints, strict=True):
            model.add_hint(variable, int(value))
        with stopping(told, solver.stop_search):
            status = solver.solve(model)
        if status == cp.INFEASIBLE:
            return Answer("infeasible")
        if status not in (cp.OPTIMAL, cp.FEASIBLE):
            return before if before.found else Answer("unknown", before.values)
        values = tuple(solver.value(variable) for variable in self._vars)
        return Answer("optimal" if status == cp.OPTIMAL else "feasible", values)

    def _solver(self, seconds: float, *, any_answer: bool) -> Any:
        """Make a solver; where any answer will do, one worker without linear programs is quickest."""
        solver = self._cp.CpSolver()
        parameters = solver.parameters
        parameters.random_seed = self.seed
        parameters.num_workers = 1 if any_answer else WORKERS
        parameters.interleave_search = not any_answer
        if any_answer:
            parameters.linearization_level = 0
        parameters.max_deterministic_time = seconds
        parameters.max_time_in_seconds = STUCK_S + STUCK_SHARE * seconds
        parameters.catch_sigint_signal = False
        return solver

    def core(self, seconds: float, progress: Progress | None = None) -> tuple[Reason, ...] | None:
        """Return reasons that cannot hold together, not yet few; None if that could not be shown.

        The person can stop it by the progress; whether that was so, its next report says.
        """
        model = self._model.clone()
        model.add_assumptions(list(self._on.values()))
        solver = self._solver(seconds, any_answer=True)
        with stopping(progress or Silent(), solver.stop_search):
            status = solver.solve(model)
        if status != self._cp.INFEASIBLE:
            return None
        indices = set(solver.sufficient_assumptions_for_infeasibility())
        return tuple(reason for reason, literal in self._on.items() if literal.index in indices)


def whole(inequality: Inequality, problem: Problem, margin: int | None) -> tuple[Mapping[int, int], int]:
    """Return whole coefficients and constant of an inequality; never weaker than the real one."""
    expression = inequality.expression * FINE
    terms: dict[int, int] = {}
    constant = expression.constant
    for number, by in expression.terms.items():
        terms[number] = round(by)
        variable, lost = problem.variables[number], by - round(by)
        constant += min(lost * variable.least, lost * variable.most)
    whole_constant = floor(constant + 1e-3)
    if margin is not None and inequality.margin:
        terms[margin] = terms.get(margin, 0) - round(inequality.margin * FINE / MARGIN_PARTS)
    return {number: by for number, by in terms.items() if by}, whole_constant
