"""Arrange before and after: over all samples, and random machines of 8 to 64 lanes with flow.

`python -m benchmarks.arranged_better [COUNT]` prints a row a machine: lanes, errors, chance of working, least
margin (in units of the error that its rule must survive) before and after, blocks moved, processor time. The
last lines say in how many the chance was higher, the same and lower, and in how many of those under 99 % it
was raised. Goals: never lower; higher in 90 % of those under 99 %.
"""

from __future__ import annotations

import random
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shaftscore.base.angles import wrap
from shaftscore.base.samples import sample_folder
from shaftscore.model import (
    FORMAT,
    VERSION,
    Block,
    Channel,
    Exclusive,
    Flow,
    Gate,
    Lane,
    LevelState,
    Magazine,
    Outlet,
    Project,
    Shaft,
    Stack,
    Supply,
    TranslatingRoller,
)
from shaftscore.model.loader import load_project
from shaftscore.placing import ArrangeError, Arrangement, ArrangementFigures, Standing, arrange

SIZES = (8, 12, 16, 24, 32, 48, 64)
"""Numbers of lanes."""

ENOUGH = 0.99
"""A chance under this should be raised."""

SAME = 0.0005
"""Chances this near are the same."""

BUDGET_S = 150.0
"""No further machine is begun after this processor time."""


@dataclass(frozen=True)
class BeforeAfter:
    """One machine: figures as drawn and arranged, blocks moved, processor time, s."""

    name: str
    lanes: int
    before: ArrangementFigures
    after: ArrangementFigures
    moved: int
    seconds: float

    @property
    def gained(self) -> float:
        """By how much the chance is higher."""
        return (self.after.chance or 0.0) - (self.before.chance or 0.0)


def random_machine(lanes: int, seed: int) -> Project:
    """Return gates in groups of four, each group with a chute of its own, drawn about as they should be.

    The gates of a chute should open one after the other; each is drawn up to a third of the way off.
    """
    chance = random.Random(seed)
    made = [_gate(number, chance) for number in range(lanes)]
    chutes = [made[first : first + 4] for first in range(0, lanes, 4)]
    rules = tuple(
        Exclusive(kind="exclusive", states=tuple(_open(lane) for lane in group), gap_deg=1.0)
        for group in chutes
    )
    return Project(
        format=FORMAT,
        version=VERSION,
        name=f"{lanes} gates, {seed}",
        shaft=Shaft(turn="clockwise", speed_rpm=4.0, steps=1),
        stacks=(Stack(id="main", joints="one-way", fit_clearance_mm=0.1),),
        lanes=tuple(made),
        rules=rules,
        flow=_flow(chutes, chance),
    )


def _gate(number: int, chance: random.Random) -> Lane:
    start = wrap(90.0 * (number % 4) + round(chance.uniform(-30.0, 30.0), 1))
    length, move = float(chance.randint(6, 14)), float(chance.randint(28, 36))
    rest = wrap(start + length + move)
    blocks = (
        Block(level="open", start_deg=start, end_deg=start + length),
        Block(level="closed", start_deg=rest, end_deg=rest + 360.0 - length - 2 * move),
    )
    return Lane(
        id=f"g{number}",
        name=f"Gate {number}",
        group=f"Chute {number // 4 + 1}",
        levels={"closed": 0.0, "open": 10.0},
        blocks=tuple(sorted(blocks, key=lambda block: block.start_deg)),
        follower=TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0),
    )


def _open(lane: Lane) -> LevelState:
    return LevelState(lane=lane.id, level="open")


def _flow(chutes: Sequence[Sequence[Lane]], chance: random.Random) -> Flow:
    """Return the flow: a turn takes 15 s, and a chute wants its four items 1.5 to 3 s apart."""
    return Flow(
        supplies=(Supply(id="hopper", rate_per_min=20.0 * sum(map(len, chutes))),),
        magazines=tuple(
            Magazine(id=f"m{number}", source="hopper", travel_s=0.3, capacity=6, start_count=6)
            for number in range(len(chutes))
        ),
        channels=tuple(
            Channel(
                id=f"chute{number}",
                travel_min_s=0.2,
                travel_max_s=0.3,
                headway_s=round(chance.uniform(1.5, 3.0), 2),
                to=f"tray{number}",
            )
            for number in range(len(chutes))
        ),
        outlets=tuple(Outlet(id=f"tray{number}") for number in range(len(chutes))),
        gates=tuple(
            Gate(
                id=f"gate_{lane.id}",
                state=_open(lane),
                source=f"m{number}",
                to=f"chute{number}",
                item="item",
                item_s=0.1,
            )
            for number, group in enumerate(chutes)
            for lane in group
        ),
    )


def compared(project: Project) -> BeforeAfter:
    """Arrange a machine, and compare it with what was drawn."""
    begin = time.process_time()
    try:
        found = arrange(project)
    except ArrangeError:
        found = None
    if isinstance(found, Arrangement):
        before, after, moved = found.before, found.after, len(found.moved)
    else:
        before = after = ArrangementFigures.of(Standing.of(project))
        moved = 0
    return BeforeAfter(project.name, len(project.lanes), before, after, moved, time.process_time() - begin)


def machines(count: int) -> Iterator[Project]:
    """Yield the samples, then random machines."""
    for path in sorted(sample_folder().glob("*.shaft")):
        yield load_project(path)
    for number in range(count):
        yield random_machine(SIZES[number % len(SIZES)], number)


def main(count: int) -> None:
    """Print the table."""
    rows: list[BeforeAfter] = []
    print(f"{'machine':28} {'lanes':>5} {'errors':>9} {'chance, %':>15} {'margin':>15} {'moved':>6} {'s':>6}")
    for project in machines(count):
        if time.process_time() > BUDGET_S:
            print(f"Ended after {BUDGET_S:.0f} s of processor time.")
            break
        rows.append(compared(project))
        print(_line(rows[-1]), flush=True)
    print(_summary(rows))


def _line(row: BeforeAfter) -> str:
    before, after = row.before, row.after
    errors = f"{before.errors}, {after.errors}"
    chances = ", ".join(
        "none" if one is None else f"{100 * one:.2f}" for one in (before.chance, after.chance)
    )
    margins = ", ".join("none" if one is None else f"{one:.2f}" for one in (before.margin, after.margin))
    return (
        f"{row.name[:28]:28} {row.lanes:5} {errors:>9} {chances:>15} {margins:>15} "
        f"{row.moved:6} {row.seconds:6.1f}"
    )


def _summary(rows: Sequence[BeforeAfter]) -> str:
    higher = sum(row.gained > SAME for row in rows)
    lower = sum(row.gained < -SAME for row in rows)
    thin = [row for row in rows if (row.before.chance or 0.0) < ENOUGH]
    raised = sum(row.gained > SAME for row in thin)
    return (
        f"Chance higher in {higher} of {len(rows)}, lower in {lower}; "
        f"of {len(thin)} under {ENOUGH:.0%}, raised in {raised}."
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 14)
