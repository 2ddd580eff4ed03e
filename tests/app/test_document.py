from __future__ import annotations

from pathlib import Path

import pytest

from shaftscore.base.errors import ProjectError
from shaftscore.edits import BlockRef, Edited, add_lane, delete_blocks, place_block, set_name, set_shaft
from shaftscore.model.saved import saved_form
from shaftscore_app.document import Document
from shaftscore_app.document.selection import Selection
from shaftscore_app.runtime.jobs import Jobs
from tests.app.conftest import HandClock
from tests.app.machines import clean_gates, gates

RIGHT = BlockRef("right", 0)


def _rules(document: Document) -> list[str]:
    return [finding.rule for finding in document.report.findings]


def _moved(document: Document, deg: float) -> Edited:
    return place_block(document.committed, RIGHT, deg)


def test_an_edit_is_one_named_step_and_undo_brings_back_the_very_project(document: Document) -> None:
    before = document.project
    document.select_blocks(RIGHT)
    assert "overlap" in _rules(document)
    document.perform(_moved(document, 200.0))
    assert "overlap" not in _rules(document)
    assert document.undo_name == "Move Right open to 200.0°"
    document.undo()
    assert document.project is before
    assert document.selection.blocks == (RIGHT,)
    assert "overlap" in _rules(document)
    assert (document.can_undo, document.redo_name) == (False, "Move Right open to 200.0°")


def test_redo_gives_the_same_again(document: Document) -> None:
    document.perform(_moved(document, 200.0))
    after, selected = document.project, document.selection
    document.undo()
    document.redo()
    assert document.project is after
    assert document.selection == selected


def test_undo_and_redo_examine_nothing_again(document: Document, monkeypatch: pytest.MonkeyPatch) -> None:
    document.perform(_moved(document, 200.0))
    document.perform(_moved(document, 210.0))
    reports = [document.report]
    document.undo()
    reports.append(document.report)
    monkeypatch.setattr("shaftscore_app.document.look", None)
    document.redo()
    assert document.report is reports[0]
    document.undo()
    assert document.report is reports[1]
    assert document.report.project is document.project
    assert document.is_late_current


def test_an_edit_that_changes_nothing_is_no_step(document: Document) -> None:
    start = document.project.lane("right").blocks[0].start_deg
    document.perform(_moved(document, start))
    assert not document.can_undo
    assert not document.is_modified


def test_presses_of_one_key_are_one_step(document: Document, clock: HandClock) -> None:
    for deg in (150.0, 151.0, 152.0):
        document.perform(_moved(document, deg), merge_key=("nudge", RIGHT))
        clock.now += 0.3
    document.undo()
    assert not document.can_undo
    assert document.project.lane("right").blocks[0].start_deg == 139.5


def test_a_preview_is_shown_and_reported_but_is_no_step(document: Document) -> None:
    committed = document.committed
    document.preview(_moved(document, 200.0))
    assert document.is_previewing
    assert document.project.lane("right").blocks[0].start_deg == 200.0
    assert "overlap" not in _rules(document)
    assert not document.can_undo
    assert document.committed is committed
    document.preview(None)
    assert document.project is committed
    assert "overlap" in _rules(document)


def test_performing_after_previews_is_one_step_from_where_it_began(document: Document) -> None:
    for deg in (150.0, 170.0, 200.0):
        document.preview(_moved(document, deg))
    document.perform(_moved(document, 200.0))
    assert not document.is_previewing
    document.undo()
    assert document.project.lane("right").blocks[0].start_deg == 139.5


def test_a_preview_put_back_brings_the_selection_back(document: Document) -> None:
    document.select_blocks(BlockRef("left", 0))
    document.preview(_moved(document, 200.0))
    assert document.selection.blocks == (RIGHT,)
    document.preview(None)
    assert document.selection.blocks == (BlockRef("left", 0),)


def test_signals_say_what_happened(document: Document) -> None:
    heard: list[str] = []
    for name in ("project_changed", "report_changed", "selection_changed", "history_changed", "file_changed"):
        getattr(document, name).connect(lambda name=name: heard.append(name))
    document.select_blocks(RIGHT)
    document.select_blocks(RIGHT)
    assert heard == ["selection_changed"]
    heard.clear()
    document.perform(_moved(document, 200.0))
    assert {"project_changed", "report_changed", "history_changed", "file_changed"} <= set(heard)
    assert heard.index("project_changed") < heard.index("report_changed")


