"""What the chance says nothing about, in sentences for people."""

from __future__ import annotations

from collections.abc import Collection

from shaftscore.base import wording
from shaftscore.judge.spread.judging import Judged
from shaftscore.judge.spread.outlets import is_followed
from shaftscore.model import Project

ALWAYS = "Contact forces and whether bodies meet are judged in the machine as drawn only."
MAGAZINES = "What {} in time is judged in the machine as drawn only."
OUTLETS = "The order at {} is judged in the machine as drawn only."


def left_out(project: Project, judged: Collection[Judged] = ()) -> tuple[str, ...]:
    """Describe what the chance leaves out of a project; judged: what was judged of it."""
    flow = project.flow
    if flow is None:
        return (ALWAYS,)
    known = {one.what for one in judged if one.kind == "stock"}
    drawn = {gate.source for gate in flow.gates}
    magazines = [one.id for one in flow.magazines if one.id in drawn and one.id not in known]
    outlets = [one.id for one in flow.outlets if one.expects and not is_followed(flow, one)]
    holds = f"{wording.listed(magazines)} {'holds' if len(magazines) == 1 else 'hold'}"
    said = (MAGAZINES.format(holds) if magazines else "", _orders(outlets), ALWAYS)
    return tuple(filter(None, said))


def _orders(outlets: list[str]) -> str:
    return OUTLETS.format(wording.listed(outlets)) if outlets else ""
