"""A counter of several digits with carry: a stack of seven lanes a digit, each stepping the next one on.

The first digit turns with the master, once in ten counts; a Geneva wheel of ten slots, or a gear with counted
teeth, takes each further one on by one place in each turn of the digit before it. The bars of a digit,
segments a to g, are levers on one rod. Digits stand at multiples of 36 degrees of their own turn and change
between them.

A Geneva wheel moves through 144 degrees of its driver, far more than one count. But its own turn within the
one count from 9 to 0, about the middle of the step, is 15.4 degrees, so that all bars of the next digit can
change there, and rest in the remainder:

    own(t) = 2 atan2(lambda sin t, 1 - lambda cos t), lambda = sin 18 deg, t = 18 deg                 (1)

While the ones show 9 the tens are therefore 10.3 degrees off their rest already. A further Geneva wheel would
be 14.6 degrees off its own then, which leaves too little to change in: with Geneva wheels a counter has two
digits. Two counted teeth of twenty move the next digit through exactly that one count, so that such counters
have more.

The count from 9 to 0 is in the middle of a driver's turn, so that no step runs over the start of a cycle: a
digit that drives shows 4 at its zero mark, the last one 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from shaftscore.base.angles import wrap
from shaftscore.base.errors import EditError, Fault
from shaftscore.edits.base import Edited, changed, consistent, constructed
from shaftscore.model import (
    Block,
    Bore,
    CountedSteps,
    Disc,
    FollowerParts,
    GenevaSteps,
    Lane,
    LevelState,
    Project,
    RangeState,
    Requires,
    Stack,
    SwingingRoller,
)
from shaftscore.model.codes import with_codes
from shaftscore.model.references import reference_faults
from shaftscore.program.fonts import SEGMENTS, SEGMENTS_OF

FEWEST, MOST = 2, 6
"""Digits of a counter."""

NAMES = ("Ones", "Tens", "Hundreds", "Thousands", "Ten thousands", "Hundred thousands")
"""What the digits are called, the first one first."""

BARS = (
    "top bar",
    "upper right bar",
    "lower right bar",
    "bottom bar",
    "lower left bar",
    "upper left bar",
    "middle bar",
)
"""What the segments are called, in their order."""

PLACE_DEG = 36.0
"""Angle between two digits of a stack's turn."""

DRIVING_FIRST = 4
"""What a digit that steps another one on shows at its zero mark."""

START_DEG = 126.0
"""Angle of a driving digit's turn at which a Geneva step begins: half of it, 72 degrees, before 198."""

COUNT_DEG = 180.0
"""Angle of a driving digit's turn at which it begins to go from 9 to 0, and counted teeth mesh."""

DWELL_DEG, STEPPED_DWELL_DEG = 19.0, 22.0
"""How long a bar rests about each digit at least; a stepped one's stack turns 10.3 degrees off its rest."""

SHOWN_MM, BASE_MM, ARM_MM, PIVOT_MM = 5.0, 34.0, 70.0, 80.0
"""Height of a bar that is shown, base radius of the discs, length of the levers and place of their pivot."""

BORE = Bore(shape="hex", across_mm=6.0)
"""Bore of the stacks: ten slots leave room for no more on wheels that fit a usual bed."""

CENTRE_MM, PIN_MM, THICK_MM = 78.0, 4.0, 5.0
"""Distance of two shafts, diameter of the pin and thickness of the wheel."""

TEETH, COUNTED, MODULE_MM = 20, 2, 4.0
"""Teeth of a full driver and of the wheel, those that are there, and their module: shafts 80 mm apart."""

CarryKind = Literal["geneva", "counted-gear"]
"""What steps the next digit on."""


@dataclass(frozen=True)
class CounterWish:
    """A counter that is wanted. digits: how many, 2 to 6; of Geneva wheels 2. carry: what steps them on."""

    digits: int = FEWEST
    carry: CarryKind = "geneva"


def digit_states(first: int) -> tuple[tuple[int, str], ...]:
    """Return what a digit shows at each of its ten places, from its zero mark on: digit and segments."""
    return tuple(((first + place) % 10, SEGMENTS_OF[(first + place) % 10]) for place in range(10))


def first_of(place: int, digits: int) -> int:
    """Return what a digit shows at its zero mark; place: from 0, the ones first."""
    return 0 if place == digits - 1 else DRIVING_FIRST


def add_counter(project: Project, wish: CounterWish) -> Edited:
    """Add the stacks and lanes of a counter, with rules that say when the bars of each digit may move.

    A machine without lanes has no other stacks then, and ten steps. Raises EditError for a count of digits
    that is not possible, or names that are taken.
    """
    if not FEWEST <= wish.digits <= MOST:
        raise EditError(f"a counter has {FEWEST} to {MOST} digits, not {wish.digits}")
    if wish.carry == "geneva" and wish.digits > FEWEST:
        raise EditError("Geneva wheels carry between two digits only; take gears with counted teeth")
    stacks = tuple(_stack(place, wish.carry) for place in range(wish.digits))
    lanes = tuple(lane for place in range(wish.digits) for lane in _lanes(place, wish))
    _refuse_taken(project, stacks, lanes)
    is_new = not project.lanes
    changes: dict[str, object] = {
        "stacks": stacks if is_new else (*project.stacks, *stacks),
        "lanes": with_codes((*project.lanes, *lanes)),
        "rules": (*project.rules, *_rules(wish.digits)),
    }
    if is_new:
        names = tuple(f"Ones {digit}" for digit, _ in digit_states(first_of(0, wish.digits)))
        changes["shaft"] = changed(project.shaft, steps=10, step_names=names)
    made = changed(project, **changes)
    faults: list[Fault] = list(reference_faults(made))
    if faults:
        raise EditError("; ".join(str(fault) for fault in faults[:3]))
    return Edited(consistent(made), f"Add a counter of {wish.digits} digits")


