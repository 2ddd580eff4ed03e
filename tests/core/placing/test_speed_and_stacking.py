"""The fastest safe speed and the lowest-interference stack, judged by the solver that judges everything."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, Report, examine, examine_as_drawn
from shaftscore.model import Load, Project, replaced
from shaftscore.placing import FastestSpeed, fastest_safe_speed, lowest_interference
from shaftscore.placing import speed as speed_module
from shaftscore.placing import stacking as stacking_module
from shaftscore.placing.why import at_speed
from tests.core.judge.loads.test_findings import motor
from tests.core.judge.loads.test_forces import lane as loaded_lane
from tests.core.judge.loads.test_forces import machine as loaded_machine
from tests.machines import at, block, exclusive, gate, lane, machine, requires
from tests.samples import sample, tangled_sower


def errors(project: Project) -> list[str]:
    found = [one.rule for one in examine_as_drawn(project).findings if one.severity is Severity.ERROR]
    return [rule for rule in found if rule != "unlikely"]  # it is of the fits, which are not stated here


def test_a_gap_in_seconds_limits_the_speed_where_it_is_as_wide_as_the_gap_in_degrees() -> None:
    project = machine(
        gate("A", 60, 80),
        gate("B", 200, 220),
        rules=(exclusive(at("a", "open"), at("b", "open"), gap_s=1.0),),
    )
    found = fastest_safe_speed(project)
    assert found.speed_rpm is not None
    opened = examine(project, stage=QUICK).solution.lanes
    one, other = (opened[name].states["open"][0].span for name in ("a", "b"))
    gap = min(other.start - one.end, one.start + 360 - other.end)
    # A gap of so many degrees takes 1 s at gap / 6 rev/min: computed here, by hand.
    assert found.speed_rpm == pytest.approx(gap / 6, rel=0.01)
    assert found.speed_rpm <= gap / 6
    assert found.limited_by is not None
    assert found.limited_by.rule == "overlap"
    assert not errors(at_speed(project, found.speed_rpm))


@pytest.mark.parametrize("rpm", [6.0, 0.002])  # the slowest that a project may have is 0.001
def test_a_machine_that_never_holds_has_no_safe_speed(rpm: float) -> None:
    rules = (exclusive(at("a", "open"), at("b", "open")),)
    project = machine(gate("A", 60, 80), gate("B", 70, 90), rules=rules, rpm=rpm)
    found = fastest_safe_speed(project)
    assert found.speed_rpm is None
    assert "Overlap" in found.text


def test_a_machine_that_holds_too_slowly_is_slowed_down() -> None:
    project = machine(
        gate("A", 60, 80),
        gate("B", 150, 170),
        rpm=30.0,
        rules=(exclusive(at("a", "open"), at("b", "open"), gap_s=1.0),),
    )
    found = fastest_safe_speed(project)
    assert found.speed_rpm is not None
    assert found.speed_rpm < 30
    assert not errors(at_speed(project, found.speed_rpm))


def test_the_discs_of_the_sower_in_file_order_are_untangled() -> None:
    project = tangled_sower()
    assert "interference" in errors(project)
    found = lowest_interference(project)
    assert found.before.pairs > 0
    assert found.after.pairs == 0
    assert found.stations == ()  # the order alone is enough
    assert "interference" not in errors(found.project)


def test_what_keeps_apart_stays_as_it_is() -> None:
    drawn = sample("tea_blender")
    found = lowest_interference(drawn)
    assert found.project is drawn
    assert found.orders == found.stations == ()


# Bounded work: counts, not clocks, so that the same project always gets the same answer


def test_a_search_for_the_speed_that_runs_out_of_work_gives_the_best_so_far(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    project = machine(
        gate("A", 60, 80),
        gate("B", 200, 220),
        rules=(exclusive(at("a", "open"), at("b", "open"), gap_s=1.0),),
    )
    whole = fastest_safe_speed(project)
    assert not whole.ended
    assert whole.speed_rpm is not None
    examined: list[float] = []
    real = speed_module.examine_as_drawn

    def counted(tried: Project, previous: Report | None = None) -> Report:
        examined.append(tried.shaft.speed_rpm)
        return real(tried, previous)

    monkeypatch.setattr(speed_module, "examine_as_drawn", counted)
    given: list[FastestSpeed] = []
    for tries in (1, 2, 4, 12):
        examined.clear()
        monkeypatch.setattr(speed_module, "MOST_BLOCKS", 1.5 * tries)  # a quarter of two lanes of two blocks
        found = fastest_safe_speed(project)
        assert found.speed_rpm is not None
        assert found.speed_rpm in examined, "what is answered was examined as a whole"
        assert not errors(at_speed(project, found.speed_rpm))
        if found.fails_at_rpm is not None:
            assert found.fails_at_rpm >= whole.speed_rpm
            assert errors(at_speed(project, found.fails_at_rpm))
        assert found == fastest_safe_speed(project)
        given.append(found)
    speeds = [found.speed_rpm or 0.0 for found in given]
    assert speeds[:-1] == sorted(speeds[:-1])
    assert given[0].ended
    assert given[0].speed_rpm == 6.0
    assert given[-1] == whole


# The speed by bisection with whole examinations, as plainly as it can be written


def plainly(project: Project) -> tuple[float | None, float, str]:
    """Return the highest speed that holds (None for none), one just above it, and the rule broken there."""
    low, high = None, project.shaft.speed_rpm
    while not (broken := errors(at_speed(project, high))):
        low, high = high, 2 * high
    while low is None:
        if errors(at_speed(project, high / 2)):
            high /= 2
        else:
            low = high / 2
    while high / low > 1.002:
        middle = (low + high) / 2
        now = errors(at_speed(project, middle))
        low, high, broken = (low, middle, now) if now else (middle, high, broken)
    return low, high, broken[0]


def floating() -> Project:
    """A weak spring on a heavy lever: the follower loses contact."""
    return loaded_machine(loaded_lane(Load(moving_mass_g=900, spring_preload_n=1)), speed_rpm=20)


def overloaded() -> Project:
    """A heavy mass on a strong spring and a small motor: it is the torque that grows with the speed."""
    strong = loaded_lane(Load(moving_mass_g=900, spring_preload_n=60))
    return replaced(loaded_machine(strong, speed_rpm=90), drive=motor(speed=60.0, torque=0.32))


def falling() -> Project:
    """A follower that falls freely, and takes more of a turn for it the faster the machine turns."""
    load = Load(moving_mass_g=60.0, spring_preload_n=2.0, spring_rate_n_per_mm=0.5)
    blocks = (block("high", 0, 120), block("low", 140, 320, law="drop"))
    one = lane("F", *blocks, levels={"low": 0.0, "high": 12.0}, load=load)
    return machine(one, gate("G", 160, 180), rules=(requires(at("g", "open"), at("f", "low")),), rpm=90.0)


@pytest.mark.parametrize("made", [floating, overloaded, falling], ids=lambda made: made.__name__)
def test_the_speed_is_that_of_a_plain_search_with_whole_examinations(made: Callable[[], Project]) -> None:
    project = made()
    low, high, rule = plainly(project)
    found = fastest_safe_speed(project)
    assert found.speed_rpm is not None
    assert low is not None
    assert found.limited_by is not None
    assert found.limited_by.rule == rule
    assert found.speed_rpm <= high
    assert found.speed_rpm == pytest.approx(low, rel=0.012)  # 0.5 % and three digits
    assert not errors(at_speed(project, found.speed_rpm))
    assert not found.ended


def test_a_search_for_an_order_ends_at_its_work_with_the_best_so_far(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    project = tangled_sower()
    looked = 0
    real = stacking_module.pairs_of

    def counted(*arguments: Any) -> Any:
        nonlocal looked
        for pair in real(*arguments):
            looked += 1
            yield pair

    monkeypatch.setattr(stacking_module, "pairs_of", counted)
    monkeypatch.setattr(stacking_module, "MOST_WORK", 0)
    none = lowest_interference(project)
    assert none.ended
    assert none.project is project
    before = looked
    monkeypatch.setattr(stacking_module, "MOST_WORK", 3 * before)
    found = lowest_interference(project)
    assert looked - before <= 6 * before, "the start, the work, and the step in which it ended"
    assert found.after <= found.before
    assert found == lowest_interference(project)