def test_the_selection_leaves_out_what_is_not_there(document: Document) -> None:
    document.select(Selection("nobody", (RIGHT, BlockRef("right", 99), BlockRef("nobody", 0))))
    assert document.selection == Selection(None, (RIGHT,))


def test_blocks_stay_selected_over_an_edit_of_something_else(document: Document) -> None:
    document.select_blocks(RIGHT)
    document.perform(set_shaft(document.committed, speed_rpm=5.0))
    assert document.selection.blocks == (RIGHT,)


def test_a_new_lane_is_selected(document: Document) -> None:
    document.perform(add_lane(document.committed, "Lift", "", {"down": 0.0, "up": 5.0}))
    assert document.selection == Selection("lift")


def test_deleting_the_selected_block_clears_the_selection_and_undo_brings_it_back(document: Document) -> None:
    document.select_blocks(RIGHT)
    document.perform(delete_blocks(document.committed, [RIGHT]))
    assert RIGHT not in document.selection.blocks
    document.undo()
    assert document.selection.blocks == (RIGHT,)


@pytest.mark.parametrize(
    ("deg", "shown"), [(0.0, 0.0), (359.5, 359.5), (360.0, 0.0), (-10.0, 350.0), (725.0, 5.0)]
)
def test_the_cursor_stays_in_one_turn(document: Document, deg: float, shown: float) -> None:
    document.set_cursor(1.0)
    heard: list[float] = []
    document.cursor_changed.connect(heard.append)
    document.set_cursor(deg)
    document.set_cursor(deg)
    assert document.cursor_deg == pytest.approx(shown)
    assert heard == [pytest.approx(shown)]


# Files


def test_save_and_open_give_the_same_project(document: Document, tmp_path: Path) -> None:
    path = tmp_path / "gates.shaft"
    document.perform(_moved(document, 200.0))
    assert document.is_modified
    document.save(path)
    assert (document.is_modified, document.path, document.name) == (False, path, "gates.shaft")
    other = Document()
    other.open(path)
    assert other.project == document.project
    assert (other.is_modified, other.can_undo, other.is_started) == (False, False, True)


def test_undo_back_to_what_was_saved_is_not_modified(document: Document, tmp_path: Path) -> None:
    document.save(tmp_path / "a.shaft")
    document.perform(_moved(document, 200.0))
    assert document.is_modified
    document.undo()
    assert not document.is_modified
    document.redo()
    assert document.is_modified


def test_a_preview_is_not_saved(document: Document, tmp_path: Path) -> None:
    path = tmp_path / "a.shaft"
    document.preview(_moved(document, 200.0))
    document.save(path)
    assert path.read_bytes() == saved_form(gates())


def test_a_file_that_is_refused_leaves_everything_as_it_was(document: Document, tmp_path: Path) -> None:
    bad = tmp_path / "bad.shaft"
    bad.write_text('{"format": "shaftscore-project", "version": 99}')
    document.perform(_moved(document, 200.0))
    before = (document.project, document.undo_name, document.path)
    with pytest.raises(ProjectError):
        document.open(bad)
    with pytest.raises(ProjectError, match="cannot be read"):
        document.open(tmp_path / "gone.shaft")
    assert (document.project, document.undo_name, document.path) == before


def test_saving_without_a_file_asks_for_a_path(document: Document) -> None:
    with pytest.raises(ValueError, match="path"):
        document.save()


def test_close_brings_the_start_back_and_the_document_can_be_used_again(document: Document) -> None:
    document.close()
    assert (document.is_started, document.is_modified, document.project.lanes) == (False, False, ())
    document.perform(set_name(document.committed, "Again"))
    assert (document.is_started, document.is_modified) == (True, True)


# What comes late


def test_late_parts_come_from_the_background_and_are_stale_until_then(qtbot, qapp: object) -> None:
    jobs = Jobs()
    document = Document(clean_gates(), jobs=jobs)
    assert not document.is_late_current
    qtbot.waitUntil(lambda: document.is_late_current, timeout=20_000)
    document.perform(set_shaft(document.committed, speed_rpm=5.0))
    assert not document.is_late_current
    qtbot.waitUntil(lambda: document.is_late_current, timeout=20_000)
    assert document.report.project is document.project
    jobs.close()


def test_without_jobs_late_parts_are_there_at_once_except_in_previews(document: Document) -> None:
    assert document.is_late_current
    document.preview(_moved(document, 200.0))
    assert not document.is_late_current
    document.perform(_moved(document, 200.0))
    assert document.is_late_current
