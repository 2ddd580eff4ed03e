"""Findings about shafts: what bends or is stressed too much, joints that open, and what is not computed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial

from shaftscore.base.angles import Arcs
from shaftscore.base.tolerance import over
from shaftscore.judge.checks import Memo
from shaftscore.judge.checks.base import Curable
from shaftscore.judge.findings import Fact, Finding, Severity, found
from shaftscore.judge.shaft.bending import ShaftExtreme, StackShaft
from shaftscore.judge.shaft.cures import ShaftState, ShaftTrials
from shaftscore.judge.shaft.machine import MachineShafts

SHAFT_RULES = ("shaft-bends", "joint-opens")
"""Rules judged for a project with a rod whose shaft can be computed."""

REFUSED_PLACE = 1000
"""Places of refused shafts, from here on, are apart from those of fields that no check reads."""


def shaft_findings(shafts: MachineShafts, memo: Memo) -> Iterator[Finding]:
    """Judge all shafts; findings of unchanged ones are kept."""
    project = shafts.project
    order = {stack.id: place for place, stack in enumerate(project.stacks)}
    for stack_id, shaft in shafts.stacks.items():
        reads = (shaft, project.tolerances.profile_mm, shaft.case.stack.label, len(order))
        judge = partial(_judged, shaft, project.tolerances.profile_mm, order[stack_id], len(order))
        yield from memo.keep_curable(("shaft", stack_id), reads, judge)
    for stack_id, why in shafts.refused.items():
        stack = project.stacks[order[stack_id]]
        of = f" of {stack.label}" if len(order) > 1 else ""
        text = f"The shaft{of} is not checked: {why[:1].lower()}{why[1:]}"
        yield found("not-checked", (), place=REFUSED_PLACE + order[stack_id], why=text)


def _judged(shaft: StackShaft, profile_mm: float, place: int, stacks: int) -> Iterable[Finding | Curable]:
    """Judge one shaft."""
    facts: dict[str, Fact] = {"stack": shaft.case.stack.label if stacks > 1 else ""}
    trials = ShaftTrials(shaft, partial(_state, profile_mm=profile_mm))
    yield from _bends(shaft, trials, profile_mm, 2 * place, facts)
    yield from _stressed(shaft, trials, 2 * place + 1, facts)
    yield from _opens(shaft, trials, place, facts)


def _state(shaft: StackShaft, *, profile_mm: float) -> ShaftState:
    """Return what is wrong with a shaft whose discs may be deflected by so much, mm."""
    if shaft.open_joint is not None:
        return ShaftState(opens=True)
    return ShaftState(opens=False, bends=bool(_bent(shaft, profile_mm)), is_stressed=_is_stressed(shaft))


def _span(shaft: StackShaft, worst: ShaftExtreme) -> tuple[Arcs, float]:
    """Return an angle of the stack as a span and an angle of the master shaft."""
    master = worst.own_deg / shaft.case.stack.turns
    return Arcs.span(master, 0.0), master


def _bends(
    shaft: StackShaft, trials: ShaftTrials, profile_mm: float, place: int, facts: dict[str, Fact]
) -> Iterator[Finding | Curable]:
    worst = shaft.deflection_mm
    lanes = _bent(shaft, profile_mm)
    if not lanes:
        return
    span, at = _span(shaft, worst[lanes[0]])
    made = found(
        "shaft-bends",
        tuple(lanes),
        span=span,
        value=worst[lanes[0]].value,
        limit=profile_mm,
        place=place,
        facts={**facts, "what": "deflection", "at_deg": at},
    )
    yield Curable(made, partial(trials.cure, lambda state: not (state.opens or state.bends)), slow=True)


def _bent(shaft: StackShaft, profile_mm: float) -> list[str]:
    """Return the lanes whose disc is deflected by more than is allowed, mm, the worst first."""
    worst = shaft.deflection_mm
    lanes = [lane_id for lane_id, one in worst.items() if over(one.value, profile_mm)]
    return sorted(lanes, key=lambda lane_id: -worst[lane_id].value)


def _stressed(
    shaft: StackShaft, trials: ShaftTrials, place: int, facts: dict[str, Fact]
) -> Iterator[Finding | Curable]:
    worst = shaft.stress_mpa
    if not _is_stressed(shaft):
        return
    span, at = _span(shaft, worst)
    made = found(
        "shaft-bends",
        (),
        severity=Severity.ERROR,
        span=span,
        value=worst.value,
        limit=shaft.allowed_mpa,
        place=place,
        facts={**facts, "what": "stress", "at_deg": at},
    )
    yield Curable(made, partial(trials.cure, lambda state: not (state.opens or state.is_stressed)), slow=True)


def _is_stressed(shaft: StackShaft) -> bool:
    allowed = shaft.allowed_mpa
    return allowed is not None and over(shaft.stress_mpa.value, allowed, allowed)


def _opens(
    shaft: StackShaft, trials: ShaftTrials, place: int, facts: dict[str, Fact]
) -> Iterator[Finding | Curable]:
    opened = shaft.open_joint
    if opened is None:
        return
    joint, moment, held = opened
    span, at = _span(shaft, moment)
    below, above = joint.below.lane_id, joint.above.lane_id
    more: dict[str, Fact] = {
        "side": "above" if below is not None else "below",
        "clamp_n": float(shaft.case.rod.clamp_n or 0.0),
        "at_deg": at,
    }
    made = found(
        "joint-opens",
        (str(below if below is not None else above),),
        span=span,
        value=moment.value / 1000,
        limit=held / 1000,
        place=place,
        facts={**facts, **more},
    )
    yield Curable(made, partial(trials.cure, lambda state: not state.opens), slow=True)
