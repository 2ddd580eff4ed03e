"""Arrange's answers against outside routes: drawing machines, trying all shifts, SimPy and a published bound.

Nothing of the library's rules is used: what a gate does follows from its blocks by the formula of simple
harmonic motion, s / h = (1 - cos pi x) / 2 of a move's share x, and from the meanings of the file format.
"""

from __future__ import annotations

from itertools import product
from math import acos, gcd, pi, sqrt

import numpy as np
import numpy.typing as npt
import pytest

from shaftscore.model import (
    Channel,
    Flow,
    Gate,
    Lane,
    Magazine,
    Outlet,
    Project,
    Shaft,
    Supply,
    replaced,
)
from shaftscore.placing import Arrangement, MayChange, Refusal, arrange
from tests.core.judge.flow.simpy_model import Model
from tests.core.judge.spread.machines import EXACT, only
from tests.machines import at, exclusive, gate, machine

Floats = npt.NDArray[np.float64]

DEG_PER_S = 36.0
"""At 6 rev/min."""

ANGLE_DEG, SPEED, TRAVEL = 0.9, 0.01, 0.10
"""Limits (three standard deviations) of a printed angle, degrees, and of speed and travel, as shares."""

LEAST_S, MOST_S, HEADWAY_S, GAP_DEG = 0.1, 0.2, 3.2, 75.0

OPEN = 1 - acos(1 - 2 * 0.9) / pi
"""The share of a move during which a gate is within a tenth of its lift of `open`."""


def opened(lane: Lane) -> tuple[float, float]:
    """Return when a gate begins to be open, degrees of the turn, and for how long."""
    (number,) = (index for index, block in enumerate(lane.blocks) if block.level == "open")
    block, other = lane.blocks[number], lane.blocks[1 - number]
    before, after = (block.start_deg - other.end_deg) % 360, (other.start_deg - block.end_deg) % 360
    start = block.start_deg - before * OPEN
    return start % 360, block.end_deg + after * OPEN - start


def chute() -> Project:
    """Three gates over one chute, of which two must also keep apart; drawn too close together."""
    names = "abc"
    lanes = tuple(
        gate(name.upper(), start, start + 10.0, 30.0, law="simple-harmonic")
        for name, start in zip(names, (40.0, 100.0, 190.0), strict=True)
    )
    flow = Flow(
        supplies=(Supply(id="hopper"),),
        magazines=tuple(Magazine(id=f"m{n}", source="hopper", capacity=2, start_count=2) for n in names),
        channels=(
            Channel(id="chute", travel_min_s=LEAST_S, travel_max_s=MOST_S, headway_s=HEADWAY_S, to="cup"),
        ),
        outlets=(Outlet(id="cup"),),
        gates=tuple(
            Gate(id=n, state=at(n, "open"), source=f"m{n}", to="chute", item="bean", item_s=0.1)
            for n in names
        ),
    )
    rules = (exclusive(at("a", "open"), at("b", "open"), gap_deg=GAP_DEG),)
    sizes = only(disc_angle_deg=ANGLE_DEG, speed_percent=100 * SPEED, travel_percent=100 * TRAVEL)
    shaft = Shaft(turn="clockwise", speed_rpm=6.0, steps=1)
    return machine(*lanes, shaft=shaft, rules=rules, flow=flow, tolerances=sizes, stacks=(EXACT,))


@pytest.fixture(scope="module")
def arranged() -> Arrangement:
    found = arrange(chute())
    assert isinstance(found, Arrangement)
    return found


def slacks(starts: Floats, lengths: Floats, speed: Floats, travel: Floats) -> tuple[Floats, Floats]:
    """Return what is left in the chute and of the gap, degrees, of machines: (3, n), (3,), (n,), (n,)."""
    order = np.sort(starts % 360, axis=0)
    behind = np.concatenate([order[1:], order[:1] + 360]) - order
    deg_per_s = DEG_PER_S * speed
    left = behind.min(axis=0) - ((MOST_S - LEAST_S) * travel + HEADWAY_S) * deg_per_s
    between = np.minimum(
        (starts[1] - starts[0] - lengths[0]) % 360, (starts[0] - starts[1] - lengths[1]) % 360
    )
    return left, between - GAP_DEG


def test_the_chance_is_that_of_machines_drawn_by_hand(arranged: Arrangement) -> None:
    nominal = np.array([opened(lane) for lane in arranged.project.lanes])
    draws, count = np.random.default_rng(4), 200_000
    starts = nominal[:, :1] + draws.normal(0.0, ANGLE_DEG / 3, (3, count))
    speed, travel = (1 + draws.normal(0.0, size / 3, count) for size in (SPEED, TRAVEL))
    chance = float(np.mean(np.minimum(*slacks(starts, nominal[:, 1], speed, travel)) >= 0))
    assert 0.9 < chance < 0.999  # neither sure nor hopeless, or this would say little
    assert arranged.before.chance == 0.0
    # Four standard errors of 10,000 drawn machines and of these.
    spread = 4 * sqrt(chance * (1 - chance) * (1 / 10_000 + 1 / count))
    assert arranged.after.chance == pytest.approx(chance, abs=spread)


