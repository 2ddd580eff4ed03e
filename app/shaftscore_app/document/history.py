"""Undo and redo: a list of named steps, each holding the project and the selection before and after.

A *step* is one thing the person did. Key presses on the same thing come with a `merge_key`; those
that follow each other within `MERGE_S` seconds join into one step, so that one undo takes them back.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace

from shaftscore.model.project import Project
from shaftscore_app.document.selection import Selection

MERGE_S = 0.6
"""Steps with one merge key join while they follow each other within this many seconds."""


@dataclass(frozen=True)
class State:
    """What undo brings back: the project and what was selected in it."""

    project: Project
    selection: Selection


@dataclass(frozen=True)
class UndoStep:
    """One undo step; `time` is the clock's reading in seconds when it was last added to."""

    name: str
    before: State
    after: State
    merge_key: Hashable | None
    time: float


class UndoHistory:
    """The steps done and the steps undone; `clock` gives seconds and is an argument for tests."""

    def __init__(self, clock: Callable[[], float]) -> None:
        """Begin without a step."""
        self._clock = clock
        self._done: list[UndoStep] = []
        self._undone: list[UndoStep] = []

    @property
    def done(self) -> tuple[UndoStep, ...]:
        """Steps that can be undone, the newest last."""
        return tuple(self._done)

    @property
    def undone(self) -> tuple[UndoStep, ...]:
        """Steps that can be redone, the next last."""
        return tuple(self._undone)

    def clear(self) -> None:
        """Forget every step (another project is open now)."""
        self._done.clear()
        self._undone.clear()

    def add(self, name: str, before: State, after: State, merge_key: Hashable | None = None) -> None:
        """Add a step, or join it to the last one; what was undone can no longer be redone."""
        now = self._clock()
        self._undone.clear()
        last = self._done[-1] if self._done else None
        if last and merge_key is not None and last.merge_key == merge_key and now - last.time <= MERGE_S:
            self._done[-1] = replace(last, name=name, after=after, time=now)
            if last.before.project == after.project:
                self._done.pop()
            return
        self._done.append(UndoStep(name, before, after, merge_key, now))

    def undo(self) -> State:
        """Undo the last change and give the state before it; raises IndexError without one."""
        step = self._done.pop()
        self._undone.append(replace(step, merge_key=None))
        return step.before

    def redo(self) -> State:
        """Do the next undone step again and give the state after it; raises IndexError without one."""
        step = self._undone.pop()
        self._done.append(step)
        return step.after
