"""The fastest safe speed and the lowest-interference stack, judged by the solver that judges everything."""

from __future__ import annotations

from typing import Any

import pytest

from shaftscore.judge.findings import Severity
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.model import Project
from shaftscore.placing import fastest_safe_speed, lowest_interference
from shaftscore.placing import speed as speed_module
from shaftscore.placing import stacking as stacking_module
from shaftscore.placing.why import at_speed
from tests.machines import at, exclusive, gate, machine
from tests.samples import sample, tangled_sower


def errors(project: Project) -> list[str]:
    found = [one.rule for one in examine(project).findings if one.severity is Severity.ERROR]
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


def test_a_machine_that_never_holds_has_no_safe_speed() -> None:
    project = machine(
        gate("A", 60, 80), gate("B", 70, 90), rules=(exclusive(at("a", "open"), at("b", "open")),)
    )
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
    looked_at: list[float] = []
    real = speed_module.examine_as_drawn

    def counted(tried: Project, previous: Report | None = None) -> Report:
        looked_at.append(tried.shaft.speed_rpm)
        return real(tried, previous)

    monkeypatch.setattr(speed_module, "examine_as_drawn", counted)
    for tries in range(1, 8):
        looked_at.clear()
        monkeypatch.setattr(speed_module, "MOST_BLOCKS", 6 * tries)  # two lanes of two blocks each
        found = fastest_safe_speed(project)
        assert len(looked_at) == tries
        assert found.ended
        assert found.speed_rpm is not None
        assert found.speed_rpm <= whole.speed_rpm
        assert found.speed_rpm in looked_at
        assert not errors(at_speed(project, found.speed_rpm))
        if found.fails_at_rpm is not None:
            assert found.fails_at_rpm > whole.speed_rpm
            assert errors(at_speed(project, found.fails_at_rpm))
        assert found == fastest_safe_speed(project)


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
