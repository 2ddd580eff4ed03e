"""What stands where in the painted picture, pixel by pixel."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from shaftscore.make.drawing.timing.curves import highest
from shaftscore.make.drawing.timing.labels import with_room
from shaftscore.model import Lane, Project
from shaftscore_app.document import Document
from shaftscore_app.theme import Theme
from shaftscore_app.timing.layers.cursor import cursor_places
from shaftscore_app.timing.layers.headers import level_middles
from shaftscore_app.timing.layers.tag import best_place, tag_places
from shaftscore_app.timing.tips import tip_at
from shaftscore_app.timing.widget import TimingDiagram
from tests.app.timing.machines import block, gate, machine, two_gates

pytestmark = pytest.mark.gui


@pytest.fixture(params=["light", "dark"])
def theme(qapp: QApplication, request: pytest.FixtureRequest) -> Iterator[Theme]:
    made = Theme(qapp, request.param)
    yield made
    made.set_choice("system")
    made.leave()


class Picture:
    """A painted diagram, to be asked for its pixels."""

    def __init__(self, qtbot: QtBot, theme: Theme, project: Project, cursor: float = 350.0) -> None:
        document = Document(project)
        document.set_cursor(cursor)
        self.diagram = TimingDiagram(document, theme)
        qtbot.addWidget(self.diagram)
        self.diagram.resize(1218, 400)
        self.theme = theme
        self.image: QImage = self.diagram.grab().toImage()

    def y(self, lane_id: str, mm: float) -> float:
        strip = self.diagram.scene.strip(lane_id)
        assert strip is not None
        return strip.y(mm)

    def pixel(self, deg: float, y: float) -> QColor:
        return self.image.pixelColor(round(self.diagram.frame.axis.x(deg)), round(y))

    def is_token(self, color: QColor, token: str, slack: int = 3) -> bool:
        return _near(color, self.theme.color(token), slack)

    def has(self, token: str, area: QRectF) -> bool:
        """Return whether a token's colour stands anywhere in an area."""
        wanted = self.theme.color(token)
        return any(
            _near(self.image.pixelColor(x, y), wanted, 30)
            for x in range(round(area.left()), round(area.right()))
            for y in range(round(area.top()), round(area.bottom()))
        )


def _near(a: QColor, b: QColor, slack: int) -> bool:
    return max(abs(a.red() - b.red()), abs(a.green() - b.green()), abs(a.blue() - b.blue())) <= slack


@pytest.fixture
def picture(qtbot: QtBot, theme: Theme) -> Picture:
    return Picture(qtbot, theme, two_gates())


@pytest.mark.parametrize(("deg", "mm"), [(20.0, 0.0), (48.0, 5.0), (66.0, 10.0), (84.0, 5.0), (150.0, 0.0)])
def test_the_curve_is_the_true_displacement(picture: Picture, deg: float, mm: float) -> None:
    # The move from 36 to 60 is symmetric about 48 degrees, where it has risen half way.
    y = picture.y("assam", mm)
    assert any(picture.is_token(picture.pixel(deg, y + shift), "curve", 60) for shift in (-1.0, 0.0))


def test_material_lies_below_the_curve_and_the_ground_above(picture: Picture) -> None:
    assert picture.is_token(picture.pixel(50.0, picture.y("assam", 1.0)), "material")
    assert picture.is_token(picture.pixel(45.0, picture.y("assam", 9.0)), "strip")
    assert picture.is_token(picture.pixel(80.0, picture.y("assam", 10.0) + 10.0), "material")


def test_blocks_hang_under_their_level_in_the_colour_of_their_rank(picture: Picture) -> None:
    assert picture.is_token(picture.pixel(61.5, picture.y("assam", 10.0) + 5.0), "l1")
    assert picture.is_token(picture.pixel(170.0, picture.y("assam", 0.0) + 8.0), "l0")
    assert not picture.is_token(picture.pixel(61.5, picture.y("assam", 10.0) - 4.0), "l1")


def test_what_lies_outside_the_turn_is_veiled(picture: Picture) -> None:
    veiled = picture.pixel(-5.0, picture.y("assam", 5.0))
    strip, window = picture.theme.color("strip"), picture.theme.color("window")
    mixed = QColor(
        *(round(a + 0.62 * (b - a)) for a, b in zip(strip.getRgb()[:3], window.getRgb()[:3], strict=True))
    )
    assert _near(veiled, mixed, 2)
    assert picture.is_token(picture.pixel(5.0, picture.y("assam", 5.0)), "strip")


