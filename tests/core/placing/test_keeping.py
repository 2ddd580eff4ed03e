"""What the maker meant is kept, simple answers come first, and a cancelled search keeps the best."""

from __future__ import annotations

from dataclasses import replace

import pytest

from shaftscore.base.errors import Cancelled
from shaftscore.kinematics.motion.segments import Move
from shaftscore.model import Disc, Project, Shaft, replaced
from shaftscore.placing import Arrangement, MayChange, arrange
from shaftscore.placing.affine import STEP_DEG
from shaftscore.placing.complete import completed, holds, margin_of
from shaftscore.placing.linear import raised
from shaftscore.placing.model import Arranging, arranging
from shaftscore.placing.shortest import Shortest
from shaftscore.solution import solve
from tests.core.placing.banks import one_chute
from tests.follower_machine import straight_lane
from tests.machines import at, exclusive, gate, machine

NAMED = Shaft(turn="clockwise", speed_rpm=6.0, steps=12, step_names=("Rest",))
"""Steps of 30 degrees that mean something."""


def model_of(project: Project, **may: object) -> Arranging:
    return arranging(solve(project), Shortest(project), may=MayChange(**may))  # type: ignore[arg-type]


def holds_with(model: Arranging, lane: str, starts: dict[int, float], lengths: dict[int, float]) -> bool:
    """Whether it still holds where parts start so much later, and last so much longer, degrees."""
    values: list[int | None] = [variable.hint for variable in model.problem.variables]
    moving = model.lanes.moving[lane]
    for expressions, changed in ((moving.starts, starts), (moving.lengths, lengths)):
        for index, by in changed.items():
            (number,) = expressions[index].terms
            drawn = values[number]
            assert drawn is not None
            values[number] = drawn + round(by / STEP_DEG)
    counted = set(model.change.terms)
    rows = [row for row in model.problem.inequalities if counted.isdisjoint(row.expression.terms)]
    return holds(replace(model.problem, inequalities=rows), completed(model.problem, values))


def test_a_rest_keeps_its_share() -> None:
    """Closed is drawn for 302 degrees: it may become 152 long, and no less than 151."""
    model = model_of(machine(gate("A", 60, 70)))
    closed = next(n for n, part in enumerate(model.lanes.moving["a"].parts) if part.rests)
    assert holds_with(model, "a", {}, {closed: -150.0})
    assert not holds_with(model, "a", {}, {closed: -152.0})
    third = model_of(machine(gate("A", 60, 70)), keep_percent=33.0)
    assert holds_with(third, "a", {}, {closed: -200.0})


def test_a_dwell_stays_in_its_step() -> None:
    """Its middle is at 65 degrees, in the step from 60 to 90: 5 back and 25 on, with half a grid step."""
    project = machine(gate("A", 60, 70), shaft=NAMED)
    model, free = model_of(project), model_of(project, order=True)
    opened = next(n for n, part in enumerate(model.lanes.moving["a"].parts) if not part.rests)
    both = dict.fromkeys(range(2), 1.0)
    for by, stays in ((-4.9, True), (-5.2, False), (24.9, True), (25.2, False)):
        moved = {number: by * one for number, one in both.items()}
        assert holds_with(model, "a", moved, {}) is stays, (by, opened)
        assert holds_with(free, "a", moved, {})


def test_starts_stay_where_only_lengths_may_change() -> None:
    model = model_of(machine(gate("A", 60, 70)), starts=False)
    assert not holds_with(model, "a", {0: 0.2, 1: 0.2}, {})
    assert holds_with(model, "a", {}, {})


def test_lanes_of_one_base_circle_group_stay_alike() -> None:
    disc = Disc(base_group="gates")
    lanes = (gate("A", 60, 70, disc=disc), gate("B", 200, 210, disc=disc), gate("C", 100, 115, disc=disc))
    moving = model_of(machine(*lanes)).lanes.moving
    assert [moving[lane].alike for lane in "abc"] == [False, True, False]  # C is drawn otherwise
    assert len(moving["b"].own_starts) == 1
    lengths = [{number for length in moving[lane].lengths for number in length.terms} for lane in "ab"]
    assert lengths[0] == lengths[1] != set()


def test_no_disc_becomes_larger_than_the_largest_now() -> None:
    """Without room for a larger disc a move needs longer than with it, and no longer than it is drawn."""
    project = machine(gate("A", 60, 70, move=40.0))
    solved = solve(project).lanes["a"]
    assert solved.motion is not None
    assert solved.profile is not None
    move = next(one for one in solved.motion.segments if isinstance(one, Move))
    largest = solved.profile.base_radius_mm + 10.0
    free, kept = (Shortest(project, most).steps(project.lanes[0], 0, move, 40.0) for most in (None, largest))
    assert free < 300 < kept <= 400


def test_lanes_with_other_parts_have_other_shortest_moves() -> None:
    """A straight-line lever of half the output moves its roller twice as far, with the same record."""
    lanes = (
        replaced(straight_lane(), id="long", code="A1"),
        replaced(straight_lane(parts={"output_arm_mm": 60.0}), id="short", code="A2", station_deg=90.0),
    )
    project = machine(*lanes)
    solved, shared = solve(project).lanes, Shortest(project)
    assert lanes[0].follower == lanes[1].follower
    found = []
    for lane in lanes:
        motion = solved[lane.id].motion
        assert motion is not None
        move = next(one for one in motion.segments if isinstance(one, Move))
        found.append(shared.steps(lane, 0, move, 40.0))
        assert found[-1] == Shortest(project).steps(lane, 0, move, 40.0)
    assert found[1] > found[0] + 10


def test_margins_are_raised_to_the_most_there_can_be() -> None:
    """Two equal intervals on a circle are at most (turn - both) / 2 apart: pigeonhole, exact."""
    project = machine(
        gate("A", 60, 70), gate("B", 130, 140), rules=(exclusive(at("a", "open"), at("b", "open")),)
    )
    model = model_of(project)
    values = completed(model.problem, [variable.hint for variable in model.problem.variables])
    lengths = [one.span.length for lane in "ab" for one in solve(project).intervals(at(lane, "open"))]
    found = raised(model.problem, model.drawn_positions(), values, (), model.change.terms)
    assert found is not None
    margin = margin_of(model.problem, found)
    assert margin is not None
    most = (360.0 - sum(lengths)) / 2
    assert most * 0.99 <= margin * STEP_DEG <= most + 20.0  # moves may shorten, which shortens the intervals


class StopsOnceFound:
    """A progress that cancels as soon as something holds."""

    def report(self, fraction: float, what: str) -> None:
        assert 0.0 <= fraction <= 1.0
        if "best so far" in what:
            raise Cancelled("cancelled")


def test_a_cancelled_search_keeps_the_best_found() -> None:
    found = arrange(one_chute(), progress=StopsOnceFound())
    assert isinstance(found, Arrangement)
    assert found.cancelled
    assert found.by == "groups"
    assert (found.before.errors > 0, found.after.errors) == (True, 0)


def test_a_search_that_is_cancelled_before_is_cancelled() -> None:
    class AtOnce:
        def report(self, fraction: float, what: str) -> None:
            raise Cancelled("cancelled")

    with pytest.raises(Cancelled):
        arrange(replaced(one_chute(), name="At once"), progress=AtOnce())


@pytest.mark.parametrize(
    ("names", "said"), [((), "nothing may change"), (("disks",), 'did you mean "discs"')]
)
def test_names_of_what_may_change_are_checked(names: tuple[str, ...], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        MayChange.named(names)
