"""A long random session: edits, undo, redo, save and load, after which undo always gives the same bytes.

The model beside the document is as plain as can be: the saved forms of all steps, and the place in them.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)
from pydantic import ValidationError

from shaftscore.base.errors import EditError
from shaftscore.base.samples import sample_folder
from shaftscore.edits import EDITS, Edited, add_lane, apply_edit
from shaftscore.model import Project
from shaftscore.model.loader import load_project, read_project
from shaftscore.model.saved import saved_form
from shaftscore_app.document import Document, blank_project
from shaftscore_app.document.history import UndoHistory
from shaftscore_app.runtime.jobs import Jobs
from tests.app.conftest import HandClock
from tests.app.long_session import ARGUMENTS
from tests.app.machines import gates

SAMPLES = sample_folder()
BEGINNINGS: dict[str, Callable[[], Project]] = {
    "blank": lambda: add_lane(blank_project(), "First", "", {"in": 0.0, "out": 5.0}).project,
    "gates": gates,
    "theatre": lambda: load_project(SAMPLES / "paper_theatre.shaft"),
    "blender": lambda: load_project(SAMPLES / "tea_blender.shaft"),
}

SESSIONS = 6
"""So many sessions are always tried; the long run tries 400."""


class NoJobs(Jobs):
    """Jobs that are never done: late parts are not what this is about."""

    def request(self, *_arguments: object, **_named: object) -> None:
        """Do nothing."""


class Session(RuleBasedStateMachine):
    """The session; `steps` holds the saved form before the first step and after each, `place` where it is."""

    folder: Path
    """Where it saves."""

    def __init__(self) -> None:
        super().__init__()
        self.clock, self.jobs = HandClock(), NoJobs()
        self.file = self.folder / "machine.shaft"
        self.steps: list[bytes] = []
        self.place = 0
        self.on_disk = b""
        self.merged: tuple[object, float] | None = None

    @initialize(beginning=st.sampled_from(sorted(BEGINNINGS)))
    def begin(self, beginning: str) -> None:
        self.document = Document(BEGINNINGS[beginning](), jobs=self.jobs, clock=self.clock)
        self.steps = [saved_form(self.document.committed)]

    def made(self, name: str, seed: int) -> Edited | None:
        """Make an edit with random arguments; None where it is refused."""
        project = self.document.committed
        if not project.lanes and name != "add_lane":
            return None
        try:
            return apply_edit(project, name, **ARGUMENTS[name](project, Random(seed)))
        except (EditError, ValidationError):
            return None  # refused with a reason: what is tested elsewhere

    @rule(
        name=st.sampled_from(sorted(EDITS)),
        seed=st.integers(0, 1 << 30),
        wait=st.sampled_from([0.0, 0.3, 1.0]),
    )
    def edit(self, name: str, seed: int, wait: float) -> None:
        self.clock.now += wait
        edited = self.made(name, seed)
        if edited is None:
            return
        before = len(self.document.undo_names)
        merge_key = name if seed % 3 == 0 else None
        changes = edited.project != self.document.committed
        self.document.perform(edited, merge_key)
        now = saved_form(self.document.committed)
        if not changes:
            assert now == self.steps[self.place]
            return
        joined = len(self.document.undo_names) == before
        assert not joined or merge_key is not None
        self.place += 0 if joined else 1
        self.steps[self.place :] = [now]
        assert self.document.undo_name == edited.name
        assert not self.document.can_redo

    @rule(name=st.sampled_from(sorted(EDITS)), seed=st.integers(0, 1 << 30))
    def hold_and_let_go(self, name: str, seed: int) -> None:
        edited = self.made(name, seed)
        if edited is not None:
            self.document.preview(edited)
            assert self.document.project is edited.project
            self.document.preview(None)
        assert self.document.project is self.document.committed

    @rule(times=st.integers(1, 4))
    def undo(self, times: int) -> None:
        for _ in range(times):
            self.place = max(0, self.place - 1)
            self.document.undo()
            self.same()

    @rule(times=st.integers(1, 4))
    def redo(self, times: int) -> None:
        for _ in range(times):
            self.place = min(len(self.steps) - 1, self.place + 1)
            self.document.redo()
            self.same()

    @rule(seed=st.integers(0, 1 << 30))
    def select(self, seed: int) -> None:
        lanes = self.document.project.lanes
        self.document.select_lane(Random(seed).choice(lanes).id if lanes else None)

    @rule()
    def save(self) -> None:
        self.document.save(self.file)
        self.on_disk = self.file.read_bytes()
        assert self.on_disk == self.steps[self.place]
        assert not self.document.is_modified

    @rule()
    def load(self) -> None:
        if self.on_disk:
            self.document.open(self.file)
            self.steps, self.place = [self.on_disk], 0
            assert not self.document.is_modified

    @invariant()
    def same(self) -> None:
        """The project is that of the step, as bytes; and the bytes read back are the project."""
        if not self.steps:
            return
        now = saved_form(self.document.committed)
        assert now == self.steps[self.place]
        assert len(self.document.undo_names) == self.place
        assert self.document.can_redo == (self.place < len(self.steps) - 1)
        assert read_project(now, "machine.shaft") == self.document.committed

    def teardown(self) -> None:
        if self.steps:
            while self.document.can_undo:
                self.undo(1)
            assert saved_form(self.document.committed) == self.steps[0]
            while self.document.can_redo:
                self.redo(1)
            assert saved_form(self.document.committed) == self.steps[-1]
        self.jobs.close()


def run(folder: Path, examples: int, steps: int, *, seeded: bool) -> None:
    """Run sessions that save into a folder."""
    how = settings(
        max_examples=examples,
        stateful_step_count=steps,
        derandomize=seeded,
        database=None,
        deadline=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    run_state_machine_as_test(type("Here", (Session,), {"folder": folder}), settings=how)


def test_every_edit_has_arguments() -> None:
    assert set(ARGUMENTS) == set(EDITS)


def test_a_session_of_any_edits_is_undone_to_the_same_bytes(qapp: object, tmp_path: Path) -> None:
    run(tmp_path, SESSIONS, 40, seeded=True)


@pytest.mark.long
def test_long_sessions_of_any_edits_are_undone_to_the_same_bytes(qapp: object, tmp_path: Path) -> None:
    run(tmp_path, 400, 120, seeded=False)


def test_the_session_sees_an_undo_that_forgets(
    qapp: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A history that joins all steps is found out."""
    add = UndoHistory.add
    monkeypatch.setattr(
        UndoHistory, "add", lambda self, name, before, after, _key=None: add(self, name, before, after, "one")
    )
    with pytest.raises(AssertionError):
        run(tmp_path, 2 * SESSIONS, 40, seeded=True)
