"""requires with many intervals of a need: passing over most of them leaves the slack as it is."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.model import LevelState
from shaftscore.rules.requires import NeedTimes, slack_deg
from shaftscore.rules.times import EventTimes, Stretches

STATE = LevelState(lane="a", level="on")
MACHINES = 300


def intervals(chance: np.random.Generator, count: int, longest: float) -> list[EventTimes]:
    """Return intervals about even places of the turn, of each machine a little elsewhere, some not there."""
    found = []
    for place in range(count):
        start = 360.0 * place / count + chance.normal(0.0, 0.4, MACHINES)
        length = np.maximum(chance.uniform(0.2, longest) + chance.normal(0.0, 0.3, MACHINES), 0.0)
        present = chance.random(MACHINES) > (0.02 if place % 3 else 0.0)
        found.append(EventTimes(start, length, STATE, present, present))
    return found


def plain_slack(start: float, length: float, needs: list[tuple[float, float]]) -> float:
    """Return the slack of one stretch of one machine: every interval, at every whole turn, one by one."""
    left = [
        min(start - begin, begin + held - start - length)
        for at, held in needs
        for begin in (at - 720.0, at - 360.0, at, at + 360.0, at + 720.0)
    ]
    if left and max(left) >= 0:
        return max(left)
    covered = sorted(
        (max(begin, start), min(begin + held, start + length))
        for at, held in needs
        for begin in (at - 720.0, at - 360.0, at, at + 360.0, at + 720.0)
        if begin < start + length and begin + held > start
    )
    missing, reached = 0.0, start
    for begin, end in covered:
        missing, reached = max(missing, begin - reached), max(reached, end)
    return -max(missing, start + length - reached)


@pytest.mark.parametrize(("count", "longest", "asked"), [(40, 8.0, 3.0), (40, 30.0, 3.0), (100, 2.0, 12.0)])
def test_the_slack_is_that_of_looking_at_each_interval(count: int, longest: float, asked: float) -> None:
    chance = np.random.default_rng(count + int(asked))
    needs = intervals(chance, count, longest)
    for middle in (0.0, 117.0, 359.0):
        start = middle + chance.normal(0.0, 0.5, MACHINES)
        length = np.full(MACHINES, asked)
        found = slack_deg(Stretches(start, length), NeedTimes.of(needs))
        plain = [
            plain_slack(start[one], asked, [(n.start[one], n.length[one]) for n in needs if n.present[one]])
            for one in range(MACHINES)
        ]
        assert np.allclose(found, plain, atol=1e-9)
        assert longest > 8.0 or min(plain) < 0
