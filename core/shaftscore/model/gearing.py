"""How often each stack turns in a cycle of the master, and after how many cycles all of them repeat.

The rate of a stack is a fraction: whole turns over whole cycles, as its record says, or what its
intermittent stage makes of the driving stack's. The period is the least common multiple of the cycles.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import chain

from shaftscore.base.errors import Fault
from shaftscore.base.wording import counted, did_you_mean, listed
from shaftscore.model.shaft import MOST_CYCLES, Stack, Turn

Rates = Mapping[str, Fraction]
"""Turns a cycle by the id of a stack."""


def rates_of(stacks: Sequence[Stack]) -> Rates:
    """Return the turns a cycle of each stack, by its id.

    Raises ValueError for stacks that step one another in a ring, or one that none drives.
    """
    by_id = {stack.id: stack for stack in stacks}
    found: dict[str, Fraction] = {}
    for stack in stacks:
        for driven in reversed(driven_from(by_id, stack)):
            if driven.id not in found:
                found[driven.id] = _rate(driven, found)
    return found


def _rate(stack: Stack, found: Rates) -> Fraction:
    """Return the turns a cycle of one stack; its driving stack's are found."""
    if stack.steps_from is None:
        return Fraction(stack.turns, stack.cycles)
    return found[stack.steps_from.stack] / stack.steps_from.driver_turns


def driven_from(by_id: Mapping[str, Stack], stack: Stack) -> list[Stack]:
    """Return a stack, the one that steps it, the one that steps that, and so on.

    Raises ValueError where they form a ring, or one of them is not there.
    """
    found = [stack]
    while (stage := found[-1].steps_from) is not None:
        if stage.stack not in by_id or any(stage.stack == one.id for one in found):
            raise ValueError(f"nothing drives the stack {stage.stack}")
        found.append(by_id[stage.stack])
    return found


def senses_of(stacks: Sequence[Stack], usual: Turn) -> Mapping[str, Turn]:
    """Return the sense in which each stack turns, by its id: as given, as its stage says, or the usual one.

    Raises ValueError as `rates_of`.
    """
    by_id = {stack.id: stack for stack in stacks}
    found: dict[str, Turn] = {}
    for stack in stacks:
        for driven in reversed(driven_from(by_id, stack)):
            found[driven.id] = driven.turn or _stepped_sense(driven, found) or usual
    return found


def _stepped_sense(stack: Stack, found: Mapping[str, Turn]) -> Turn | None:
    """Return the sense that its stage gives a stack; None without a stage. Its driving stack's is found."""
    if stack.steps_from is None:
        return None
    driving = found[stack.steps_from.stack]
    if not stack.steps_from.reverses:
        return driving
    return "clockwise" if driving == "counterclockwise" else "counterclockwise"


def period_of(rates: Rates) -> int:
    """Return after how many cycles all stacks repeat."""
    return math.lcm(*(rate.denominator for rate in rates.values()))


def gearing_faults(stacks: Sequence[Stack], usual: Turn) -> Iterator[Fault]:
    """Yield stages that lead nowhere or round, what contradicts them, and machines that repeat too late."""
    broken = list(chain.from_iterable(_stage_faults(stacks, place) for place in range(len(stacks))))
    yield from broken
    if not broken:
        rates = rates_of(stacks)
        yield from _rates_told_otherwise(stacks, rates)
        yield from _senses_told_otherwise(stacks, senses_of(stacks, usual))
        yield from _bounds(stacks, rates)


def _stage_faults(stacks: Sequence[Stack], place: int) -> Iterator[Fault]:
    """Yield a stage whose driving stack is not there, is its own, or is driven by it in turn."""
    stack, stage = stacks[place], stacks[place].steps_from
    if stage is None:
        return
    path, by_id = f"stacks[{place}].steps_from.stack", {one.id: one for one in stacks}
    if stage.stack == stack.id:
        yield Fault(path, f'"{stage.stack}" is this stack itself; name the stack that drives it')
    elif stage.stack not in by_id:
        hint = did_you_mean(stage.stack, list(by_id))
        yield Fault(path, f'there is no stack "{stage.stack}"' + (f"; {hint}" if hint else ""))
    elif stack.id in _ring(by_id, stack):
        names = " → ".join(f'"{one}"' for one in (stack.id, *_ring(by_id, stack)))
        yield Fault(
            path, f"leads round to the stack itself ({names}); one of them must be geared, not stepped"
        )


def _ring(by_id: Mapping[str, Stack], stack: Stack) -> list[str]:
    """Return the ids of what drives a stack, up to the first that is named twice or not there."""
    found: list[str] = []
    at: Stack | None = stack
    while at is not None and at.steps_from is not None and at.steps_from.stack not in found:
        found.append(at.steps_from.stack)
        at = by_id.get(found[-1])
    return found


def _rates_told_otherwise(stacks: Sequence[Stack], rates: Rates) -> Iterator[Fault]:
    """Yield turns and cycles that are given and contradict the stage that steps the stack."""
    for place, stack in enumerate(stacks):
        turns, cycles = rates[stack.id].as_integer_ratio()
        given = (("turns", stack.turns, turns), ("cycles", stack.cycles, cycles)) if stack.steps_from else ()
        for key, told, right in given:
            if told not in (1, right):
                what = (
                    f"{told} contradicts the stage that steps the stack, which makes it {right}; leave it out"
                )
                yield Fault(f"stacks[{place}].{key}", what)


def _senses_told_otherwise(stacks: Sequence[Stack], senses: Mapping[str, Turn]) -> Iterator[Fault]:
    """Yield senses that are given and contradict the stage that steps the stack."""
    for place, stack in enumerate(stacks):
        right = _stepped_sense(stack, senses)
        if stack.turn is not None and right is not None and stack.turn != right:
            assert stack.steps_from is not None, "a stage gives the sense"
            driving = stack.steps_from.stack
            why = f'"{driving}" turns {senses[driving]}, and its stage turns this stack {right}'
            yield Fault(f"stacks[{place}].turn", f'"{stack.turn}" is not possible: {why}; leave it out')


def _bounds(stacks: Sequence[Stack], rates: Rates) -> Iterator[Fault]:
    """Yield a machine that takes too many cycles to repeat."""
    if (period := period_of(rates)) <= MOST_CYCLES:
        return
    slow = [stack for stack in stacks if rates[stack.id].denominator > 1]
    named = [f"{stack.label} after {_shown(rates[stack.id].denominator)}" for stack in slow[:6]]
    more = [counted(len(slow) - 6, "other stack")] if len(slow) > 6 else []
    told = listed([*named, *more])
    when = f"after {_shown(period)} cycles"
    most = f"at most {MOST_CYCLES:,} are possible; choose numbers with common factors"
    yield Fault("stacks", f"repeat together only {when} ({told}); {most}")


def _shown(cycles: int) -> str:
    """Write a count of cycles; one of a long chain has hundreds of digits."""
    return f"{cycles:,}" if cycles < 10**15 else "over 10^15"
