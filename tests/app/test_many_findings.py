"""However many findings there are, the window paints few things for them, and lays out no long disc."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import shapely
from PySide6.QtGui import QImage, QPainter, QPainterPath
from pytestqt.qtbot import QtBot

from shaftscore.base.angles import Arcs
from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.findings import Finding, Severity, found
from shaftscore.judge.report import QUICK, examine
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.stretches import bridged
from shaftscore_app.document import Document
from shaftscore_app.runtime.jobs import Jobs
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers import lane as lane_layer
from shaftscore_app.timing.layers.lane import band
from shaftscore_app.timing.layers.overview import marks_of as bar_marks
from shaftscore_app.timing.widget import TimingDiagram
from shaftscore_app.views import disc_canvas, finding_folds
from shaftscore_app.views.disc import DiscView
from shaftscore_app.views.disc_scene import LINE_PX, MOST_APART, as_drawn, marks_of
from shaftscore_app.views.findings import FindingsView
from tests.app.machines import gates

MANY = 2_000


def many(lane: str = "flap") -> tuple[Finding, ...]:
    """Findings of a motion, a few hundredths of a degree each, all around the turn."""
    return tuple(
        found(
            "pressure-angle",
            (lane,),
            severity=(Severity.ERROR, Severity.WARNING)[n % 2],
            span=Arcs.span(n * 360.0 / MANY, 90.0 / MANY),
            value=40.0,
            limit=30.0,
            place=n,
        )
        for n in range(MANY)
    )


@pytest.fixture(scope="module")
def profile() -> Profile:
    made = examine(gates(), stage=QUICK).solution.lanes["flap"].profile
    assert made is not None
    return made


@pytest.fixture
def jobs(qtbot: QtBot) -> Iterator[Jobs]:
    made = Jobs()
    yield made
    made.close()


def test_many_copies_are_seen_where_pieces_are() -> None:
    """Against the walk along the axis, copy by copy: whole, zoomed in, and views that end on a stretch."""
    random = np.random.default_rng(5)
    starts = np.concatenate([random.uniform(-720, 720, 200), [0.0, 90.0, 350.0, 370.0]])
    lengths = np.concatenate([random.choice([0.0, 0.3, 40.0, 360.0], 200), [0.0, 0.0, 20.0, 0.0]])
    for axis in (Axis.whole(100.0, 760.0), Axis(0.0, 900.0, 350.0, 2.5), Axis(5.0, 800.0, 0.0, 80.0)):
        places, begins = axis.seen_copies(starts, lengths)
        expected = [
            (place, piece.begin)
            for place in range(len(starts))
            for piece in axis.pieces(float(starts[place]), float(lengths[place]))
        ]
        assert places.tolist() == [place for place, _ in expected]
        assert begins.tolist() == pytest.approx([begin for _, begin in expected])


def test_a_band_is_what_the_line_of_a_pen_covers() -> None:
    """Against the line widened by shapely: all of its corners, and nothing beyond a pixel about it."""
    xs = np.linspace(10.0, 210.0, 4001)
    ys = 80.0 + 30.0 * np.sin(2.0 * np.pi * xs / 1.7)
    covered = shapely.Polygon(corners(band(xs, ys, 3.0)))
    line = shapely.LineString(np.column_stack([xs, ys]))
    assert covered.is_valid
    assert covered.buffer(1e-6).covers(line)
    assert line.buffer(1.5 + 1.5).covers(covered)


def corners(path: QPainterPath) -> list[tuple[float, float]]:
    return [(path.elementAt(n).x, path.elementAt(n).y) for n in range(path.elementCount())]


def test_areas_of_many_stretches_cover_their_lines_and_no_more(profile: Profile) -> None:
    """Against lines as wide, widened by shapely; between two halves of the turn nothing is filled."""
    px_mm = 0.3
    starts = np.concatenate([np.linspace(10.0, 50.0, MOST_APART), np.linspace(200.0, 240.0, MOST_APART)])
    stretches = [np.asarray(profile.at(np.linspace(start, start + 0.4, 5)).profile) for start in starts]
    drawn = as_drawn(stretches, px_mm)
    assert drawn.filled
    assert len(drawn.curves) == 2
    areas = shapely.union_all([shapely.Polygon(np.column_stack([a.real, a.imag])) for a in drawn.curves])
    lines = [shapely.LineString(np.column_stack([line.real, line.imag])) for line in stretches]
    assert all(areas.buffer(1e-6).covers(line) for line in lines)
    wide = shapely.union_all([line.buffer((LINE_PX / 2 + LINE_PX) * px_mm, quad_segs=2) for line in lines])
    assert areas.difference(wide).area < 0.02 * areas.area


def test_few_stretches_are_drawn_as_they_are(profile: Profile) -> None:
    stretches = [np.asarray(profile.at(np.array([n, n + 0.5])).profile) for n in range(MOST_APART)]
    drawn = as_drawn(stretches, 0.3)
    assert not drawn.filled
    assert list(drawn.curves) == stretches


def test_the_disc_has_few_marks_for_many_findings_and_the_worst_last(profile: Profile) -> None:
    marks = marks_of(profile, many(), 1, 0.3)
    assert [mark.severity for mark in marks] == [Severity.WARNING, Severity.ERROR]
    assert all(mark.stretches.filled and len(mark.stretches.curves) <= 3 for mark in marks)
    for mark in marks:
        steps = np.abs(np.diff(np.array(mark.signs)))
        assert np.all(steps >= 13.0 * 0.3)
    (one,) = marks_of(profile, many()[:1], 1, 0.3)
    assert len(one.signs) == 1
    assert not one.stretches.filled


def test_marks_of_the_bar_that_overlap_are_one_where_there_are_many() -> None:
    bar = Axis.whole(0.0, 760.0)
    placed = [(one, one.span.middle) for one in many() if one.span is not None]
    assert len(bar_marks(placed, bar, 3.0)) == 2
    few = bar_marks(placed[:40], bar, 3.0)
    assert len(few) == 40
    assert [severity.rank for severity, _, _ in few] == [0] * 20 + [1] * 20
    assert all(right - left == pytest.approx(3.0) for _, left, right in few)


def test_the_diagram_paints_few_paths_for_many_findings(
    qtbot: QtBot, document: Document, theme: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    diagram = TimingDiagram(document, theme)
    qtbot.addWidget(diagram)
    diagram.resize(900, 500)
    diagram.show()
    qtbot.waitExposed(diagram).__enter__()
    made: list[object] = []
    real = lane_layer.polygon_of

    def counted(*arguments: Any) -> Any:
        made.append(arguments)
        return real(*arguments)

    monkeypatch.setattr(lane_layer, "polygon_of", counted)
    scene = replace(diagram.scene, report=replace(document.report, findings=many(), causes=()))
    image = QImage(round(scene.frame.width), round(scene.frame.height), QImage.Format.Format_ARGB32)
    image.fill(0)
    with QPainter(image) as painter:
        diagram.canvas.paint(painter, scene)
    assert len(made) < 40
    strip = scene.strip("flap")
    assert strip is not None
    left, right = (round(x) for x in scene.frame.axis.home)
    rows = range(round(strip.top), round(strip.bottom))
    error = theme.color("error").name()
    reached = [
        x for x in range(left + 2, right - 2, 5) if any(image.pixelColor(x, y).name() == error for y in rows)
    ]
    assert len(reached) > 0.9 * len(range(left + 2, right - 2, 5)), "the curve is thick all along"


def test_a_long_disc_is_laid_out_beside_the_window(
    qtbot: QtBot, document: Document, theme: Theme, jobs: Jobs, monkeypatch: pytest.MonkeyPatch
) -> None:
    document.select_lane("flap")
    threads: list[bool] = []
    real = disc_canvas.shape_of

    def shape_of(*arguments: Any) -> Any:
        threads.append(threading.current_thread() is threading.main_thread())
        return real(*arguments)

    monkeypatch.setattr(disc_canvas, "shape_of", shape_of)
    at_once = shown(qtbot, DiscView(document, theme, jobs))
    expected = at_once.canvas.grab().toImage()
    assert threads == [True]
    monkeypatch.setattr(disc_canvas, "MOST_PIECES", 1)
    later = shown(qtbot, DiscView(document, theme, jobs))
    qtbot.waitUntil(lambda: not jobs.is_busy(), timeout=20_000)
    assert threads == [True, False]
    assert later.canvas.grab().toImage() == expected
    before = document.report.solution.lanes["flap"].profile
    index = next(n for n, lane in enumerate(document.project.lanes) if lane.id == "flap")
    block = document.project.lanes[index].blocks[0]
    document.preview(place_block(document.committed, BlockRef("flap", 0), block.start_deg + 3.0))
    assert later.canvas.drawn_profile is before, "the disc before stays until the other is laid out"
    later.refresh()
    qtbot.waitUntil(lambda: not jobs.is_busy() and len(threads) > 3, timeout=20_000)
    assert later.canvas.drawn_profile is document.report.solution.lanes["flap"].profile is not before
    document.preview(None)
    qtbot.waitUntil(lambda: not jobs.is_busy(), timeout=20_000)


def shown(qtbot: QtBot, view: DiscView) -> DiscView:
    qtbot.addWidget(view)
    view.resize(300, 360)
    view.show()
    qtbot.waitExposed(view).__enter__()
    return view


def test_what_is_searched_for_is_put_into_words_once_for_a_report(
    qtbot: QtBot, document: Document, theme: Theme, monkeypatch: pytest.MonkeyPatch
) -> None:
    view = FindingsView(document, theme)
    qtbot.addWidget(view)
    count = len(document.report.findings)
    assert count
    said: list[object] = []
    real = finding_folds.words

    def words(*arguments: Any) -> Any:
        said.append(arguments)
        return real(*arguments)

    monkeypatch.setattr(finding_folds, "words", words)
    view.search.setText("zz")
    assert len(said) == count
    for letters in ("zzz", "zzzz"):
        view.search.setText(letters)
    assert len(said) == count
    assert not view.model.rows


def test_stretches_are_joined_over_gaps_as_narrow_as_the_line() -> None:
    """By hand: gaps of 0.5 and 0.7 degrees under a line of 0.6; single angles stay single angles."""
    spans = [(10.0, 1.0), (11.5, 1.0), (13.2, 0.0), (359.8, 0.0), (0.2, 0.1), (100.1, 0.0)]
    joined = bridged(spans, 0.6).spans
    expected = [(10.0, 2.5), (13.2, 0.0), (100.1, 0.0), (359.8, 0.5)]
    assert [tuple(round(value, 9) for value in span) for span in sorted(joined)] == expected
    for n in range(200):
        assert bridged([(n * 1.7, 0.0)], 0.1 + n / 70).length == pytest.approx(0.0, abs=1e-9)
