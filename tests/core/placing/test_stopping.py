"""A search that lasts is stopped at once, whatever time it was given."""

from __future__ import annotations

import random
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest

from shaftscore.base.errors import Cancelled
from shaftscore.base.progress import Share, Silent, stopping
from shaftscore.placing.affine import var
from shaftscore.placing.problem import Problem
from shaftscore.placing.search import Search

LONG_S = 40.0


def hard() -> Problem:
    """Four equal halves at once: a market split, which branch and bound takes very long for.

    Cornuéjols and Dawande, A class of hard small 0-1 programs, 1998: m = 4 rows of 10 (m - 1) coefficients
    from 0 to 99, each to be split in half.
    """
    chance, problem = random.Random(7), Problem()
    taken = [problem.new(f"x{number}", 0, 1) for number in range(30)]
    for _ in range(4):
        row = [chance.randrange(100) for _ in taken]
        split = sum(
            (var(number) * float(by) for number, by in zip(taken, row, strict=True)), var(taken[0]) * 0.0
        )
        half = split - float(sum(row) // 2)
        problem.at_least_0(half)
        problem.at_least_0(half * -1.0)
    return problem


class StopsSoon:
    """A progress whose person asks to stop as soon as a step begins that does not report."""

    def __init__(self) -> None:
        self.asked = threading.Event()
        self.calls = 0

    def report(self, fraction: float, what: str) -> None:
        if self.asked.is_set():
            raise Cancelled("cancelled")

    @contextmanager
    def stopping(self, stop: Callable[[], object]) -> Iterator[None]:
        over = threading.Event()

        def ask() -> None:
            self.asked.set()
            while not over.wait(0.02):
                self.calls += 1
                stop()

        thread = threading.Thread(target=ask)
        thread.start()
        try:
            yield
        finally:
            over.set()
            thread.join()


def test_the_solver_stops_when_the_person_asks_to() -> None:
    progress, search = StopsSoon(), Search(hard(), 0)
    begun = time.process_time()
    with pytest.raises(Cancelled):
        search.solve(None, LONG_S, progress=Share(progress, 0.2, 0.4), what="Searching")
    assert progress.calls
    assert time.process_time() - begun < 3.0  # its first slice alone takes longer


def test_a_progress_that_cannot_stop_a_step_lets_it_end() -> None:
    asked: list[str] = []
    with stopping(Share(Silent(), 0.0, 0.5), lambda: asked.append("stop")):
        pass
    assert asked == []
