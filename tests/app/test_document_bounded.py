"""What an edit starts on the window's thread is bounded, whatever the number that was typed."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

import sample_projects
from shaftscore.base.errors import Cancelled
from shaftscore.edits import add_lane, apply_edit
from shaftscore.judge.checks import base, cures, interlock
from shaftscore.judge.report import QUICK, examine
from shaftscore.model import Project
from shaftscore.model.loader import load_project
from shaftscore.solution import solve, work_left
from shaftscore_app.document import MOST_AT_ONCE, Document
from shaftscore_app.document import document as document_module
from shaftscore_app.runtime.jobs import Jobs
from tests.app.machines import gates

SAMPLES = Path(next(iter(sample_projects.__path__)))


def sower() -> Project:
    return load_project(SAMPLES / "seedling_sower.shaft")


def hurried(project: Project) -> Project:
    """The same machine at fifty times the speed: most of its rules in seconds are broken."""
    return apply_edit(project, "set_shaft", speed_rpm=100.0).project


@pytest.fixture
def jobs(qtbot: QtBot) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


def tries(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Record on which thread an edit is tried for a cure."""
    threads: list[str] = []
    real = cures.apply_edit

    def tried(*arguments: Any, **more: Any) -> Any:
        threads.append(threading.current_thread().name)
        return real(*arguments, **more)

    monkeypatch.setattr(cures, "apply_edit", tried)
    return threads


def test_findings_come_first_and_most_cures_later(monkeypatch: pytest.MonkeyPatch) -> None:
    project = sower()
    before = examine(project)
    edits = tries(monkeypatch)
    soon = examine(hurried(project), before, stage=QUICK)
    broken = [finding for finding in soon.findings if finding.rule == "interlock"]
    assert len(broken) > 200
    assert len(edits) <= 8, "few enough for a frame"
    late = examine(hurried(project), soon)
    assert len(edits) > 200
    whole = examine(hurried(project))
    assert late.findings == whole.findings
    assert sum(finding.cure is not None for finding in late.findings) > sum(
        finding.cure is not None for finding in soon.findings
    )


def test_all_cures_of_a_report_cost_a_bounded_work(monkeypatch: pytest.MonkeyPatch) -> None:
    cures_looked_for: list[object] = []
    attempts: list[int] = []
    find, verified = interlock._requires_cure, interlock.first_verified

    def counted(*arguments: Any) -> Any:
        cures_looked_for.append(arguments)
        return find(*arguments)

    def tried(project: Project, given: Any, cured: Any) -> Any:
        attempts.append(len(given))
        return verified(project, given, cured)

    monkeypatch.setattr(interlock, "_requires_cure", counted)
    monkeypatch.setattr(interlock, "first_verified", tried)
    monkeypatch.setattr(base, "MOST_BLOCKS", 500)
    report = examine(hurried(sower()))
    assert sum(finding.rule == "interlock" for finding in report.findings) > 200
    assert 0 < len(cures_looked_for) <= 500 / base.FEW_BLOCKS
    assert max(attempts) <= interlock.MOST_ATTEMPTS


def test_the_work_that_is_left_is_counted_in_blocks() -> None:
    project = sower()
    solution = solve(project)
    assert work_left(project, solution) == 0
    blocks = sum(1 + max(len(lane.blocks), len(lane.points or ())) for lane in project.lanes)
    assert work_left(hurried(project), solution) == blocks
    lane = project.lanes[0]
    moved = apply_edit(project, "set_lane", lane_id=lane.id, name="Another").project
    riders = [other for other in project.lanes if other.disc_of == lane.id]
    assert not riders
    assert work_left(moved, solution) == 1 + len(lane.blocks)


def test_a_change_of_all_lanes_is_examined_beside_the_window(
    qtbot: QtBot, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = sower()
    document = Document(project, jobs=jobs)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    edits, looks = tries(monkeypatch), []
    real = document_module.look

    def look(*arguments: Any, **more: Any) -> Any:
        looks.append(threading.current_thread() is threading.main_thread())
        return real(*arguments, **more)

    monkeypatch.setattr(document_module, "look", look)
    shown = document.report
    fast = apply_edit(project, "set_shaft", speed_rpm=100.0)
    assert work_left(fast.project, shown.solution) > MOST_AT_ONCE
    document.perform(fast)
    assert document.project is fast.project
    assert document.report is shown, "what was found before stands until then"
    assert document.is_late_coming
    with qtbot.waitSignal(document.report_changed, timeout=60_000):
        pass
    assert document.report.project is fast.project
    assert sum(finding.rule == "interlock" for finding in document.report.findings) > 200
    assert looks == [False]
    qtbot.waitUntil(lambda: document.is_late_current, timeout=120_000)
    assert looks == [False, False]
    assert threading.main_thread().name not in edits
    document.undo()
    assert document.report.project is project, "what was found a step ago is kept"


def test_the_newest_of_two_numbers_is_what_is_shown(qtbot: QtBot, jobs: Jobs) -> None:
    project = sower()
    document = Document(project, jobs=jobs)
    document.perform(apply_edit(project, "set_shaft", speed_rpm=100.0))
    document.perform(apply_edit(document.committed, "set_shaft", speed_rpm=2.5))
    newest = document.project
    qtbot.waitUntil(lambda: document.report.project is newest, timeout=60_000)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert document.report.project.shaft.speed_rpm == 2.5


def test_lanes_that_come_or_go_are_examined_at_once(qtbot: QtBot, jobs: Jobs) -> None:
    """Views ask the report for each lane that the project has."""
    project = sower()
    document = Document(project, jobs=jobs)
    document.perform(add_lane(hurried(project), "Spare", "", {"low": 0.0, "high": 5.0}))
    assert set(document.report.solution.lanes) == {lane.id for lane in document.project.lanes}
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)


def test_what_is_computed_for_a_project_before_ends_when_another_is_shown(
    qtbot: QtBot, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    project = gates()
    document = Document(project, jobs=jobs)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    begun, ended, real = threading.Event(), threading.Event(), document_module.look

    def look(*arguments: Any, stage: Any, **more: Any) -> Any:
        if stage is QUICK or begun.is_set():
            return real(*arguments, stage=stage, **more)
        begun.set()
        try:
            for _ in range(20_000):  # as machines near a limit are drawn
                more["between"]()
                ended.wait(0.001)
        except Cancelled:
            ended.set()
            raise

    monkeypatch.setattr(document_module, "look", look)
    failures: list[object] = []
    jobs.failed.connect(failures.append)
    document.perform(apply_edit(project, "set_shaft", speed_rpm=5.0))
    qtbot.waitUntil(begun.is_set)
    document.perform(apply_edit(document.project, "set_shaft", speed_rpm=7.0))
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert ended.is_set()
    assert document.report.project.shaft.speed_rpm == 7.0
    assert not failures
