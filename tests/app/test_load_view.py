"""The Load view: the sum against the drive, contact force, words that hide nothing, and the cursor."""

from __future__ import annotations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtTest import QTest
from pytestqt.qtbot import QtBot

from shaftscore.base.angles import Arcs, wrap
from shaftscore.edits import apply_edit
from shaftscore.judge.loads import spring_for
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.model import Project
from shaftscore.model.loader import read_project
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.theme import Choice
from shaftscore_app.views.load import LoadsView
from shaftscore_app.views.load_charts import contact_view, float_text, spring_text, stretches, torque_view
from shaftscore_app.views.load_cycle import ShownCycle
from shaftscore_app.views.motion import MotionView
from shaftscore_app.views.reserve_charts import reserve_view
from shaftscore_app.widgets.chart_layout import (
    Chart,
    ChartBox,
    ChartLine,
    Mark,
    Rule,
    Scale,
    placed,
    round_ticks,
    value_range,
)
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, gates_file
from tests.samples import sample_report

LOAD = {"moving_mass_g": 200.0, "spring_preload_n": 6.0, "spring_rate_n_per_mm": 0.5, "friction_n": 0.5}
DRIVE = {
    "source": {
        "kind": "motor",
        "rated_speed_rpm": 36.0,
        "rated_torque_nm": 0.5,
        "turn": "counterclockwise",
    },
    "stages": [{"kind": "external", "driver_teeth": 12, "driven_teeth": 72, "efficiency": 0.9}],
    "torque_reserve": 1.5,
}


def loaded(*lane_ids: str, drive: bool = True) -> Project:
    """Return the two gates and the flap, some of them with a load."""
    file = gates_file(**({"drive": DRIVE} if drive else {}))
    for lane in file["lanes"]:
        if lane["id"] in lane_ids:
            lane["load"] = LOAD
    return read_project(as_bytes(file), "loaded.shaft")


def report_of(project: Project) -> Report:
    return examine(project, stage=QUICK)


@pytest.fixture
def window(qtbot: QtBot, make_window: WindowMaker) -> MainWindow:
    window = make_window(loaded("flap", "right"))
    window.docks.show("load")
    qtbot.waitUntil(lambda: window.docks.view(LoadsView).shown is not None)
    return window


def test_the_sum_is_that_of_all_lanes_and_the_greatest_is_filled() -> None:
    loads = report_of(loaded("flap", "right")).loads
    assert loads is not None
    view = torque_view(loads)
    assert view is not None
    greatest, total = view.chart.lines
    assert greatest.filled
    assert total.width == 1.75
    shares = dict(view.table)
    assert np.allclose(shares["flap_nm"] + shares["right_nm"], total.values[:-1])
    assert total.values[-1] == total.values[0]
    assert max(shares["flap_nm"].max(), shares["right_nm"].max()) == greatest.values.max()


def test_the_allowed_torque_is_written_with_its_sum() -> None:
    """0.5 N·m x 72/12 x 0.9 = 2.7 N·m reaches the shaft; a reserve of 1.5 leaves 1.8 N·m."""
    loads = report_of(loaded("flap")).loads
    assert loads is not None
    view = torque_view(loads)
    assert view is not None
    (rule,) = view.chart.rules
    assert rule.text == "Motor 2.70 N·m ÷ reserve 1.5 = 1.80 N·m"
    assert rule.value == pytest.approx(1.8)
    peak = loads.camshaft.peak
    assert peak is not None
    assert view.remark == f"{100 * peak.value / 1.8:.0f} % used"
    assert view.chart.marks[0].text.startswith("peak ")
    assert "newton metres" in view.chart.summary


