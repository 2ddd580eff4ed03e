"""The first answer: whole lanes and groups shifted without a search, as far as there is room."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from shaftscore.base.angles import turn_to
from shaftscore.base.errors import Cancelled
from shaftscore.base.samples import sample_folder
from shaftscore.judge.loads import machine_loads
from shaftscore.judge.loads.cases import TORQUE
from shaftscore.judge.spread.slacks import rule_slacks
from shaftscore.model import Project, replaced
from shaftscore.model.loader import load_project
from shaftscore.placing import Arrangement, arrange, first
from shaftscore.placing.levels import Level
from shaftscore.placing.model import arranging
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import solve
from tests.machines import at, exclusive, gate, machine


def three_gates() -> Project:
    """Three gates that are never open together, one off the grid, and a fourth without a rule."""
    pairs = (("a", "b"), ("b", "c"), ("a", "c"))
    rules = tuple(exclusive(at(one, "open"), at(other, "open")) for one, other in pairs)
    gates = (gate("A", 60, 70), gate("B", 100.03, 110.03), gate("C", 150, 170), gate("D", 200, 210))
    return machine(*(replaced(one, group="all" if one.id in "ab" else "") for one in gates), rules=rules)


def shifted(project: Project, level: Level) -> first.ShiftedLanes | None:
    solution = solve(project)
    errors = rule_slacks(solution)
    return first.shifted_lanes(
        arranging(solution, Shortest(project), errors=errors, lengths_stay=True), level
    )


def least(project: Project) -> float:
    return min(one.normalised for one in rule_slacks(solve(project)))


def open_deg(project: Project) -> list[tuple[float, float]]:
    """Start and length of the opening of each of the three gates, degrees."""
    solution = solve(project)
    spans = [solution.intervals(at(lane, "open"))[0].span for lane in "abc"]
    return [(span.start, span.length) for span in spans]


def exhaustive(project: Project, errors: tuple[float, ...]) -> float:
    """The largest least gap by its error over shifts of B and C in steps of 3 degrees, in the same order."""
    spans, best = open_deg(project), -np.inf
    for by in product(range(0, 360, 3), repeat=2):
        starts = [spans[0][0], spans[1][0] + by[0], spans[2][0] + by[1]]
        if not 0 < (starts[1] - starts[0]) % 360 < (starts[2] - starts[0]) % 360:
            continue  # another order of events
        gaps = [
            min(
                (starts[j] - starts[i]) % 360 - spans[i][1],
                (starts[i] - starts[j]) % 360 - spans[j][1],
            )
            for i, j in ((0, 1), (1, 2), (0, 2))
        ]
        best = max(best, min(gap / error for gap, error in zip(gaps, errors, strict=True)))
    return best


def test_lanes_are_shifted_to_the_largest_margin_of_their_order(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(first, "ENOUGH", 10_000.0)
    monkeypatch.setattr(first, "HALVINGS", 20)
    project = three_gates()
    found = shifted(project, "lanes")
    assert found is not None
    errors = {one.what: one.error_deg for one in rule_slacks(solve(project))}
    reached, most = least(found.project), exhaustive(project, tuple(errors[n] for n in "012"))
    smallest = min(errors.values())
    assert most - 0.3 / smallest <= reached <= most + 3.0 / smallest
    assert reached > 1.5 * least(project)
    assert found.project.lane("d") is project.lane("d")


def test_no_more_lanes_are_shifted_than_are_pushed(monkeypatch: pytest.MonkeyPatch) -> None:
    """B and C stay on their side where A alone can make the room: the tightest pair is A and B."""
    monkeypatch.setattr(first, "ENOUGH", 10.6 * least(three_gates()))
    found = shifted(three_gates(), "lanes")
    assert found is not None
    assert len({one.ref.lane_id for one in found.moved}) == 1
    by = {turn_to(one.from_deg[0], one.to_deg[0]) for one in found.moved}
    assert len({round(one, 9) for one in by}) == 1


def test_groups_stay_together() -> None:
    """A and B are one group: what is tightest, between them, no shift of groups can raise."""
    assert shifted(three_gates(), "groups") is None


class StopsWhenBetter:
    """A progress that cancels once something better than the machine as drawn is named."""

    drawn = ""

    def report(self, fraction: float, what: str) -> None:
        so_far = what.partition("; ")[2]
        self.drawn = self.drawn or so_far
        if so_far != self.drawn:
            raise Cancelled("cancelled")


def test_the_first_answer_needs_no_search(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise AssertionError("a search")

    for name in ("Search", "raised"):
        monkeypatch.setattr(f"shaftscore.placing.placed.{name}", refuse)
    project = three_gates()
    thin = replaced(project.tolerances, disc_angle_deg=6.0)
    found = arrange(replaced(project, tolerances=thin), progress=StopsWhenBetter())
    assert isinstance(found, Arrangement)
    assert found.cancelled
    assert found.by == "lanes"
    assert found.before.margin is not None
    assert found.after.margin is not None
    assert found.after.margin > found.before.margin * 1.02
    assert {one.ref.lane_id for one in found.moved} <= {"a", "b", "c"}


def test_torque_at_rests_is_that_of_every_angle() -> None:
    project = load_project(sample_folder() / "tea_blender.shaft")
    chance = np.random.default_rng(3)
    for lane in machine_loads(solve(project)).lanes.values():
        theta = np.concatenate([chance.uniform(0.0, 360.0, 200), lane.profile.nodes.theta_deg[:40] % 360.0])
        for side in ("left", "right"):
            plain = lane.forces(theta, 2 * lane.speed_rpm, side, TORQUE).torque_nm
            assert lane.torque_at(theta, 2 * lane.speed_rpm, side) == pytest.approx(plain, abs=1e-12)
