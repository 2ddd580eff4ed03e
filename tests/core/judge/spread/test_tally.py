"""Drawing until Wilson's interval decides, in blocks whose memory is bounded."""

from __future__ import annotations

import tracemalloc

import numpy as np
import pytest

from shaftscore.base.errors import Cancelled
from shaftscore.base.samples import sample_folder
from shaftscore.judge.report import examine, examine_as_drawn
from shaftscore.judge.report.effects import built_effects
from shaftscore.judge.spread import Spread, find_spread
from shaftscore.judge.spread.drawing import BLOCK, MOST_BLOCK, Drawing
from shaftscore.judge.spread.draws import Floats
from shaftscore.judge.spread.histogram import histogram
from shaftscore.judge.spread.judging import judge
from shaftscore.judge.spread.tally import LOOKS, MachineTally, is_decided
from shaftscore.model import Project
from shaftscore.model.loader import load_project
from shaftscore.solution import solve
from tests.core.judge.spread.machines import only
from tests.core.judge.spread.test_chance import pair


def until_decided(project: Project) -> Spread:
    found = find_spread(solve(project), seed=7)
    assert found is not None
    return found


def test_the_farther_from_a_limit_the_fewer_machines_decide() -> None:
    # 99 % lie under 2.3263 sigma, 0.4 over them are 99.2 % (from memory; any table of the normal law).
    sigma = np.sqrt(2) * 0.2
    plain, near = (until_decided(pair(z * sigma, only(disc_angle_deg=0.6))) for z in (3.5, 2.41))
    assert plain.machines == LOOKS[0]
    assert near.machines in LOOKS[1:]
    assert not plain.is_thin
    assert not near.is_thin
    for found in (plain, near):
        assert is_decided(round(found.chance * found.machines), found.machines, (found.enough, found.least))


def test_drawing_many_machines_ends_when_asked_to() -> None:
    def asked(z: float, most: float = np.inf) -> int:
        count = 0

        def between() -> None:
            nonlocal count
            count += 1
            if count > most:
                raise Cancelled("enough")

        examine(pair(z * np.sqrt(2) * 0.2, only(disc_angle_deg=0.6)), between=between)
        return count

    plain, near = asked(3.5), asked(2.41)
    assert near > plain
    with pytest.raises(Cancelled):
        asked(2.41, plain)


def test_a_machine_that_fails_as_drawn_needs_no_more_than_one_look() -> None:
    found = until_decided(pair(-0.001, only(disc_angle_deg=0.6)))
    assert (found.machines, found.holds) == (LOOKS[0], False)


@pytest.mark.parametrize(
    ("held", "drawn", "decided"),
    [
        (2000, 2000, True),
        (1985, 2000, False),
        (1900, 2000, True),
        (1800, 2000, False),
        (99100, 100_000, True),
    ],
)
def test_a_look_decides_where_no_limit_lies_in_its_interval(held: int, drawn: int, *, decided: bool) -> None:
    # By hand: half of the interval is about 2.638 sqrt(p (1 - p) / n): 0.72 % at 98.5 %, 1.29 % at 95 %,
    # 1.77 % at 90 % of 2,000, and 0.08 % at 99.1 % of 100,000.
    assert is_decided(held, drawn, (0.99, 0.9)) is decided


@pytest.mark.parametrize("failing", [[], [-170.0], [-0.3, -2.0, -90.0]])
def test_the_columns_under_zero_hold_the_machines_that_fail(failing: list[float]) -> None:
    works = np.random.default_rng(1).uniform(0.2, 1.4, 4000)
    found = histogram(np.array([*works, *failing]))
    under = [count for edge, count in zip(found.edges_deg, found.counts, strict=False) if edge < -1e-9]
    assert sum(under) == len(failing)
    assert sum(found.counts) == 4000 + len(failing)


def test_blocks_repeat_and_are_independent_of_one_another() -> None:
    drawing = Drawing.of(solve(pair(0.4, only(disc_angle_deg=0.6))), seed=7)

    def angles() -> list[Floats]:
        found = []
        for block in drawing.blocks(LOOKS[1]):
            assert block.count - 1 <= MOST_BLOCK
            judge(block, None)
            found.append(block.errors.draws.angle["a"][1:])
        return found

    first, second = angles()
    assert len(first) + len(second) == LOOKS[1]
    for one, again in zip((first, second), angles(), strict=True):
        assert np.array_equal(one, again)
    # Correlations of n independent pairs have a standard deviation of 1 / sqrt(n).
    assert abs(np.corrcoef(first, second[:BLOCK])[0, 1]) < 4 / np.sqrt(BLOCK)


def test_memory_does_not_grow_with_the_machines() -> None:
    # Items, forces and rules between 14 lanes: 10,000 machines at once would take 130 MiB.
    report = examine_as_drawn(load_project(sample_folder() / "seedling_sower.shaft"))
    assert report.loads is not None
    drawing = Drawing.of(report.solution, report.loads, built_effects(report.loads, report.shafts))
    tracemalloc.start()
    tally = MachineTally()
    for block in drawing.blocks(LOOKS[1]):
        tally.add(judge(block, report.flow), block.count)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert tally.drawn == LOOKS[1]
    assert 20 * 1024**2 < peak < 80 * 1024**2
