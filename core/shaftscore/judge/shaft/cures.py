"""What would keep a shaft straight: clamp, thicker rod, opposed stations, a bearing in the middle.

Each is tried on the shaft before it is offered, in this order. The first two are edits; a follower's station
and a further bearing are parts of the machine that only its maker can move.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore.built.threads import nut_torque_nm
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.shaft.bending import StackShaft
from shaftscore.judge.shaft.case import ShaftCase
from shaftscore.model import Project, replaced
from shaftscore.model.base import MOST_FORCE_N

STEP_N = 10.0
"""Clamping forces in cures are rounded up to whole steps of this, N."""

MOST_TURNED = 4
"""So many lanes are tried on the other side, those with the greatest forces first."""

HALF_TURN = 180.0

Holds = Callable[[StackShaft], bool]
"""Whether a shaft no longer has what was found."""


def shaft_cure(shaft: StackShaft, holds: Holds) -> Cure | None:
    """Return the first change after which the shaft holds, or None if none of them does it."""
    attempts = (*clamped(shaft), *thicker(shaft))
    edit = first_verified(shaft.case.project, attempts, lambda made: holds(_remade(shaft.case, made)))
    if edit is not None:
        return edit
    by_hand = (*_opposed(shaft), *_middle_bearing(shaft))
    return next((Cure(sentence=text) for text, made in by_hand if holds(made)), None)


def _remade(case: ShaftCase, project: Project) -> StackShaft:
    """Return the shaft of an edited project in which only the rod changed."""
    made = case.on_rod(project)
    assert not isinstance(made, str), "a rod of the same shape has the same section"
    return StackShaft(made)


def clamped(shaft: StackShaft) -> Iterator[Attempt]:
    """Yield the clamping force that keeps every joint closed, where it is more than there is."""
    needed, rod = shaft.needed_clamp_n, shaft.case.rod
    if needed is None or needed <= 0 or shaft.is_stiffened:
        return
    force = wording.up_to(needed, STEP_N)
    if force > MOST_FORCE_N:
        return
    nut = shaft.case.figures.nut_mm
    by = f": {wording.newton_metres(nut_torque_nm(force, nut))} on its {rod.thread} nuts" if nut else ""
    yield Attempt(
        "set_stack",
        {"stack_id": shaft.case.stack.id, "rod": replaced(rod, clamp_n=force)},
        f"Clamp the stack with {wording.newtons(force, 0)}{by}.",
    )


def thicker(shaft: StackShaft) -> Iterator[Attempt]:
    """Yield a rod as thick as the bore allows, where it is thinner."""
    rod, bore = shaft.case.rod, shaft.case.stack.bore
    if rod.thread is not None or rod.across_mm >= bore.across_mm or rod.shape_in(bore) != bore.shape:
        return
    yield Attempt(
        "set_stack",
        {"stack_id": shaft.case.stack.id, "rod": replaced(rod, across_mm=bore.across_mm)},
        f"Use a rod of {wording.plain(bore.across_mm)} mm, which the bore allows.",
    )


def _opposed(shaft: StackShaft) -> Iterator[tuple[str, StackShaft]]:
    """Yield shafts with one follower on the other side of the stack."""
    case = shaft.case
    by_size = sorted(case.lanes.values(), key=lambda one: -float(np.abs(one.push_n).max()))
    for one in by_size[:MOST_TURNED]:
        station = wrap(one.loads.solved.lane.station_deg + HALF_TURN)
        turned = replace(one, normal=-one.normal)
        text = f"Move {lane_text(case.project, one.lane_id)} to station {wording.degrees(station)}, opposite."
        yield text, StackShaft(replace(case, lanes={**case.lanes, one.lane_id: turned}))


def _middle_bearing(shaft: StackShaft) -> Iterator[tuple[str, StackShaft]]:
    """Yield the shaft with a third bearing in place of the spacer nearest to where it bends most."""
    case, worst = shaft.case, shaft.deflection_mm
    layers = case.plan.layers
    spacers = [index for index, layer in enumerate(layers) if layer.lane_id is None]
    if not spacers or len(case.bearings_mm) > 2:
        return
    most = case.plan.disc(max(worst, key=lambda lane_id: worst[lane_id].value)).middle_mm
    at = min(spacers, key=lambda index: abs(layers[index].middle_mm - most))
    z, (below, above) = layers[at].middle_mm, (layers[at - 1].lane_id, layers[at + 1].lane_id)
    names = " and ".join(lane_text(case.project, str(lane_id)) for lane_id in (below, above))
    bearings = np.sort(np.append(case.bearings_mm, z))
    text = f"Add a third bearing at z {wording.millimetres(z)}, between {names}."
    yield text, StackShaft(replace(case, bearings_mm=bearings))
