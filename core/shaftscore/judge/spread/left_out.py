"""What the chance says nothing about, in sentences for people."""

from __future__ import annotations

from collections.abc import Collection

from shaftscore.base import wording
from shaftscore.judge.spread.causes import NO_EFFECTS, BuiltEffects
from shaftscore.judge.spread.judging import JudgedRule
from shaftscore.model import Project
from shaftscore.rules.items import MOST_ITEMS

ALWAYS = "Contact forces and whether bodies meet are checked for the machine as drawn only."
WITH_SPRINGS = "Contact stress, torque and whether bodies meet are checked for the machine as drawn only."
MAGAZINES = "What {} in time is checked for the machine as drawn only."


CROWDED = f"What moves is checked for the machine as drawn only: over {MOST_ITEMS:,} items leave in a turn."


def left_out(
    project: Project,
    judged: Collection[JudgedRule] = (),
    *,
    crowded: bool = False,
    effects: BuiltEffects = NO_EFFECTS,
) -> tuple[str, ...]:
    """Describe what the chance leaves out of a project.

    judged: what was judged of it. crowded: whether too many items leave in a turn to follow them.
    effects: what other modules add, springs among them.
    """
    always = WITH_SPRINGS if effects.fails else ALWAYS
    flow = project.flow
    if flow is None:
        return (always,)
    if crowded:
        return (CROWDED, always)
    known = {one.what for one in judged if one.kind == "stock"}
    drawn = {gate.source for gate in flow.gates}
    magazines = [one.id for one in flow.magazines if one.id in drawn and one.id not in known]
    holds = f"{wording.listed(magazines)} {'holds' if len(magazines) == 1 else 'hold'}"
    return (MAGAZINES.format(holds), always) if magazines else (always,)
