"""The results of the tolerances: what the dialog shows, that it follows the project, copies, and cancels."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Any

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication

import shaftscore_app.dialogs.chance as chance_dialog
from shaftscore.edits import BlockRef, apply_edit
from shaftscore.judge.findings import Severity
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.dialogs.chance import ChanceDialog
from tests.app.machines import as_bytes, clean_gates, gates, gates_file

if TYPE_CHECKING:
    from shaftscore_app.frame.main_window import MainWindow
    from tests.app.conftest import WindowMaker


def thin_gates() -> Project:
    """Return two gates whose openings keep apart, but not in every machine."""
    sizes = {
        "disc_angle_deg": 3.0,
        "profile_mm": 0.0,
        "fit_spread_mm": 0.0,
        "station_mm": 0.0,
        "zero_mm": 0.0,
    }
    file = gates_file(tolerances=sizes)
    file["stacks"] = [{**stack, "fit_clearance_mm": 0.0} for stack in file.get("stacks", [{"id": "main"}])]
    file["rules"] = [
        {
            "kind": "exclusive",
            "states": [{"lane": "left", "level": "open"}, {"lane": "right", "level": "open"}],
            "gap_deg": 1.0,
        }
    ]
    file["lanes"] = [
        {**lane, "blocks": blocks, "guarded": []}
        for lane, blocks in zip(
            file["lanes"][:2],
            (
                _blocks(("open", 60, 80), ("closed", 140, 360)),
                _blocks(("open", 109.5, 129.5), ("closed", 190, 410)),
            ),
            strict=True,
        )
    ]
    return read_project(as_bytes(file), "thin.shaft")


def _blocks(*blocks: tuple[str, float, float]) -> list[dict[str, Any]]:
    return [{"level": level, "start_deg": start, "end_deg": end} for level, start, end in blocks]


def opened(qtbot: Any, window: MainWindow) -> ChanceDialog:
    window.actions_table["prove.chance"].trigger()
    (dialog,) = window.findChildren(ChanceDialog)
    qtbot.waitUntil(dialog.isVisible)
    assert isinstance(dialog, ChanceDialog)
    return dialog


@pytest.fixture
def thin(qtbot: Any, make_window: WindowMaker) -> tuple[MainWindow, ChanceDialog]:
    window = make_window(thin_gates())
    return window, opened(qtbot, window)


def test_it_shows_the_chance_the_margins_and_the_machines(thin: tuple[MainWindow, ChanceDialog]) -> None:
    window, dialog = thin
    spread = window.document.report.spread
    assert spread is not None
    assert spread.holds
    assert 0.5 < spread.chance < 0.99
    assert dialog.title.text() == f"{100 * spread.chance:.1f} % of machines work"
    assert "For 99 %: disc angle within ±" in dialog.details.text()
    assert dialog.table.rowCount() == len(spread.rules) == 1
    row = [dialog.table.item(0, column).text() for column in range(5)]
    assert row[:2] == ["Rule 1: one at a time, Left open and Right open", "Left, Right"]
    assert row[2] == f"{spread.rules[0].smallest_deg:.2f}°"
    assert row[4] == f"{100 * spread.chance:.2f} %"
    failing, working = dialog.plot.bars
    assert failing > 0
    assert working > 0
    assert sum(spread.histogram.counts) == spread.machines
    failed = sum(
        count
        for edge, count in zip(spread.histogram.edges_deg, spread.histogram.counts, strict=False)
        if edge < -1e-9
    )
    assert failed == round(spread.machines * (1 - spread.chance))


def test_it_opens_once(qtbot: Any, thin: tuple[MainWindow, ChanceDialog]) -> None:
    window, dialog = thin
    assert opened(qtbot, window) is dialog
    qtbot.mouseClick(dialog.button("Close"), Qt.MouseButton.LeftButton)
    assert not dialog.isVisible()
    window.actions_table["prove.chance"].trigger()
    shown = [one for one in window.findChildren(ChanceDialog) if one.isVisible()]
    assert len(shown) == 1


def test_it_follows_the_project_and_marks_what_is_stale(
    qtbot: Any, thin: tuple[MainWindow, ChanceDialog]
) -> None:
    window, dialog = thin
    document, before = window.document, dialog.title.text()
    moved = apply_edit(document.committed, "place_block", ref=BlockRef("right", 0), start_deg=111.0)
    document.preview(moved)
    assert dialog.remark.text() == "updating…"
    assert dialog.title.text() == before
    document.perform(moved)
    qtbot.waitUntil(lambda: document.is_late_current)
    assert dialog.remark.text() == ""
    assert dialog.title.text() != before


def test_a_rule_that_went_is_still_named_while_its_result_is_stale(
    thin: tuple[MainWindow, ChanceDialog],
) -> None:
    window, dialog = thin
    window.document.preview(apply_edit(window.document.committed, "delete_lane", lane_id="right"))
    assert dialog.remark.text() == "updating…"
    assert dialog.table.item(0, 0).text().endswith("Left open and Right open")


def test_copy_gives_all_figures_with_tabs(qtbot: Any, thin: tuple[MainWindow, ChanceDialog]) -> None:
    window, dialog = thin
    qtbot.mouseClick(dialog.button("Copy as table"), Qt.MouseButton.LeftButton)
    rows = [line.split("\t") for line in QGuiApplication.clipboard().text().splitlines()]
    spread = window.document.report.spread
    assert spread is not None
    assert rows[1][0] == str(spread.machines)
    assert float(rows[1][1]) == pytest.approx(spread.chance)
    assert rows[3][0] == "Rule 1: one at a time, Left open and Right open"
    causes = rows.index(["kind of error", "chance without it"])
    assert rows[causes + 1][0] == "Errors of the printed angle"
    assert float(rows[causes + 1][1]) == pytest.approx(spread.causes[0].chance_without)
    assert len(spread.causes) > 0
    listed = 1 + len(spread.costs) + 1 + len(spread.causes)
    assert len(rows) == 2 + 1 + 1 + listed + 1 + len(spread.histogram.counts)


def test_a_machine_without_rules_says_so(qtbot: Any, make_window: WindowMaker) -> None:
    file = gates_file(rules=[])
    file["lanes"] = file["lanes"][:2]
    window = make_window(read_project(as_bytes(file), "free.shaft"))
    dialog = opened(qtbot, window)
    assert dialog.title.text() == "No chance to compute yet"
    assert dialog.details.text().startswith("There is nothing to judge.")
    assert dialog.table.isHidden()
    assert not dialog.button("Copy as table").isEnabled()


@pytest.mark.parametrize("with_rules", [True, False])
def test_a_machine_with_an_error_as_drawn_says_why_none_works(
    qtbot: Any, make_window: WindowMaker, with_rules: bool
) -> None:
    """The blocks of both lanes follow one another so closely that the discs are too steep."""
    file = gates_file()
    file["lanes"] = [
        {
            **lane,
            "guarded": [],
            "blocks": _blocks(("open", start, start + 20), ("closed", start + 23, start + 357)),
        }
        for lane, start in zip(file["lanes"][:2], (60.0, 200.0), strict=True)
    ]
    states = [{"lane": lane, "level": "open"} for lane in ("left", "right")]
    file["rules"] = [{"kind": "exclusive", "states": states}] if with_rules else []
    window = make_window(read_project(as_bytes(file), "steep.shaft"))
    errors = window.document.report.count(Severity.ERROR)
    assert errors > 0
    dialog = opened(qtbot, window)
    assert dialog.title.text() == "0.0 % of machines work"
    assert f"The machine as drawn has {errors} error" in dialog.details.text()
    assert not dialog.more.isEnabled()


def test_more_machines_give_a_closer_answer_until_the_project_changes(
    qtbot: Any, thin: tuple[MainWindow, ChanceDialog], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(chance_dialog, "MANY", 20_000)
    window, dialog = thin
    qtbot.mouseClick(dialog.more, Qt.MouseButton.LeftButton)
    assert dialog.is_drawing
    qtbot.waitUntil(lambda: not dialog.is_drawing, timeout=20_000)
    assert "from 20,000 machines drawn" in dialog.details.text()
    assert window.document.report.spread is not None
    few = window.document.report.spread.machines
    assert few < 20_000
    document = window.document
    document.perform(apply_edit(document.committed, "place_block", ref=BlockRef("right", 0), start_deg=111.0))
    qtbot.waitUntil(lambda: document.is_late_current)
    assert document.report.spread is not None
    assert f"from {document.report.spread.machines:,} machines drawn" in dialog.details.text()
    assert document.report.spread.machines != 20_000


def test_cancel_keeps_what_was_shown(
    qtbot: Any, thin: tuple[MainWindow, ChanceDialog], monkeypatch: pytest.MonkeyPatch
) -> None:
    _, dialog = thin
    before, begun, go = dialog.details.text(), threading.Event(), threading.Event()

    def waits(solution: Any, flow: Any, machines: int, *, progress: Any, **_more: Any) -> None:
        begun.set()
        go.wait(20)
        progress.report(0.5, "Drawing")
        raise AssertionError("went on after it was cancelled")

    monkeypatch.setattr(chance_dialog, "find_spread", waits)
    qtbot.mouseClick(dialog.more, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(begun.is_set)
    qtbot.mouseClick(dialog.stop, Qt.MouseButton.LeftButton)
    go.set()
    qtbot.waitUntil(lambda: not dialog.is_drawing)
    assert dialog.details.text() == before
    assert dialog.more.isVisible()
    assert dialog.more.isEnabled()


def test_esc_while_it_draws_closes_it_for_good(
    qtbot: Any, thin: tuple[MainWindow, ChanceDialog], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The answer of what was cancelled comes when the dialog's widgets are gone."""
    window, dialog = thin
    monkeypatch.setattr(chance_dialog, "MANY", 2_000_000)
    qtbot.mouseClick(dialog.more, Qt.MouseButton.LeftButton)
    assert dialog.is_drawing
    qtbot.keyClick(dialog, Qt.Key.Key_Escape)
    qtbot.waitUntil(lambda: not window.findChildren(ChanceDialog))
    qtbot.waitUntil(lambda: not window.jobs.is_busy(), timeout=60_000)


def test_lanes_checked_alone_have_their_own_chance(qtbot: Any, make_window: WindowMaker) -> None:
    window = make_window(gates())
    dialog = opened(qtbot, window)
    assert dialog.title.text() == "0.0 % of machines work"
    window.document.check_alone({"left"})
    qtbot.waitUntil(lambda: window.document.is_late_current)
    assert dialog.title.text() == "No chance to compute yet"


def test_all_machines_on_one_side_leave_the_other_empty(qtbot: Any, make_window: WindowMaker) -> None:
    dialog = opened(qtbot, make_window(clean_gates()))
    assert dialog.title.text() == "100.00 % of machines work"
    assert dialog.plot.bars[0] == 0