def test_a_seam_stands_at_both_ends_of_the_turn(picture: Picture) -> None:
    for deg in (0.0, 360.0):
        x = picture.diagram.frame.axis.x(deg)
        area = QRectF(x - 2.0, picture.y("assam", 10.0) + 3.0, 4.0, 3.0)
        assert picture.has("edge", area)


def test_a_column_covers_the_lanes_concerned_and_no_other(qtbot: QtBot, theme: Theme) -> None:
    project = machine(gate("Assam", 100.0), gate("Mint", 104.0), gate("Rose", 250.0))
    made = Picture(qtbot, theme, project)
    (finding,) = made.diagram.document.report.findings
    (column,) = made.diagram.scene.columns
    assert column.lanes == ("assam", "mint")
    for lane_id, hatched in (("assam", True), ("mint", True), ("rose", False)):
        area = QRectF(column.left, made.y(lane_id, 0.0) - 8.0, column.right - column.left, 20.0)
        assert made.has("error", area) == hatched
    assert made.has("error", QRectF(column.middle - 6.0, 62.0, 12.0, 12.0))
    assert finding.span is not None
    assert column.left == pytest.approx(made.diagram.frame.axis.x(finding.span.start))


def test_patterns_tell_ranks_apart_without_colour(qtbot: QtBot, theme: Theme) -> None:
    names = [f"l{rank}" for rank in range(7)]
    blocks = tuple(block(name, 10 + 50 * rank, 40 + 50 * rank) for rank, name in enumerate(names))
    lane = Lane(id="x", name="x", levels={name: 5.0 * rank for rank, name in enumerate(names)}, blocks=blocks)
    made = Picture(qtbot, theme, machine(lane))
    marks = []
    for rank in range(7):
        top = round(made.y("x", 5.0 * rank))
        left = round(made.diagram.frame.axis.x(10 + 50 * rank))
        rows = [
            [made.image.pixel(left + dx, top + dy) for dx in range(2, 18)] for dy in range(2, 14)
        ]  # left of the name
        fill = max(
            (pixel for row in rows for pixel in row), key=[pixel for row in rows for pixel in row].count
        )
        marks.append(tuple(tuple(pixel == fill for pixel in row) for row in rows))
    plain = [rank for rank, mark in enumerate(marks) if all(all(row) for row in mark)]
    assert plain == [0, 1]
    assert len(set(marks)) >= 5


def test_strips_of_many_lanes_are_low_and_still_mark_their_levels(qtbot: QtBot, theme: Theme) -> None:
    few = Picture(qtbot, theme, machine(*(gate(f"L{n}", 7.0 * n) for n in range(6)), gap_deg=None))
    many = Picture(qtbot, theme, machine(*(gate(f"L{n}", 7.0 * n) for n in range(41)), gap_deg=None))
    ticks = QRectF(few.diagram.frame.axis.left - 5.0, 100.0, 4.0, 60.0)
    assert few.has("edge", ticks)
    assert many.has("edge", ticks)
    heights = {many.diagram.scene.strip(f"l{n}").height for n in range(6)}
    assert heights == {24.0}


def test_the_cursor_has_a_ring_on_every_curve(qtbot: QtBot, theme: Theme) -> None:
    made = Picture(qtbot, theme, two_gates(), cursor=48.0)
    x, y = made.diagram.frame.axis.x(48.0), made.y("assam", 5.0)
    assert made.is_token(made.image.pixelColor(round(x), round(y)), "strip", 10)
    assert made.has("accent", QRectF(x - 5.0, y - 1.0, 3.0, 2.0))
    output = made.diagram.scene.output("assam")
    assert output is not None
    assert output[0] == pytest.approx(5.0)


def test_at_0_the_cursor_is_shown_once(qtbot: QtBot, theme: Theme) -> None:
    made = Picture(qtbot, theme, two_gates(), cursor=0.0)
    assert cursor_places(made.diagram.scene) == (pytest.approx(made.diagram.frame.axis.x(0.0)),)


@pytest.mark.parametrize(
    ("begin", "end", "mm"), [(62.0, 70.0, 10.0), (110.0, 408.0, 5.0), (-30.0, 30.0, 0.0), (40.0, 80.0, 10.0)]
)
def test_the_highest_of_a_curve_between_two_angles(
    qtbot: QtBot, theme: Theme, begin: float, end: float, mm: float
) -> None:
    curve = Picture(qtbot, theme, two_gates()).diagram.scene.curve("assam")
    assert curve is not None
    # From 110 to 408 the lane is closed up to 396 and has risen half way at 408, by symmetry.
    assert highest(curve, begin, end) == pytest.approx(mm, abs=1e-9)


