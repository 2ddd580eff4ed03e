from __future__ import annotations

import threading
from pathlib import Path
from typing import Any

import pytest

from shaftscore.base.errors import Cancelled, ExportError
from shaftscore.base.progress import Progress, Share, stopping
from shaftscore_app.runtime.jobs import THREAD_NAME, JobError, Jobs, ProgressReport


@pytest.fixture
def jobs(qapp: object):
    made = Jobs()
    yield made
    made.close()
    running = [t.name for t in threading.enumerate() if t.name.startswith(THREAD_NAME)]
    assert not running


def test_a_result_comes_back_on_the_windows_thread(qtbot, jobs: Jobs) -> None:
    seen: list[tuple[Any, bool, bool]] = []
    main = threading.current_thread()
    jobs.request(
        "a",
        lambda: threading.current_thread() is main,
        lambda result: seen.append((result, threading.current_thread() is main, jobs.is_busy("a"))),
    )
    assert jobs.is_busy("a")
    qtbot.waitUntil(lambda: bool(seen))
    assert seen == [(False, True, False)]


def test_the_newest_request_of_a_kind_wins(qtbot, jobs: Jobs) -> None:
    go, seen = threading.Event(), []
    jobs.request("a", lambda: go.wait(10) and 0, seen.append)
    for number in (1, 2, 3):
        jobs.request("a", lambda n=number: n, seen.append)
    jobs.request("b", lambda: "b", seen.append)
    qtbot.waitUntil(lambda: seen == ["b"])
    go.set()
    qtbot.waitUntil(lambda: not jobs.is_busy())
    assert seen == ["b", 0, 3]


def test_an_error_goes_to_whoever_asked_and_the_worker_goes_on(qtbot, jobs: Jobs) -> None:
    seen: list[Any] = []
    jobs.request("a", lambda: 1 / 0, seen.append, lambda error: seen.append(type(error)))
    qtbot.waitUntil(lambda: seen == [ZeroDivisionError])
    jobs.request("a", lambda: 7, seen.append)
    qtbot.waitUntil(lambda: seen == [ZeroDivisionError, 7])


def test_after_close_nothing_arrives(qtbot, qapp: object) -> None:
    jobs, go, seen = Jobs(), threading.Event(), []
    jobs.request("a", lambda: go.wait(10), seen.append)
    jobs.request("a", lambda: 1, seen.append)
    threading.Timer(0.0, go.set).start()
    jobs.close()
    qapp.processEvents()
    assert seen == []


def _count(upto: int, progress: Progress) -> str:
    for number in range(upto):
        progress.report(number / upto, f"number {number}")
    return "done"


def _refuse(text: str, progress: Progress) -> None:
    raise ExportError(text)


def _for_ever(path: str, progress: Progress) -> None:
    Path(path).touch()
    try:
        while True:
            progress.report(0.5, "on and on")
    finally:
        Path(path).unlink()


def _die(progress: Progress) -> None:
    import os

    os._exit(3)


def _run(
    qtbot, jobs: Jobs, target: Any, *arguments: Any, wait: bool = True
) -> tuple[Any, list[Any], list[ProgressReport]]:
    ends: list[Any] = []
    told: list[ProgressReport] = []
    task = jobs.request_process(
        "p", target, arguments, on_progress=told.append, then=ends.append, failed=ends.append
    )
    if wait:
        qtbot.waitUntil(lambda: bool(ends), timeout=30_000)
    return task, ends, told


def test_a_process_tells_how_far_it_is_and_gives_its_result(qtbot, jobs: Jobs) -> None:
    _, ends, told = _run(qtbot, jobs, _count, 4)
    assert ends == ["done"]
    assert told == [ProgressReport(n / 4, f"number {n}") for n in range(4)]


def test_what_a_process_raises_arrives_with_its_text(qtbot, jobs: Jobs) -> None:
    _, ends, _ = _run(qtbot, jobs, _refuse, "the disk is full")
    assert isinstance(ends[0], JobError)
    assert (ends[0].kind, str(ends[0])) == ("ExportError", "the disk is full")


def test_a_process_that_dies_is_an_error_not_a_wait(qtbot, jobs: Jobs) -> None:
    _, ends, _ = _run(qtbot, jobs, _die)
    assert isinstance(ends[0], JobError)


def test_cancel_lets_the_process_tidy_up(qtbot, jobs: Jobs, tmp_path: Path) -> None:
    path = tmp_path / "staging"
    task, ends, told = _run(qtbot, jobs, _for_ever, str(path), wait=False)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    assert path.exists()
    task.cancel()
    qtbot.waitUntil(lambda: bool(ends), timeout=30_000)
    assert isinstance(ends[0], Cancelled)
    assert not path.exists()
    _, again, _ = _run(qtbot, jobs, _count, 1)
    assert again == ["done"]


def _deaf(path: str, progress: Progress) -> None:
    """Work in a step that does not report."""
    heard = threading.Event()
    with stopping(Share(progress, 0.0, 1.0), heard.set):
        progress.report(0.5, "deaf")
        heard.wait(60)
    if heard.is_set():
        Path(path).touch()
    progress.report(1.0, "over")


def test_a_step_that_does_not_report_is_stopped(qtbot, jobs: Jobs, tmp_path: Path) -> None:
    path = tmp_path / "heard"
    task, ends, told = _run(qtbot, jobs, _deaf, str(path), wait=False)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    task.cancel()
    qtbot.waitUntil(lambda: bool(ends), timeout=30_000)
    assert isinstance(ends[0], Cancelled)
    assert path.exists()
    assert told == [ProgressReport(0.5, "deaf")]


def test_closing_stops_a_process(qtbot, qapp: object, tmp_path: Path) -> None:
    path, jobs = tmp_path / "staging", Jobs()
    _, ends, told = _run(qtbot, jobs, _for_ever, str(path), wait=False)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    jobs.close()
    assert not path.exists()
    assert ends == []


def test_after_close_nothing_is_begun(qapp: object) -> None:
    jobs, seen = Jobs(), []
    jobs.close()
    jobs.request("a", lambda: seen.append("worked"), seen.append)
    assert not jobs.is_busy()
    assert seen == []
    assert not [t for t in threading.enumerate() if t.name.startswith(THREAD_NAME)]


def test_watched_work_tells_how_far_it_is_and_stops_when_cancelled(qtbot, jobs: Jobs) -> None:
    told: list[ProgressReport] = []
    failed: list[Exception] = []
    go = threading.Event()

    def work(progress: Progress) -> None:
        progress.report(0.25, "a quarter")
        go.wait(20)
        progress.report(0.5, "a half")

    task = jobs.request_watched("a", work, on_progress=told.append, then=told.append, failed=failed.append)
    qtbot.waitUntil(lambda: told == [ProgressReport(0.25, "a quarter")])
    task.cancel()
    go.set()
    qtbot.waitUntil(lambda: bool(failed))
    assert isinstance(failed[0], Cancelled)
    assert told == [ProgressReport(0.25, "a quarter")]
