from __future__ import annotations

from itertools import pairwise

import pytest

from shaftscore.model import Project, replaced
from shaftscore_app.document.history import MERGE_S, State, UndoHistory
from shaftscore_app.document.selection import Selection
from tests.app.conftest import HandClock
from tests.app.machines import gates


def _named(project: Project, name: str) -> State:
    return State(replaced(project, name=name), Selection())


def test_undo_and_redo_give_the_states_beside_each_step() -> None:
    history, project = UndoHistory(HandClock()), gates()
    a, b, c = (_named(project, name) for name in "abc")
    history.add("to b", a, b)
    history.add("to c", b, c)
    assert (history.undo(), history.undo()) == (b, a)
    assert [step.name for step in history.undone] == ["to c", "to b"]
    assert (history.redo(), history.redo()) == (b, c)


def test_there_is_no_limit_to_the_steps() -> None:
    history, project = UndoHistory(HandClock()), gates()
    states = [_named(project, str(n)) for n in range(1001)]
    for before, after in pairwise(states):
        history.add("step", before, after)
    for before in reversed(states[:-1]):
        assert history.undo() is before


def test_a_new_step_forgets_what_was_undone() -> None:
    history, project = UndoHistory(HandClock()), gates()
    a, b, c = (_named(project, name) for name in "abc")
    history.add("to b", a, b)
    history.undo()
    history.add("to c", a, c)
    with pytest.raises(IndexError):
        history.redo()


@pytest.mark.parametrize(
    ("wait_s", "key", "steps"), [(0.59, "k", 1), (0.61, "k", 2), (0.0, "other", 2), (0.0, None, 2)]
)
def test_presses_of_one_key_join_within_600_ms(wait_s: float, key: str | None, steps: int) -> None:
    clock, project = HandClock(), gates()
    history = UndoHistory(clock)
    a, b, c = (_named(project, name) for name in "abc")
    history.add("to b", a, b, "k")
    clock.now += wait_s
    history.add("to c", b, c, key)
    assert len(history.done) == steps
    assert history.undo() is (a if steps == 1 else b)


def test_the_time_counts_from_the_last_press_and_a_step_back_to_the_start_is_none() -> None:
    clock, project = HandClock(), gates()
    history = UndoHistory(clock)
    a, b = _named(project, "a"), _named(project, "b")
    for before, after in ((a, b), (b, a), (a, b)):
        history.add("step", before, after, "k")
        clock.now += MERGE_S * 0.9
    assert len(history.done) == 1
    history.add("step", b, a, "k")
    assert not history.done


def test_a_step_that_was_redone_takes_no_more_presses() -> None:
    history, project = UndoHistory(HandClock()), gates()
    a, b, c = (_named(project, name) for name in "abc")
    history.add("to b", a, b, "k")
    history.undo()
    history.redo()
    history.add("to c", b, c, "k")
    assert len(history.done) == 2