def test_curves_of_a_counter_are_those_of_the_cycle_shown() -> None:
    """Ten cycles: the curves of all of them put together are the round, and the peak is marked in one."""
    report = sample_report("tally_board")
    loads = report.loads
    assert loads is not None
    views = [torque_view(loads, ShownCycle(report.cycles, cycle)) for cycle in range(1, 11)]
    shown = [view for view in views if view is not None]
    assert len(shown) == 10
    assert [len([m for m in view.chart.marks if m.text.startswith("peak")]) for view in shown].count(1) == 1
    round_deg = (np.arange(10)[:, None] * 360.0 + np.arange(0.0, 360.0, 30.0)).ravel() / 10.0
    put_together = np.concatenate([view.chart.lines[1].values[:-1:300] for view in shown])
    assert np.allclose(put_together, loads.camshaft.torque_at(round_deg))
    assert shown[6].remark.startswith("cycle 7 of 10, ")
    tens = loads.lanes["tens_a"]
    still = contact_view(report.project, tens, ShownCycle(report.cycles, 3)).chart.lines[-1].values
    assert np.ptp(still[:1200]) == 0.0  # locked until its pin enters, at 126 degrees of the ones


def test_without_a_drive_nothing_is_allowed_or_used() -> None:
    loads = report_of(loaded("flap", drive=False)).loads
    assert loads is not None
    view = torque_view(loads)
    assert view is not None
    assert view.chart.rules == ()
    assert view.remark == "no drive given"
    assert [name for _, _, name in view.legend] == ["Sum", "Flap"]


def test_a_locked_guide_is_said_and_drawn_as_a_gap(make_window: WindowMaker, qtbot: QtBot) -> None:
    """With μ (1 + 2A/B) = 0.6 (1 + 2 x 60/10) = 7.8 the follower locks from atan(1/7.8) = 7.3 degrees on."""
    guide = {"guide_friction": 0.6, "guide_length_mm": 10.0, "overhang_mm": 60.0}
    project = apply_edit(loaded("flap"), "set_follower", lane_id="flap", **guide).project
    window = make_window(project)
    window.docks.show("load")
    qtbot.waitUntil(lambda: window.docks.view(LoadsView).shown is not None)
    assert window.docks.view(LoadsView).remark.text() == "locked"
    assert window.docks.view(LoadsView).foot.text().startswith("A guide locks its follower")
    shown = window.docks.view(LoadsView).shown
    assert shown is not None
    assert np.isnan(shown.chart.lines[-1].values).any()
    assert not window.docks.view(LoadsView).canvas.grab().isNull()
    window.docks.view(LoadsView).show_subject("contact")
    window.document.select_lane("flap")
    assert not window.docks.view(LoadsView).canvas.grab().isNull()


def test_contact_force_is_marked_where_it_is_least() -> None:
    report = report_of(loaded("flap"))
    assert report.loads is not None
    lane = report.loads.lanes["flap"]
    view = contact_view(report.project, lane)
    (mark,) = view.chart.marks
    assert [(rule.value, rule.text) for rule in view.chart.rules] == [(0.0, "contact is lost at 0 N")]
    least = float(np.nanmin(view.chart.lines[-1].values))
    assert mark.value == pytest.approx(least, abs=0.02)
    assert view.remark == float_text(lane)
    assert view.remark.startswith("holds up to ")
    assert "Contact pressure" in view.foot[0]


def test_the_words_of_the_spring_say_what_it_needs() -> None:
    project = loaded("flap")
    weak = apply_edit(
        project, "set_load", lane_id="flap", spring_preload_n=0.0, spring_rate_n_per_mm=0.0, friction_n=2.0
    ).project
    said = {}
    for name, changed in (("strong", project), ("weak", weak)):
        loads = report_of(changed).loads
        assert loads is not None
        said[name] = spring_text(loads.lanes["flap"])
        if name == "weak":
            advice = spring_for(loads.lanes["flap"], loads.lanes["flap"].top_rpm)
            assert advice is not None
            assert advice.preload_n > 0
    assert said["strong"].startswith("The spring is strong enough: a preload of ")
    assert " N would do at 7.2 rev/min (margin 1.2); it has " in said["strong"]
    assert said["weak"].startswith("To hold up to 7.2 rev/min: preload ")


CASES = ({"name": "dry", "friction_n": 0.2}, {"name": "Damp tea", "friction_n": 0.39})
STICKY = {"spring_preload_n": 0.4, "spring_rate_n_per_mm": 0.02, "frictions": CASES}


