"""Like pieces of work on both cores: one process here, one beside it, for the command line.

The second process takes pieces from the end while this one goes on from the beginning, so that neither waits
for the other. A piece that fails there is done again here, where its error is raised as ever; so are all that
are open if that process ends. It is started at once and loads what it will need while this one begins.
Meanwhile each keeps to a core of its own, where the system lets it: the solid library would start threads
that only turn and wait, for as much processor time again. The editor does without: it has its own process
for an export, and needs the other core to draw.

The command line loads no Qt, so this is not among the jobs of the editor.
"""

from __future__ import annotations

import copyreg
import multiprocessing
import os
import pickle
import signal
import sys
import tempfile
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from multiprocessing.connection import Connection
from pathlib import Path
from types import MappingProxyType
from typing import Any, Self, TypeAlias, TypeVar

from shaftscore.base.beside import Alone
from shaftscore_app.runtime.safe_start import UnsafeStart, safe_path

T = TypeVar("T")

Answer: TypeAlias = Any
"""What comes through the pipe: Any, since no checker knows what the other end sends."""

AHEAD = 6
"""So many pieces the second process has at once at most, so that it does not wait for this one."""

SHARE_AHEAD = 8
"""It has no more at once than this part of what is left, so that both end together."""


class BothCores:
    """A `shaftscore.base.beside.Beside` with one process more; alone where it cannot be started.

    Use it in a `with` block, at the end of which that process ends.
    """

    def __init__(self, modules: Sequence[str] = ()) -> None:
        """Take the names of modules that the second process loads at once."""
        self._modules = modules
        self._second: _SecondProcess | None = None
        self._cores: _OwnCores | None = None

    def __enter__(self) -> Self:
        """Start the second process."""
        if (os.cpu_count() or 1) >= 2:
            try:
                self._second = _SecondProcess(self._modules)
            except UnsafeStart:
                return self
            self._cores = _OwnCores(self._second.pid)
        return self

    def __exit__(self, *_: object) -> None:
        """End the second process."""
        if self._cores is not None:
            self._cores.end()
        if self._second is not None:
            self._second.end()
        self._second = self._cores = None

    def each(
        self, work: Callable[[int], T], count: int, meanwhile: Callable[[], object] | None = None
    ) -> Iterator[T]:
        """Yield work(0) to work(count - 1), in any order; work and what it gives are pickled."""
        if self._second is None or count < 2 or not self._second.is_free:
            yield from Alone().each(work, count, meanwhile)
            return
        self._second.take(_pickled(work))
        yield from _shared(work, deque(range(count)), self._second, meanwhile)


def _shared(
    work: Callable[[int], T], left: deque[int], second: _SecondProcess, meanwhile: Callable[[], object] | None
) -> Iterator[T]:
    """Yield what is done here and there, until nothing is left."""
    while left or second.open:
        ahead = min(AHEAD, 1 + len(left) // SHARE_AHEAD)
        while left and len(second.open) < ahead and second.is_there:
            second.give(left.pop())
        if meanwhile is not None:
            meanwhile()
            meanwhile = None
        elif left:
            yield work(left.popleft())
        for number, answer in second.answers(wait=not left):
            yield work(number) if answer is None else answer


class _OwnCores:
    """Keeps this process and another one to a core each, where the system lets it, until its end."""

    def __init__(self, other: int) -> None:
        """Take the number of the other process."""
        self._before: set[int] = set()
        if sys.platform != "linux" or len(cores := os.sched_getaffinity(0)) < 2:
            return
        try:
            os.sched_setaffinity(other, {max(cores)})
            os.sched_setaffinity(0, {min(cores)})
        except OSError:  # that process is gone, or the system forbids it: both go wherever there is room
            return
        self._before = cores

    def end(self) -> None:
        """Let this process have all its cores again."""
        if sys.platform == "linux" and self._before:
            os.sched_setaffinity(0, self._before)


class _SecondProcess:
    """The second process. open: numbers of the pieces that it has."""

    def __init__(self, modules: Sequence[str]) -> None:
        """Start it; modules: what it loads at once. Raises UnsafeStart as `safe_path` does."""
        spawn = multiprocessing.get_context("spawn")
        self._pipe, there = spawn.Pipe()
        self._folder = tempfile.TemporaryDirectory()
        self._process = spawn.Process(target=_in_process, args=(there, tuple(modules)), daemon=True)
        self.open: list[int] = []
        self.is_there = True
        try:
            with safe_path(), _without_interrupts():
                self._process.start()
        except BaseException:
            self._folder.cleanup()
            raise
        there.close()  # the process has the other end; without this its death would not be seen

    @property
    def pid(self) -> int:
        """Its number in the system."""
        assert self._process.pid is not None, "it was started"
        return self._process.pid

    @property
    def is_free(self) -> bool:
        """Whether it is there and has no piece."""
        return self.is_there and not self.open

    def take(self, work: bytes) -> None:
        """Hand pickled work over, by a file: a pipe would wait until it is read."""
        path = Path(self._folder.name) / "work"
        path.write_bytes(work)
        self._send(path)

    def give(self, number: int) -> None:
        """Ask for a piece; if the process is gone, its answer is None."""
        self.open.append(number)
        self._send(number)

    def _send(self, what: int | Path) -> None:
        try:
            self._pipe.send(what)
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
        self._folder.cleanup()


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


def _in_process(pipe: Connection, modules: Sequence[str]) -> None:
    """Do pieces of work until nobody asks for one any more; runs in the second process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        for name in modules:
            import_module(name)
        path, work = Path(), None
        while True:
            asked = pipe.recv()
            if isinstance(asked, Path):
                path, work = asked, None
                continue
            try:
                work = work or pickle.loads(path.read_bytes())
                pipe.send((asked, work(asked)))
            except Exception:  # done again by the first process, which raises it
                pipe.send((asked, None))
    except (EOFError, OSError):
        return
