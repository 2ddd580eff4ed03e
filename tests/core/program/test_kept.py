"""A draft of a program as plain values: whatever is kept comes back, as far as it still fits."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from shaftscore.base.errors import EditError
from shaftscore.edits import delete_lane
from shaftscore.program.frames import ProgramFrame, painted
from shaftscore.program.kept import draft_of_plain, plain_draft
from shaftscore.program.present import draft_of
from tests.machines import gate, machine

PROJECT = machine(gate("A", 40, 100, 60.0), gate("B", 200, 260, 60.0))


def test_a_draft_comes_back_from_its_json() -> None:
    draft = draft_of(PROJECT)
    draft = replace(draft, frames=(painted(draft.frames[0], ["a"], "open"), *draft.frames[1:]))
    kept = json.loads(json.dumps(plain_draft(draft)))
    assert draft_of_plain(PROJECT, kept) == draft


def test_what_no_longer_exists_is_left_out() -> None:
    draft = replace(draft_of(PROJECT), frames=(ProgramFrame("one", {"a": "open", "b": "open"}),))
    there = delete_lane(PROJECT, "b").project
    assert draft_of_plain(there, plain_draft(draft)).frames == (ProgramFrame("one", {"a": "open"}),)


@pytest.mark.parametrize("plain", [None, {}, {"frames": 3}, [1]])
def test_what_is_no_draft_is_refused(plain: object) -> None:
    with pytest.raises(EditError, match="cannot be read"):
        draft_of_plain(PROJECT, plain)


def test_a_draft_without_frames_is_refused() -> None:
    with pytest.raises(EditError, match="0 frames"):
        draft_of_plain(PROJECT, {**plain_draft(draft_of(PROJECT)), "frames": []})