def sticky() -> Project:
    """Return the machine whose flap sticks at its low end: 0.40 N against 1.3 x 0.39 N."""
    file = gates_file()
    for lane in file["lanes"]:
        if lane["id"] == "flap":
            lane["load"] = STICKY
    return read_project(as_bytes(file), "sticky.shaft")


def test_the_band_of_the_contact_force_holds_every_friction_and_spring() -> None:
    """0.8 S - 0.39 N to 1.2 S - 0.2 N on a fall, 0.8 S + 0.2 N to 1.2 S + 0.39 N on a rise."""
    report = report_of(sticky())
    lane = report.loads.lanes["flap"]
    view = contact_view(report.project, lane)
    (band,) = view.chart.bands
    forces = lane.forces(wrap(band.theta_deg * lane.solved.turns), lane.top_rpm)
    spring = 0.4 + 0.02 * forces.at.lift[0]
    lean = np.cos(np.radians(forces.at.pressure_deg))
    for values, factor, up, down in ((band.low, 0.8, 0.2, 0.39), (band.high, 1.2, 0.39, 0.2)):
        friction = up * (forces.direction > 0) - down * (forces.direction < 0)
        assert values == pytest.approx((factor * spring + friction) / lean)
    line = view.chart.lines[-1].values
    assert np.all(band.low <= line + 1e-12)
    assert np.all(line <= band.high + 1e-12)


def test_an_exact_load_has_no_band() -> None:
    exact = apply_edit(loaded("flap"), "set_load", lane_id="flap", spring_tolerance_percent=0.0).project
    report = report_of(exact)
    assert contact_view(report.project, report.loads.lanes["flap"]).chart.bands == ()


def test_the_reserve_is_drawn_on_falls_and_rests_and_marked_where_it_sticks() -> None:
    report = report_of(sticky())
    lane = report.loads.lanes["flap"]
    view = reserve_view(report.project, lane)
    assert view is not None
    stuck, curve = view.chart.lines
    assert stuck.token == "error"
    assert np.nanmax(stuck.values) <= 1.0
    assert np.nanmin(curve.values) == pytest.approx(0.4 / 0.507, abs=1e-3)
    assert np.array_equal(np.isfinite(stuck.values), np.nan_to_num(curve.values, nan=9.0) <= 1.0)
    assert [rule.value for rule in view.chart.rules] == [1.5, 1.0]
    assert view.remark == "reserve 0.79, 1.50 required"
    assert view.foot[0].startswith("Sticks: ")
    assert "Friction 0.39 N (Damp tea), at rest times 1.3" in view.foot[1]
    # 1.5 x 0.507 N = 0.7605 N; the weakest spring, 0.8 x, still does not stick.
    assert view.foot[2] == "A reserve of 1.5 needs a preload of 0.8 N with this rate."
    assert [name for _, _, name in view.legend][1:] == ["least to most friction and spring", "sticks"]
    assert "sticks" not in [name for _, _, name in torque_view(report.loads).legend]


def test_a_spring_that_holds_easily_has_no_mark_of_sticking() -> None:
    report = report_of(loaded("flap"))
    view = reserve_view(report.project, report.loads.lanes["flap"])
    assert [line.token for line in view.chart.lines] == ["curve"]


def test_stretches_name_the_longest_in_order() -> None:
    arcs = Arcs.of([(10, 5), (50, 20), (100, 1), (200, 30)])
    assert stretches(arcs) == "10.0° to 15.0°, 50.0° to 70.0°, 200.0° to 230.0° and 1 more"


# The chart


def test_words_stand_inside_and_hide_neither_each_other_nor_a_level_line() -> None:
    theta = np.arange(0.0, 361.0)
    wave = ChartLine(theta, np.sin(np.radians(theta)))
    marks = (Mark(90.0, 1.0, "peak 1.00 at 90.0°"), Mark(355.0, -0.09, "springs drive, here at the end"))
    chart = Chart("N", (wave,), (Rule(1.2, "allowed 1.20, as the sum says"),), marks)
    scale = Scale(ChartBox(40, 6, 380, 150), *value_range(chart))
    boxes = placed(chart, scale, lambda text: 6.0 * len(text), 14.0, 8.0)
    level = ChartBox(40, scale.y(1.2) - 1, 380, 2)
    for i, box in enumerate(boxes):
        assert box.x >= 40
        assert box.x + box.width <= 420
        assert 6 <= box.y <= 156 - 14
        assert box.shared(level) == 0
        assert all(box.shared(other) == 0 for other in boxes[:i])


