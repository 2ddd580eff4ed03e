"""Small machines: the best normalised margin against trying every placement with the real solver."""

from __future__ import annotations

from functools import cache
from itertools import product

import pytest

from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.judge.spread.slacks import rule_slacks
from shaftscore.model import Lane, Project, Rule, Window, replaced
from shaftscore.placing import Arrangement, Refusal, arrange
from tests.machines import at, block, exclusive, lane, machine, order, requires

REACH = 12
"""Each gate may open within this many steps of 0.1 degree."""


def gate_at(name: str, earliest: float, begin: float, long: float = 15.0) -> Lane:
    """A gate whose closed dwell is locked and whose open dwell has a window of `REACH` steps."""
    window = Window(earliest_deg=earliest, latest_deg=earliest + REACH / 10)
    opened = block("open", begin, begin + long, window=window)
    return lane(name, opened, block("closed", earliest + 70, earliest + 300, locked=True))


def placed(project: Project, starts: tuple[float, ...]) -> Project:
    lanes = []
    for one, start in zip(project.lanes, starts, strict=True):
        index = next(i for i, b in enumerate(one.blocks) if b.level == "open")
        opened = one.blocks[index]
        moved = replaced(opened, start_deg=start, end_deg=start + opened.length_deg)
        blocks = tuple(moved if i == index else b for i, b in enumerate(one.blocks))
        lanes.append(replaced(one, blocks=blocks))
    return replaced(project, lanes=tuple(lanes))


def two(rules: tuple[Rule, ...], apart: float) -> tuple[Project, tuple[float, float]]:
    earliest = (100.0, 100.0 + apart)
    return machine(gate_at("A", 100.0, 100.0), gate_at("B", earliest[1], earliest[1]), rules=rules), earliest


OPEN = (at("a", "open"), at("b", "open"))
CASES = {
    "apart": ((exclusive(*OPEN, gap_deg=1.0),), 42.2),
    "just apart": ((exclusive(*OPEN, gap_deg=3.0),), 44.3),
    "never apart": ((exclusive(*OPEN, gap_deg=12.0),), 43.9),
    "in order": ((order(*OPEN, min_s=0.62, max_s=0.64),), 22.5),
    "two rules": ((exclusive(*OPEN, gap_deg=1.0), order(*OPEN, min_s=0.0, max_s=1.2)), 42.2),
    "rules that clash": ((exclusive(*OPEN, gap_deg=1.0), order(*OPEN, min_s=0.0, max_s=1.18)), 42.2),
    "needs what is closed": ((requires(at("a", "open"), at("b", "closed"), lag_s=0.1),), 25.0),
}


@cache
def good(name: str) -> tuple[Report, ...]:
    """Judge every placement of a case, and keep those that hold."""
    project, earliest = two(*CASES[name])
    steps = [[low + step / 10 for step in range(REACH + 1)] for low in earliest]
    found, before = [], None
    for starts in product(*steps):
        before = examine(placed(project, starts), before, stage=QUICK)
        found += [] if before.count(Severity.ERROR) else [before]
    return tuple(found)


def normalised(report: Report) -> float:
    """The least slack of all places, in units of the error that each must survive."""
    return min(one.slack_deg / one.error_deg for one in rule_slacks(report.solution))


@pytest.mark.parametrize("name", CASES)
def test_arrange_finds_an_answer_where_there_is_one_and_the_best_there_is(name: str) -> None:
    project, _ = two(*CASES[name])
    found = arrange(project, "margin", seed=1)
    if not good(name):
        assert isinstance(found, Refusal)
        return
    assert isinstance(found, Arrangement)
    best = max(normalised(report) for report in good(name))
    assert found.after.errors == 0
    assert found.after.margin == pytest.approx(best, rel=0.02)


def test_cases_have_both_kinds_of_answers() -> None:
    assert all(good(name) for name in ("apart", "just apart", "in order", "two rules"))
    assert not any(good(name) for name in ("never apart", "rules that clash", "needs what is closed"))


def test_least_change_moves_no_more_than_is_needed() -> None:
    project, earliest = two(*CASES["just apart"])
    found = arrange(project, "least-change", seed=1)
    assert isinstance(found, Arrangement)
    changed = sum(abs(moved.to_deg[0] - moved.from_deg[0]) for moved in found.moved)
    least = min(
        sum(
            abs(one.blocks[index].start_deg - low)
            for one, low in zip(report.project.lanes, earliest, strict=True)
            for index in [next(i for i, b in enumerate(one.blocks) if b.level == "open")]
        )
        for report in good("just apart")
    )
    assert changed == pytest.approx(least, abs=1e-6)


def test_the_same_seed_gives_the_same_answer() -> None:
    project, _ = two(*CASES["apart"])
    one, other = (arrange(project, "margin", seed=3) for _ in range(2))
    assert isinstance(one, Arrangement)
    assert isinstance(other, Arrangement)
    assert one.project == other.project
