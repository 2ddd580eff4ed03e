"""Edits of long lanes: what comes or goes is shown at once, and examined beside the window."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef, add_block, add_lane, delete_lane, place_block
from shaftscore.judge.report import Report
from shaftscore.model import Block, Lane, Project, Shaft, Stack
from shaftscore_app.document import Document, ExaminationPace
from shaftscore_app.document import document as document_module
from shaftscore_app.document.pace import MOST_MS
from shaftscore_app.runtime.jobs import Jobs


def lane(name: str, count: int) -> Lane:
    """A lane of short dwells at two levels, one after the other; the last place is left open."""
    step = 360.0 / count
    blocks = tuple(
        Block(level="high" if n % 2 else "low", start_deg=n * step, end_deg=(n + 0.3) * step)
        for n in range(count - 2)
    )
    return Lane(id=name, name=name, levels={"low": 0.0, "high": 3.0}, blocks=blocks)


def machine(count: int = 100) -> Project:
    return Project(
        format="shaftscore-project",
        version=2,
        name="Long lanes",
        shaft=Shaft(turn="clockwise", speed_rpm=6.0),
        stacks=(Stack(id="main"),),
        lanes=(lane("long", count), lane("short", 6)),
    )


@pytest.fixture
def jobs(qtbot: QtBot) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


@pytest.fixture
def looked(monkeypatch: pytest.MonkeyPatch) -> list[bool]:
    """Whether each look at a project was on the window's thread."""
    looks: list[bool] = []
    real = document_module.look

    def look(*arguments: Any, **more: Any) -> Any:
        looks.append(threading.current_thread() is threading.main_thread())
        return real(*arguments, **more)

    monkeypatch.setattr(document_module, "look", look)
    return looks


@pytest.fixture
def document(qtbot: QtBot, jobs: Jobs, looked: list[bool]) -> Iterator[Document]:
    """A document of the machine, examined; at the end nothing of it is left to be done."""
    made = Document(machine(), jobs=jobs)
    qtbot.waitUntil(lambda: made.is_late_current, timeout=60_000)
    looked.clear()
    yield made
    qtbot.waitUntil(lambda: made.is_late_current, timeout=60_000)


def names_all(report: Report, project: Project) -> bool:
    """Whether a report has a solution of each lane, of this very record."""
    return all(report.solution.lanes[lane.id].lane is lane for lane in project.lanes)


def test_a_block_more_on_a_long_lane_is_examined_beside_the_window(
    qtbot: QtBot, document: Document, looked: list[bool]
) -> None:
    before = document.report
    document.perform(add_block(document.committed, "long", 355.0, "low", 0.3))
    assert True not in looked
    waiting = document.report.solution.lanes["long"]
    assert names_all(document.report, document.project)
    assert waiting.motion is None
    assert waiting.no_motion is not None
    assert waiting.no_motion.what == "updating…"
    assert document.report.solution.lanes["short"] is before.solution.lanes["short"]
    assert not any("long" in finding.lanes for finding in document.report.findings)
    assert document.report.folded.roots == document.report.findings, "what is shown has no cause that went"
    assert document.is_late_coming
    project = document.project
    qtbot.waitUntil(lambda: document.report.solution.lanes["long"].motion is not None, timeout=60_000)
    assert document.report.project is project
    assert looked[0] is False
    assert any("long" in finding.lanes for finding in document.report.findings)
    assert document.report.solution.lanes["short"] is before.solution.lanes["short"]


def test_a_drag_of_a_long_lane_is_examined_beside_the_window(
    qtbot: QtBot, document: Document, looked: list[bool]
) -> None:
    before = document.report
    held = place_block(
        document.committed, BlockRef("long", 4), document.project.lanes[0].blocks[4].start_deg + 1
    )
    document.preview(held)
    assert True not in looked
    assert document.project is held.project
    assert document.report is before, "the same lanes and blocks: it stands until then"
    document.perform(held)
    qtbot.waitUntil(lambda: document.report.project is held.project, timeout=60_000)
    assert True not in looked


def test_a_lane_removed_and_brought_back_is_there_at_each_moment(
    qtbot: QtBot, document: Document, looked: list[bool]
) -> None:
    document.perform(delete_lane(document.committed, "long"))
    assert set(document.report.solution.lanes) == {"short"}
    document.undo()
    assert names_all(document.report, document.project)
    document.perform(add_lane(document.committed, "Spare", "", {"low": 0.0, "high": 5.0}))
    assert names_all(document.report, document.project)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert document.report.solution.lanes["long"].motion is not None


def test_lanes_checked_alone_stay_alone_meanwhile(
    qtbot: QtBot, document: Document, looked: list[bool]
) -> None:
    document.check_alone(["short"])
    document.perform(add_block(document.committed, "long", 355.0, "low", 0.3))
    assert document.lanes == {"short"}
    assert names_all(document.report, document.project)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert document.lanes == {"short"}


def test_short_work_is_done_at_once(qtbot: QtBot, document: Document, looked: list[bool]) -> None:
    document.perform(place_block(document.committed, BlockRef("short", 0), 5.0))
    assert looked == [True]
    assert document.report.project is document.project


class StubClock:
    """A clock that goes on by so many seconds each time that it is read."""

    def __init__(self, step_s: float) -> None:
        self.now, self.step_s = 0.0, step_s

    def __call__(self) -> float:
        self.now += self.step_s
        return self.now


def test_on_a_slow_machine_less_is_done_at_once() -> None:
    pace = ExaminationPace(StubClock(0.4))
    assert pace.is_short(int(MOST_MS))
    for _ in range(30):
        with pace.timing(100):
            pass
    assert pace.block_ms == pytest.approx(4.0, rel=0.01)
    assert pace.is_short(9)
    assert not pace.is_short(11)


def test_quick_examinations_and_small_ones_do_not_raise_the_bound() -> None:
    for step_s, work in ((0.001, 100), (5.0, 1)):
        pace = ExaminationPace(StubClock(step_s))
        with pace.timing(work):
            pass
        assert pace.block_ms == 1.0
        assert not pace.is_short(int(MOST_MS) + 1)