@pytest.mark.parametrize(
    ("low", "high", "most", "wanted"),
    [
        (0.0, 1.3, 4, (0.0, 0.5, 1.0)),
        (-0.25, 0.7, 6, (-0.2, 0.0, 0.2, 0.4, 0.6)),
        (0.0, 9.0, 3, (0.0, 5.0)),
        (0.0, 0.0, 4, (0.0,)),
    ],
)
def test_ticks_are_round(low: float, high: float, most: int, wanted: tuple[float, ...]) -> None:
    assert round_ticks(low, high, most) == pytest.approx(wanted)


# The view


def test_the_view_follows_edits_and_says_what_it_shows(window: MainWindow) -> None:
    load = window.docks.view(LoadsView)
    assert load.shown is not None
    assert load.remark.text().endswith("% used")
    assert load.accessibleDescription().startswith("Peak torque ")
    before = load.remark.text()
    stronger = apply_edit(window.document.committed, "set_load", lane_id="flap", external_n=40.0)
    window.document.perform(stronger)
    assert load.remark.text() != before
    assert "J a turn" in load.foot.text()


def test_a_click_in_the_chart_turns_the_shaft(window: MainWindow) -> None:
    canvas = window.docks.view(LoadsView).canvas
    x = round(canvas.scale_now().x(90.0))
    QTest.mouseClick(canvas, Qt.MouseButton.LeftButton, pos=QPoint(x, 40))
    assert window.document.cursor_deg == pytest.approx(90.0, abs=0.5)
    assert canvas.cursor_deg == window.document.cursor_deg
    window.document.set_cursor(200.0)
    assert canvas.cursor_deg == 200.0


def test_contact_force_is_chosen_and_follows_the_selected_lane(window: MainWindow) -> None:
    load, document = window.docks.view(LoadsView), window.document
    document.select_lane("flap")
    _, contact, _ = load.chooser.menu().actions()
    contact.trigger()
    assert load.subject == "contact"
    assert load.chooser.text() == "Contact force, N"
    assert load.legend.accessibleName() == "Flap at 6.0 rev/min, least to most friction and spring"
    document.select_lane("left")
    assert load.shown is None
    assert load.empty.text().startswith("Left has no load yet")


def test_the_reserve_is_chosen_with_the_keys(qtbot: QtBot, make_window: WindowMaker) -> None:
    window = make_window(sticky())
    window.docks.show("load")
    load = window.docks.view(LoadsView)
    qtbot.waitUntil(lambda: load.shown is not None)
    window.document.select_lane("flap")
    menu = load.chooser.menu()
    menu.popup(load.chooser.mapToGlobal(QPoint(0, load.chooser.height())))
    qtbot.waitUntil(menu.isVisible)
    qtbot.keyClick(menu, Qt.Key.Key_Up)
    qtbot.keyClick(menu, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: load.subject == "reserve")
    assert load.chooser.text() == "Spring reserve"
    assert load.accessibleDescription().startswith("Spring reserve of Flap; least 0.79 at ")
    window.document.select_lane("left")
    assert load.empty.text().startswith("Left has no load yet")


def test_the_place_that_sticks_is_drawn_in_the_colour_of_errors(
    make_window: WindowMaker, qtbot: QtBot
) -> None:
    window = make_window(sticky())
    window.docks.show("load")
    load = window.docks.view(LoadsView)
    qtbot.waitUntil(lambda: load.shown is not None)
    window.document.select_lane("flap")
    load.show_subject("reserve")
    (arc, *_) = report_of(sticky()).loads.lanes["flap"].sticks
    at = wrap(arc.start + arc.length / 2)
    image, scale = load.canvas.grab().toImage(), load.canvas.scale_now()
    column = {image.pixelColor(round(scale.x(at)), y).name() for y in range(image.height())}
    assert window.theme.color("error").name() in column


