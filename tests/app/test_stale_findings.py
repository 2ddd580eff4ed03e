"""Findings of an earlier machine are drawn as such until what takes longer is computed again."""

from __future__ import annotations

from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.stale import is_stale
from shaftscore_app.document.words import clean_text
from tests.app.conftest import WindowMaker
from tests.app.machines import clean_gates
from tests.core.placing.banks import BY_HAND, one_chute


def quick(before: Report, shifts: dict[str, float]) -> Report:
    """What the editor knows of a shifted machine at once."""
    return examine(one_chute(shifts), before, stage=QUICK)


def test_old_collisions_are_stale_until_the_flow_was_run_again() -> None:
    typed = examine(one_chute(), cures=False)
    collisions = [one for one in typed.findings if one.rule == "collision"]
    assert collisions
    assert not any(is_stale(typed, one) for one in typed.findings)
    shifted = quick(typed, BY_HAND)
    left = [one for one in shifted.findings if one.rule == "collision"]
    assert left
    assert all(is_stale(shifted, one) for one in left)
    assert not examine(one_chute(BY_HAND), shifted, cures=False).findings


def test_nothing_found_is_said_to_be_updating(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    document = window.document
    document.perform(place_block(document.committed, BlockRef("left", 0), 62.0))
    assert document.is_late_coming
    assert clean_text(document).endswith(UPDATING)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert UPDATING not in clean_text(document)
