"""What would keep a shaft straight: clamp, thicker rod, opposed stations, a bearing in the middle.

Each is tried on the shaft before it is offered, in this order. The first two are edits; a follower's station
and a further bearing are parts of the machine that only its maker can move.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import chain

import numpy as np

from shaftscore.base import wording
from shaftscore.base.angles import wrap
from shaftscore.built.threads import nut_torque_nm
from shaftscore.judge.checks.cures import Attempt, first_verified
from shaftscore.judge.findings import Cure
from shaftscore.judge.findings.naming import lane_text
from shaftscore.judge.shaft.bending import StackShaft
from shaftscore.judge.shaft.case import ShaftCase
from shaftscore.model import Project, Rod, replaced
from shaftscore.model.base import MOST_FORCE_N

STEP_N = 10.0
"""Clamping forces in cures are rounded up to whole steps of this, N."""

MOST_TURNED = 4
"""So many lanes are tried on the other side, those with the greatest forces first."""

HALF_TURN = 180.0


@dataclass(frozen=True)
class ShaftState:
    """What is wrong with a shaft. Where a joint opens, the rest is not looked at."""

    opens: bool
    bends: bool = False
    is_stressed: bool = False


class ShaftTrials:
    """The shafts that one change makes of a shaft, tried once for all of its findings.

    Of each only what is wrong with it is kept: the shafts of many discs are large.
    """

    def __init__(self, shaft: StackShaft, judge: Callable[[StackShaft], ShaftState]) -> None:
        """Begin with none; judge: says what is wrong with a shaft."""
        self._shaft, self._judge = shaft, judge
        self._edited: dict[Rod | None, ShaftState] = {}
        self._by_hand: list[tuple[str, ShaftState]] = []
        self._left = chain(_opposed(shaft), _middle_bearing(shaft))

    def cure(self, holds: Callable[[ShaftState], bool]) -> Cure | None:
        """Return the first change after which the shaft holds, or None if none of them does it."""
        shaft = self._shaft
        attempts = (*clamped(shaft), *thicker(shaft))
        edit = first_verified(shaft.case.project, attempts, lambda made: holds(self._of(made)))
        if edit is not None:
            return edit
        return next((Cure(sentence=text) for text, state in self._changed() if holds(state)), None)

    def _of(self, project: Project) -> ShaftState:
        """Return the state of the shaft of an edited project in which only its rod changed."""
        rod = next(one.rod for one in project.stacks if one.id == self._shaft.case.stack.id)
        if rod not in self._edited:
            self._edited[rod] = self._judge(_remade(self._shaft.case, project))
        return self._edited[rod]

    def _changed(self) -> Iterator[tuple[str, ShaftState]]:
        """Yield what is to be done by hand, with the state after it; each is made when first asked for."""
        yield from self._by_hand
        for text, made in self._left:
            self._by_hand.append((text, self._judge(made)))
            yield self._by_hand[-1]


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