def test_a_groove_needs_no_spring(make_window: WindowMaker, qtbot: QtBot) -> None:
    held = apply_edit(loaded("flap"), "set_follower", lane_id="flap", closure="groove").project
    window = make_window(held)
    window.docks.show("load")
    load = window.docks.view(LoadsView)
    qtbot.waitUntil(lambda: load.shown is not None)
    window.document.select_lane("flap")
    load.show_subject("reserve")
    assert load.empty.text() == "Flap needs no spring: a groove holds it, or it never falls."


def test_without_loads_it_says_where_to_give_one(qtbot: QtBot, make_window: WindowMaker) -> None:
    window = make_window(loaded())
    window.docks.show("load")
    assert window.docks.view(LoadsView).shown is None
    assert window.docks.view(LoadsView).empty.text().startswith("No lane has a load yet")
    qtbot.waitUntil(window.docks.view(LoadsView).empty.isVisible)


def test_copy_gives_every_share(window: MainWindow) -> None:
    window.docks.view(LoadsView).copy()
    head, *rows = QGuiApplication.clipboard().text().splitlines()
    assert head.split("\t") == ["theta_deg", "sum_nm", "right_nm", "flap_nm"]
    table = np.array([[float(cell) for cell in row.split("\t")] for row in rows])
    assert np.allclose(table[:, 1], table[:, 2] + table[:, 3], atol=1e-8)


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_the_chart_is_drawn_in_the_colours_of_the_theme(window: MainWindow, choice: Choice) -> None:
    window.theme.set_choice(choice)
    window.document.set_cursor(180.0)
    image = window.docks.view(LoadsView).canvas.grab().toImage()
    scale = window.docks.view(LoadsView).canvas.scale_now()
    x = int(scale.x(180.0))
    column = {image.pixelColor(x, y).name() for y in range(10, int(scale.plot.height))}
    assert window.theme.color("accent").name() in column
    level = round(scale.y(1.8))
    near = {image.pixelColor(i, y).name() for y in (level - 1, level, level + 1) for i in range(60, 300)}
    assert window.theme.color("text").name() in near


def test_what_is_behind_a_tab_costs_nothing_until_it_is_seen(qtbot: QtBot, make_window: WindowMaker) -> None:
    """The plots of the Motion view take long to load; the Load view stands before it."""
    window = make_window(loaded("flap"))
    qtbot.waitUntil(lambda: window.docks.view(LoadsView).shown is not None)
    assert not window.docks.view(MotionView).shown
    window.docks.show("motion")
    qtbot.waitUntil(lambda: bool(window.docks.view(MotionView).shown))
    before = window.docks.view(LoadsView).remark.text()
    window.document.perform(
        apply_edit(window.document.committed, "set_load", lane_id="flap", external_n=40.0)
    )
    assert window.docks.view(LoadsView).remark.text() == before
    window.docks.show("load")
    qtbot.waitUntil(lambda: window.docks.view(LoadsView).remark.text() != before)


def test_a_narrow_dock_has_the_legend_in_rows_of_its_own(qtbot: QtBot, window: MainWindow) -> None:
    load, legend = window.docks.view(LoadsView), window.docks.view(LoadsView).legend
    dock = window.docks["load"]
    dock.setFloating(True)
    dock.resize(1400, 500)
    qtbot.waitUntil(lambda: load._head.indexOf(legend) == 0)
    qtbot.waitUntil(lambda: legend.y() < load._head.geometry().bottom())
    dock.resize(360, 500)
    qtbot.waitUntil(lambda: load._head.indexOf(legend) < 0)
    qtbot.waitUntil(lambda: legend.y() >= load._head.geometry().bottom())
    qtbot.waitUntil(lambda: legend.width() == load.width())
    assert legend.heightForWidth(60) == len(legend.entries) * legend.heightForWidth(10_000)
    qtbot.waitUntil(lambda: legend.height() == legend.heightForWidth(legend.width()))
    dock.resize(1400, 500)
    qtbot.waitUntil(lambda: load._head.indexOf(legend) == 0)