HELD, STRIP, BOUNDS = QRectF(400, 105, 30, 16), QRectF(0, 100, 1000, 44), QRectF(0, 76, 1000, 400)


def test_the_tag_takes_the_first_place_that_hides_nothing() -> None:
    places = tag_places(HELD, STRIP, (200.0, 25.0), BOUNDS)
    assert [(place.left(), place.top()) for place in places] == [
        (230, 145),
        (400, 145),
        (230, 73),
        (400, 73),
        (442, 100.5),
        (188, 100.5),
    ]
    assert best_place(places, [], BOUNDS) == places[0]
    assert best_place(places, [QRectF(240, 150, 10, 10)], BOUNDS) == places[1]
    low = QRectF(0, 200, 1000, 44)
    above = tag_places(QRectF(400, 205, 30, 16), low, (200.0, 25.0), BOUNDS)
    both = [QRectF(240, 250, 10, 10), QRectF(500, 250, 10, 10)]
    assert best_place(above, both, BOUNDS) == above[2]


def test_the_tag_never_lies_over_what_is_held_while_there_is_another_place() -> None:
    """One lane fills the view: places beside the block are left; blocks held in the next lane count too."""
    only = QRectF(0, 100, 1000, 44)
    places = tag_places(HELD, STRIP, (200.0, 25.0), only)
    assert best_place(places, [], only, [HELD]).left() == 442
    other = QRectF(240, 150, 40, 16)
    many = [QRectF(440, 145, 150, 25), QRectF(230, 75, 400, 22)]
    assert best_place(places, many, BOUNDS) == places[0]
    assert best_place(places, many, BOUNDS, [HELD, other]) == places[4]


@pytest.mark.parametrize(
    ("height", "ys", "middles"),
    [
        (64.0, [44.0, 24.5, 5.0], [44.0, 24.5, 7.5]),
        (40.0, [21.0, 13.0, 5.0], [21.0, 13.0, 7.5]),
        (28.0, [13.0, 3.0], [19.5, 7.5]),  # their lines are too near: lowest and highest go apart
        (24.0, [9.0, 3.0], [9.0, 7.5]),  # no room for two
        (28.0, [13.0], [13.0]),
    ],
)
def test_level_names_are_within_every_strip(height: float, ys: list[float], middles: list[float]) -> None:
    assert level_middles(ys, height, 1.0) == middles


def test_the_tag_stays_within_the_strips() -> None:
    places = tag_places(QRectF(20, 105, 30, 16), STRIP, (200.0, 25.0), BOUNDS)
    assert all(place.left() >= 2.0 and place.right() <= 998.0 for place in places)
    crowded = [QRectF(0, 140, 1000, 40)]
    assert best_place(places, crowded, BOUNDS) in places


def test_tooltips_say_what_a_label_has_no_room_for(picture: Picture) -> None:
    scene, look = picture.diagram.scene, picture.diagram.look
    x = scene.frame.axis.x(66.0)
    assert (
        tip_at(scene, look, x, picture.y("assam", 10.0) + 8.0)
        == "Assam, open 10.0 mm\n60.0° to 72.0°, 12.0° long"
    )
    assert tip_at(scene, look, scene.frame.axis.x(110.0), picture.y("assam", 10.0) + 8.0) == ""
    assert tip_at(scene, look, 40.0, picture.y("assam", 5.0)) == "Assam"


def test_a_sign_says_its_finding(qtbot: QtBot, theme: Theme) -> None:
    made = Picture(qtbot, theme, machine(gate("Assam", 100.0), gate("Mint", 104.0)))
    (sign,) = made.diagram.scene.signs
    text = tip_at(made.diagram.scene, made.diagram.look, sign.x, 68.0)
    assert text.startswith("Overlap, Assam, Mint. Both are open for ")


@pytest.mark.parametrize(
    ("heights", "chosen"),
    [
        ([], set()),
        ([30.0], {0}),
        ([50.0, 30.0], {0, 1}),
        ([50.0, 42.0], {0}),
        ([60.0, 50.0, 34.0, 20.0], {0, 2, 3}),
    ],
)
def test_levels_without_room_are_not_written(heights: list[float], chosen: set[int]) -> None:
    assert with_room(heights, 12.0) == chosen
