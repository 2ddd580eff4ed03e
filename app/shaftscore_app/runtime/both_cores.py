"""Like pieces of work on both cores: one process here, one beside it, for the command line.

The second process takes pieces from the end while this one goes on from the beginning, so that neither waits
for the other. A piece that fails there is done again here, where its error is raised as ever; so are all that
are open if that process ends. The editor does without: it has its own process for an export, and needs the
other core to draw.

The command line loads no Qt, so this is not among the jobs of the editor.
"""

from __future__ import annotations

import copyreg
import multiprocessing
import os
import pickle
import signal
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeAlias, TypeVar

from shaftscore_app.runtime.safe_start import UnsafeStart, safe_path

T = TypeVar("T")

Answer: TypeAlias = Any
"""What comes through the pipe: Any, since no checker knows what the other end sends."""

LEAST = 12
"""Fewer pieces are done here: a process takes a second to start."""

AHEAD = 2
"""So many pieces the second process has at once, so that it does not wait for this one."""


class BothCores:
    """A `shaftscore.base.beside.Beside` with one process more; alone where it cannot be started."""

    def each(self, work: Callable[[int], T], count: int) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in any order; work and what it gives are pickled."""
        if count < LEAST or (os.cpu_count() or 1) < 2:
            yield from map(work, range(count))
            return
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "work"
            path.write_bytes(_pickled(work))
            try:
                second = _SecondProcess(path)
            except UnsafeStart:
                yield from map(work, range(count))
                return
            try:
                yield from _shared(work, deque(range(count)), second)
            finally:
                second.end()


def _shared(work: Callable[[int], T], left: deque[int], second: _SecondProcess) -> Iterator[T]:
    """Yield what is done here and there, until nothing is left."""
    while left or second.open:
        while left and len(second.open) < AHEAD and second.is_there:
            second.give(left.pop())
        if left:
            yield work(left.popleft())
        for number, answer in second.answers(wait=not left):
            yield work(number) if answer is None else answer


class _SecondProcess:
    """The second process. open: numbers of the pieces that it has."""

    def __init__(self, path: Path) -> None:
        """Start it; path: of the pickled work. Raises UnsafeStart as `safe_path` does."""
        spawn = multiprocessing.get_context("spawn")
        self._pipe, there = spawn.Pipe()
        self._process = spawn.Process(target=_in_process, args=(there, path), daemon=True)
        self.open: list[int] = []
        self.is_there = True
        with safe_path(), _without_interrupts():
            self._process.start()
        there.close()  # the process has the other end; without this its death would not be seen

    def give(self, number: int) -> None:
        """Ask for a piece; if the process is gone, its answer is None."""
        self.open.append(number)
        try:
            self._pipe.send(number)
        except OSError:
            self.is_there = False

    def answers(self, *, wait: bool) -> Iterator[tuple[int, Answer]]:
        """Yield numbers and results that are there, None for a piece that failed; wait: for one at least."""
        while self.open and self.is_there and (wait or self._pipe.poll()):
            wait = False
            try:
                number, answer = self._pipe.recv()
            except (EOFError, OSError):
                self.is_there = False
                break
            self.open.remove(number)
            yield number, answer
        if not self.is_there:
            gone, self.open = self.open, []
            yield from ((number, None) for number in gone)

    def end(self) -> None:
        """End the process."""
        self._pipe.close()
        self._process.terminate()
        self._process.join()


@contextmanager
def _without_interrupts() -> Iterator[None]:
    """Let a process that begins in here not hear Ctrl+C: this one hears it, and ends that one."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _pickled(work: Callable[[int], object]) -> bytes:
    """Return work as bytes; tables that cannot be changed are taken over as such."""
    with tempfile.TemporaryFile() as file:
        pickler = pickle.Pickler(file, pickle.HIGHEST_PROTOCOL)
        pickler.dispatch_table = copyreg.dispatch_table | {MappingProxyType: _table}
        pickler.dump(work)
        file.seek(0)
        return file.read()


def _table(
    table: MappingProxyType[object, object],
) -> tuple[Callable[..., object], tuple[dict[object, object]]]:
    return _made_table, (dict(table),)


def _made_table(rows: dict[object, object]) -> MappingProxyType[object, object]:
    return MappingProxyType(rows)


def _in_process(pipe: Connection, path: Path) -> None:
    """Do pieces of work until nobody asks for one any more; runs in the second process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        work = pickle.loads(path.read_bytes())
        while True:
            number = pipe.recv()
            try:
                pipe.send((number, work(number)))
            except Exception:  # done again by the first process, which raises it
                pipe.send((number, None))
    except (EOFError, OSError):
        return
