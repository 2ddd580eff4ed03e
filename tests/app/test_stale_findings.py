"""Findings of an earlier machine are drawn as such until what takes longer is computed again."""

from __future__ import annotations

from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore_app.document.outline import UPDATING
from shaftscore_app.document.stale import STALE_OPACITY, is_stale
from shaftscore_app.document.words import clean_text
from shaftscore_app.timing.layers.headers import header_of
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


def test_signs_of_a_lane_are_faint_only_while_all_its_findings_are_being_recomputed(
    qtbot, make_window: WindowMaker
) -> None:
    window = make_window(one_chute())
    document, diagram = window.document, window.diagram
    first = document.committed.lanes[0]
    assert diagram.scene.strength(document.report.findings) == 1.0
    document.perform(place_block(document.committed, BlockRef(first.id, 1), first.blocks[1].start_deg + 12.0))
    assert document.report.findings
    assert diagram.scene.strength(document.report.findings) == STALE_OPACITY
    assert header_of(diagram.scene, first.id).strength == STALE_OPACITY
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert diagram.scene.strength(document.report.findings) == 1.0


def test_nothing_found_is_said_to_be_updating(qtbot, make_window: WindowMaker) -> None:
    window = make_window(clean_gates())
    document = window.document
    document.perform(place_block(document.committed, BlockRef("left", 0), 62.0))
    assert document.is_late_coming
    assert clean_text(document).endswith(UPDATING)
    qtbot.waitUntil(lambda: document.is_late_current, timeout=60_000)
    assert UPDATING not in clean_text(document)