def test_no_shift_of_the_gates_has_a_larger_margin(arranged: Arrangement) -> None:
    """Each slack counts in units of what it must survive: the root of the sum of squares of all limits."""
    nominal = np.array([opened(lane) for lane in chute().lanes])
    steps = np.arange(0.0, 360.0)
    starts = np.zeros((3, 360 * 360))
    starts[1:] = np.array([*product(steps, steps)]).T
    one = np.ones(1)
    left, between = slacks(starts, nominal[:, 1], one, one)
    window = (MOST_S - LEAST_S) * DEG_PER_S
    printed, faster = ANGLE_DEG * sqrt(2), (window + HEADWAY_S * DEG_PER_S) * SPEED
    in_chute = left / sqrt(printed**2 + faster**2 + (window * TRAVEL) ** 2)
    best = float(np.max(np.minimum(in_chute, between / printed)))
    assert best > 0.5
    assert arranged.after.margin is not None
    assert arranged.after.margin >= best - 0.03  # the grid of 0.1 degree


def tube() -> Project:
    """Three gates on a tube that holds one bean; each next one needs 3 s of the hopper and 2 s on its way."""
    names = "abc"
    lanes = tuple(
        gate(name.upper(), start, start + 10.0, 30.0, law="simple-harmonic")
        for name, start in zip(names, (60.0, 140.0, 230.0), strict=True)
    )
    flow = Flow(
        supplies=(Supply(id="hopper", rate_per_min=20.0),),
        magazines=(Magazine(id="tube", source="hopper", travel_s=2.0, capacity=1, start_count=1),),
        gates=tuple(Gate(id=n, state=at(n, "open"), source="tube", item="bean", item_s=0.1) for n in names),
    )
    sizes = only(disc_angle_deg=0.3, speed_percent=3.0, travel_percent=5.0, rate_percent=2.0)
    return machine(*lanes, flow=flow, tolerances=sizes, stacks=(EXACT,))


def starved(project: Project, *, faster: float = 0.0, slower: float = 0.0, longer: float = 0.0) -> bool:
    """Return whether SimPy finds a gate without a bean in 40 turns; shares of speed, rate and travel."""
    flow = project.flow
    assert flow is not None
    (supply,), (magazine,) = flow.supplies, flow.magazines
    assert supply.rate_per_min is not None
    edited = replaced(
        flow,
        supplies=(replaced(supply, rate_per_min=round(supply.rate_per_min * (1 - slower), 6)),),
        magazines=(replaced(magazine, travel_s=magazine.travel_s * (1 + longer)),),
    )
    spans = {lane.id: [(*opened(lane), False)] for lane in project.lanes}
    model = Model(edited, round(6.0 * (1 + faster), 6), lambda state: spans[state.lane], 40).run()
    return bool(model.starved)


@pytest.mark.long
def test_simpy_finds_no_magazine_of_an_answer_empty() -> None:
    found = arrange(tube())
    assert isinstance(found, Arrangement)
    assert starved(tube())
    assert found.after.errors == 0
    assert found.after.place.startswith("magazine")
    assert found.after.margin is not None
    # From each bean to the next but one it takes 3 s and 2 s, 180 degrees: at best 240 pass, and the second
    # bean of the run must wait as long from the start.
    assert found.after.margin > 1
    assert not starved(found.project)
    for faster, slower, longer in product((0.0, 0.03), (0.0, 0.02), (0.0, 0.05)):
        assert not starved(found.project, faster=faster, slower=slower, longer=longer)


def twice_and_thrice(first: float, second: float) -> Project:
    """Two gates, on a shaft that turns twice and on one that turns three times; how long they are open."""
    lanes = tuple(
        replaced(gate(name, 10.0, 10.0 + dwell * turns, 30.0), stack=name.lower(), band_mm=0.001)
        for name, dwell, turns in (("A", first, 2), ("B", second, 3))
    )
    stacks = tuple(replaced(EXACT, id=name, turns=turns) for name, turns in (("a", 2), ("b", 3)))
    rules = (exclusive(at("a", "open"), at("b", "open")),)
    return machine(*lanes, rules=rules, tolerances=only(disc_angle_deg=0.3), stacks=stacks)


@pytest.mark.long
@pytest.mark.parametrize(("first", "second"), [(20.0, 24.0), (34.0, 28.0)])
def test_two_periods_fit_where_their_common_divisor_holds_both(first: float, second: float) -> None:
    """Two tasks that come strictly every p and q fit on one machine if and only if a + b <= gcd(p, q).

    J. Korst, E. Aarts, J. K. Lenstra, J. Wessels, "Periodic multiprocessor scheduling", 1991 (the theorem
    from memory; it follows from the starts' differences, which take all values modulo the divisor).
    """
    room = gcd(360 // 2, 360 // 3) - first - second
    found = arrange(twice_and_thrice(first, second), may=MayChange(lengths=False))
    if room < 0:
        assert isinstance(found, Refusal)
        return
    assert isinstance(found, Arrangement)
    assert found.after.margin_deg is not None
    # At best as much is left before as after; the band of 0.001 mm adds a little to each dwell.
    assert room / 2 - 0.8 <= found.after.margin_deg <= room / 2 + 0.05
