"""free-part and joint-slips: discs that nothing turns, and clamps that do not hold their joints.

A disc that turns freely on its counterpart is an error, unless it is screwed or glued, or the clamp's
friction carries 1.5 times its joint's peak torque; where forces are not described that torque is not
known, and the finding is a warning that says so. A clamp that does not carry a joint's peak torque lets
the joint slip through its play.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import ceil, inf

from shaftscore.base.wording import newtons
from shaftscore.built.clamp import FORCE_LEFT
from shaftscore.built.joints import CLAMP_RESERVE, clamp_force_for_n, free_part
from shaftscore.edits import apply_edit
from shaftscore.judge.findings import Cure, Fact, Finding, Severity, found
from shaftscore.judge.fits.clamp import (
    JointTorque,
    clamp_capacity_nm,
    clamp_radii_mm,
    joint_torques,
    slipping,
)
from shaftscore.judge.fits.cures import CLEARANCES_MM, StackChange, closer, dogged, pinned
from shaftscore.judge.fits.stack_fit import StackFit, stack_fit
from shaftscore.judge.loads import MachineLoads
from shaftscore.model import replaced
from shaftscore.model.base import MOST_FORCE_N
from shaftscore.solution import Solution

FIT_RULES = ("free-part", "joint-slips")
"""Rules judged for every stack."""

CLAMP_STEP_N = 10
"""Clamping forces in cures are rounded up to this."""


def needs_loads(fit: StackFit) -> bool:
    """Return whether the findings of a stack depend on forces: they do where a clamp may hold its joints."""
    return clamp_capacity_nm(fit) is not None


def fit_findings(solution: Solution, fit: StackFit, loads: MachineLoads, place: int) -> Iterator[Finding]:
    """Judge one stack; place: its place among the stacks."""
    torques = joint_torques(fit, loads) if needs_loads(fit) else {}
    free = None
    if fit.is_free and fit.stack.fixing == "keyed":
        free = _free(solution, fit, torques, place)
        if free is not None:
            yield free
    slips = slipping(fit, torques)
    if slips and free is None:
        yield _slips(fit, torques, slips, place)


def _free(
    solution: Solution, fit: StackFit, torques: Mapping[str, JointTorque], place: int
) -> Finding | None:
    """Find discs that turn freely and that no clamp is known to carry."""
    capacity = clamp_capacity_nm(fit)
    unknown = [disc for disc in fit.discs if capacity is not None and not torques[disc].is_known]
    lost = [disc for disc in fit.discs if not _carried(capacity, torques.get(disc))]
    if not lost:
        return None
    sure = [disc for disc in lost if disc not in unknown]
    needed = max((torques[disc].peak_nm for disc in sure if disc in torques), default=0.0)
    facts: dict[str, Fact] = {
        "stack": fit.stack.label,
        "bore": fit.stack.bore.shape,
        "clearance_mm": fit.clearance_mm,
    }
    return found(
        "free-part",
        tuple(sure or lost),
        severity=Severity.ERROR if sure else Severity.WARNING,
        value=capacity,
        limit=CLAMP_RESERVE * needed if sure and capacity is not None else None,
        cure=_free_cure(solution, fit),
        place=place,
        facts=facts,
        unknown=0 if sure else 1,
    )


def _carried(capacity_nm: float | None, torque: JointTorque | None) -> bool:
    """Return whether a clamp carries a free part's peak torque (N·m) with the reserve that it needs."""
    if capacity_nm is None or torque is None or not torque.is_known:
        return False
    return not bool(free_part(inf, capacity_nm, torque.peak_nm))


def _free_cure(solution: Solution, fit: StackFit) -> Cure | None:
    """Return the first change after which the discs are turned by something, else screws."""
    by_screws = StackChange(fit.stack, {"fixing": "screwed"}, "screw or glue each disc to the shaft")
    closer_fits = [closer(fit, clearance) for clearance in CLEARANCES_MM]
    tries = [pinned(fit), *closer_fits, dogged(fit), by_screws]
    for change in filter(None, tries):
        arguments = {"stack_id": fit.stack.id, **change.fields}
        edited = apply_edit(solution.project, "set_stack", **arguments).project
        stack = next(one for one in edited.stacks if one.id == fit.stack.id)
        after = stack_fit(Solution(edited, solution.lanes), stack)
        if not after.is_free or after.stack.fixing != "keyed":
            return _as_cure(change.order, arguments)
    return None


def _slips(fit: StackFit, torques: Mapping[str, JointTorque], slips: frozenset[str], place: int) -> Finding:
    lanes = sorted(slips, key=lambda disc: -torques[disc].peak_nm)
    return found(
        "joint-slips",
        tuple(lanes),
        value=torques[lanes[0]].peak_nm,
        limit=clamp_capacity_nm(fit),
        cure=_slip_cure(fit, torques[lanes[0]].peak_nm),
        place=place,
        stack=fit.stack.label,
        play_deg=float(fit.drawn_joint_deg(0.0)),
    )


def _slip_cure(fit: StackFit, peak_nm: float) -> Cure | None:
    """Return the clamping force that carries the peak torque, N·m, with the force that creep leaves."""
    outer, inner = clamp_radii_mm(fit)
    rod = fit.stack.rod
    if rod is None or outer <= inner or peak_nm > 1e6:
        return None
    needed = clamp_force_for_n(peak_nm, outer, inner) / FORCE_LEFT
    force = ceil(needed / CLAMP_STEP_N + 1e-9) * CLAMP_STEP_N
    if force > MOST_FORCE_N:
        return None
    tight = replaced(rod, clamp_n=float(force))
    return _as_cure(f"clamp with {newtons(force, 0)}", {"stack_id": fit.stack.id, "rod": tight})


def _as_cure(order: str, arguments: Mapping[str, object]) -> Cure:
    return Cure(sentence=f"{order[:1].upper()}{order[1:]}.", edit="set_stack", arguments=arguments)