def stack_id(place: int) -> str:
    """Return the id of a digit's stack; place: from 0, the ones first."""
    return f"digit_{place + 1}"


def lane_id(place: int, segment: str) -> str:
    """Return the id of a bar's lane."""
    return f"{stack_id(place)}_{segment}"


def _refuse_taken(project: Project, stacks: tuple[Stack, ...], lanes: tuple[Lane, ...]) -> None:
    """Raise EditError where an id is there already."""
    there = {stack.id for stack in project.stacks if project.lanes} | {lane.id for lane in project.lanes}
    wanted = [(one.id, one.name) for one in stacks] + [(one.id, one.name) for one in lanes]
    taken = [name for own, name in wanted if own in there]
    if taken:
        raise EditError(f"{taken[0]} is there already: the machine has a counter")


def _stack(place: int, carry: CarryKind) -> Stack:
    """Return the stack of a digit: each stage is at the other end than the one before it."""
    end = "top" if place % 2 else "bottom"
    steps = _stage(place - 1, carry) if place else None
    name = f"{NAMES[place]} shaft"
    return constructed(
        Stack, id=stack_id(place), name=name, bore=BORE, driven_end=end, steps_from=steps, joints="one-way"
    )


def _stage(driving: int, carry: CarryKind) -> GenevaSteps | CountedSteps:
    """Return the stage that a digit drives."""
    if carry == "geneva":
        return constructed(
            GenevaSteps,
            kind="geneva",
            stack=stack_id(driving),
            start_deg=START_DEG,
            slots=10,
            centre_distance_mm=CENTRE_MM,
            pin_diameter_mm=PIN_MM,
            thickness_mm=THICK_MM,
        )
    return constructed(
        CountedSteps,
        kind="counted-gear",
        stack=stack_id(driving),
        start_deg=COUNT_DEG,
        teeth=TEETH,
        counted=COUNTED,
        driven_teeth=TEETH,
        module_mm=MODULE_MM,
        thickness_mm=THICK_MM,
    )


def _lanes(place: int, wish: CounterWish) -> Iterator[Lane]:
    """Yield the seven lanes of a digit."""
    digits = wish.digits
    states, station, side = digit_states(first_of(place, digits)), *_station(place, digits)
    dwell = STEPPED_DWELL_DEG if place and wish.carry == "geneva" else DWELL_DEG
    follower = constructed(
        SwingingRoller,
        kind="swinging-roller",
        roller_radius_mm=4.0,
        width_mm=4.0,
        body_width_mm=8.0,
        arm_thickness_mm=4.0,
        arm_mm=ARM_MM,
        pivot_distance_mm=PIVOT_MM,
        pivot_side=side,
        output_arm_mm=2 * ARM_MM,
        pivot_rod_mm=5.0,
    )
    parts = constructed(
        FollowerParts,
        kind="lever",
        arm_mm=ARM_MM,
        output_arm_mm=2 * ARM_MM,
        thickness_mm=4.0,
        pivot_rod_mm=5.0,
    )
    for segment, bar in zip(SEGMENTS, BARS, strict=True):
        yield constructed(
            Lane,
            id=lane_id(place, segment),
            name=f"{NAMES[place]} {segment}, {bar}",
            group=NAMES[place],
            stack=stack_id(place),
            levels={"hidden": 0.0, "shown": SHOWN_MM},
            blocks=tuple(_blocks([segment in shown for _, shown in states], dwell)),
            follower=follower,
            parts=parts,
            station_deg=station,
            disc=Disc(base_radius_mm=BASE_MM),
        )


def _station(place: int, digits: int) -> tuple[float, str]:
    """Return where the levers of a digit are, and on which side their pivots: away from its neighbours."""
    if place == 0:
        return 180.0, "clockwise"
    return (0.0, "counterclockwise") if place == digits - 1 else (90.0, "clockwise")


def _blocks(shown: list[bool], dwell_deg: float) -> Iterator[Block]:
    """Yield the dwells of a bar, digits alike in one; shown: at each of the ten places."""
    starts = [place for place in range(10) if shown[place] != shown[place - 1]]
    for number, place in enumerate(starts):
        last = (starts[(number + 1) % len(starts)] - place - 1) % 10
        start = wrap(PLACE_DEG * place - dwell_deg / 2)
        level = "shown" if shown[place] else "hidden"
        yield constructed(Block, level=level, start_deg=start, end_deg=start + PLACE_DEG * last + dwell_deg)


def _rules(digits: int) -> Iterator[Requires]:
    """Yield that the bars of a digit move only while the one before goes from 9 to 0: its top bar shows."""
    edge = SHOWN_MM / 8
    for place in range(1, digits):
        need = LevelState(lane=lane_id(place - 1, "a"), level="shown")
        for segment in SEGMENTS:
            when = RangeState(lane=lane_id(place, segment), from_mm=edge, to_mm=SHOWN_MM - edge)
            yield Requires(kind="requires", when=when, need=need)


def own_turn_deg(from_middle_deg: float) -> float:
    """Return how far a wheel of ten slots turns while its driver turns by an angle to both sides, by (1)."""
    share, angle = math.sin(math.radians(18.0)), math.radians(from_middle_deg)
    return 2 * math.degrees(math.atan2(share * math.sin(angle), 1 - share * math.cos(angle)))
