"""The Stack view: bodies against the profiles' own figures, and what the window shows of them."""

from __future__ import annotations

import threading
from collections import Counter
from typing import Any

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QGuiApplication, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QStyle, QStyleOptionSlider
from pytestqt.qtbot import QtBot

from shaftscore.edits import BlockRef, place_block
from shaftscore.judge.bodies import Nearest
from shaftscore.judge.report import QUICK, Report, examine
from shaftscore.model import Disc, Lane, Stack, TranslatingRoller
from shaftscore.model.loader import read_project
from shaftscore.solution import Solution, solve
from shaftscore.stack.followers import follower_heights, follower_outlines
from shaftscore_app.frame.main_window import MainWindow
from shaftscore_app.runtime.jobs import THREAD_NAME
from shaftscore_app.theme import Choice, Theme
from shaftscore_app.views import stack as stack_view
from shaftscore_app.views.stack import MOST_GAP_MM, SLIM, WIDE, StackView, mixed, room_text, why_no_gl
from shaftscore_app.views.stack_scene import Body, StackScene, least_heights, prism, scene_of, turn_arrow
from shaftscore_app.views.stack_section import rollers_of, slabs_of
from tests.app.conftest import WindowMaker
from tests.app.machines import as_bytes, clean_gates, gates_file
from tests.machines import gate, machine


def solved(**changes: Any) -> Solution:
    return examine(read_project(as_bytes(gates_file(**changes)), "x"), stage=QUICK).solution


def scene(solution: Solution, place: int = 0) -> StackScene:
    return scene_of(solution.project, solution, solution.project.stacks[place])


def volume(body: Body) -> float:
    """Return the volume inside a closed surface by the divergence theorem."""
    a, b, c = (body.triangles[:, corner] for corner in range(3))
    return float(np.sum(a * np.cross(b, c)) / 6)


def test_a_prism_is_closed_and_has_its_volume() -> None:
    """An L of 3 square units, 2 high; every edge of a closed surface is run once each way."""
    corner = np.array([0, 2, 2 + 1j, 1 + 1j, 1 + 2j, 2j])
    body = prism(corner, 1.0, 3.0, kind="disc", lane_id=None, layer=0)
    assert volume(body) == pytest.approx(6.0)
    runs = [(tuple(t[i]), tuple(t[(i + 1) % 3])) for t in body.triangles.tolist() for i in range(3)]
    assert len(set(runs)) == len(runs)
    assert {(end, start) for start, end in runs} == set(runs)


def test_discs_are_their_profiles() -> None:
    """Volume of each disc: area inside the profile, summed over 20000 angles, less the bore, times 5 mm."""
    solution = solved()
    discs = {body.lane_id: body for body in scene(solution).turning if body.kind == "disc"}
    assert set(discs) == {"left", "right", "flap"} & {
        lane for lane, one in solution.lanes.items() if one.profile
    }
    for lane_id, body in discs.items():
        profile = solution.lanes[lane_id].profile
        assert profile is not None
        points = profile.at(np.linspace(0.0, 360.0, 20_000, endpoint=False)).profile
        area = abs(np.sum((points.conjugate() * np.roll(points, -1)).imag) / 2)
        stack = solution.project.stacks[0]
        bore = np.pi * (stack.bore.across_mm / 2 + stack.fit_clearance_mm) ** 2
        assert volume(body) == pytest.approx(5.0 * (area - bore), rel=2e-3)


def is_closed(body: Body) -> bool:
    """Whether every edge is run once each way."""
    corners = np.round(body.triangles, 6).tolist()
    runs = Counter((tuple(t[i]), tuple(t[(i + 1) % 3])) for t in corners for i in range(3))
    return all(runs[(end, start)] == count for (start, end), count in runs.items())


def discs_of(shown: StackScene) -> dict[str | None, Body]:
    return {body.lane_id: body for body in shown.turning if body.kind == "disc"}


def test_parts_have_bore_dogs_and_pockets() -> None:
    """Of pegs and pockets by the areas of slot and circle: 3 wide, 2 high, pockets 0.2 more each way."""
    dogs = {"count": 4, "radius_mm": 12.0, "width_mm": 3.0, "height_mm": 2.0}
    plain = scene(solved(stacks=[{"id": "main", "fit_clearance_mm": 0.2}]))
    shown = scene(solved(stacks=[{"id": "main", "fit_clearance_mm": 0.2, "dogs": dogs}]))

    def area(grow: float) -> float:
        """Return the area of three round dogs and a long one, which is a slot 3 mm longer than wide."""
        radius = 1.5 + grow
        return float(4 * np.pi * radius**2 + 3.0 * 2 * radius)

    more = 2.0 * area(0.0) - 2.2 * area(0.2)
    assert len(discs_of(shown)) == 3
    for lane_id, body in discs_of(shown).items():
        assert is_closed(body)
        assert volume(body) - volume(discs_of(plain)[lane_id]) == pytest.approx(more, abs=2.0)
        low, high = body.triangles[..., 2].min(), body.triangles[..., 2].max()
        assert high - low == pytest.approx(5.0 + 2.0)
    assert all(is_closed(body) for body in shown.turning)


def test_a_groove_is_cut_into_its_disc() -> None:
    """The disc less its groove: what lies between the flanks, as deep as the groove."""
    groove = {"kind": "translating-roller", "roller_radius_mm": 5.0, "closure": "groove"}
    file = gates_file()
    file["lanes"][0]["follower"] = groove
    file["lanes"][0]["disc"] = {"base_radius_mm": 40.0, "thickness_mm": 8.0, "groove_depth_mm": 3.0}
    solution = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution
    shown = scene(solution)
    body, rim = discs_of(shown)["left"], shown.rims["left"]
    profile = solution.lanes["left"].profile
    assert profile is not None
    at = np.linspace(0.0, 360.0, 20_000, endpoint=False)
    flanks = [profile.at(at).offset(profile.distance_mm(flank)) for flank in profile.flanks]
    stack = solution.project.stacks[0]
    bore = np.pi * (stack.bore.across_mm / 2 + stack.fit_clearance_mm) ** 2
    inner, outer, whole = (polygon_area(ring) for ring in (*flanks, rim))
    assert is_closed(body)
    assert volume(body) == pytest.approx(8.0 * (whole - bore) - 3.0 * (outer - inner), rel=2e-3)


def polygon_area(points: np.ndarray[Any, np.dtype[np.complex128]]) -> float:
    return float(abs(np.sum((points.conjugate() * np.roll(points, -1)).imag) / 2))


def test_what_has_no_room_is_left_out_of_the_picture() -> None:
    """Dogs beyond the least radius of the discs, and a bore larger than they are."""
    far = {"count": 4, "radius_mm": 70.0, "width_mm": 3.0, "height_mm": 2.0}
    for stack in ({"dogs": far}, {"bore": {"across_mm": 130.0}}):
        file = gates_file(stacks=[{"id": "main", **stack}])
        for lane in file["lanes"]:
            lane["disc"] = {"base_radius_mm": 40.0}
        shown = scene(examine(read_project(as_bytes(file), "x"), stage=QUICK).solution)
        assert discs_of(shown)
        for body in discs_of(shown).values():
            assert is_closed(body)
            assert np.ptp(body.triangles[..., 2]) == pytest.approx(5.0)
            radii = np.hypot(body.triangles[..., 0], body.triangles[..., 1])
            assert ("dogs" in stack) == bool(radii.min() < 8.0)  # the bore is drawn where it fits


@pytest.mark.parametrize("turn", ["clockwise", "counterclockwise"])
@pytest.mark.parametrize("turns", [1, 3])
def test_rollers_touch_the_turned_discs(turn: str, turns: int) -> None:
    """At any angle no roller is in its disc and none is off it, by more than the chord error."""
    file = gates_file(shaft={"turn": turn, "speed_rpm": 6.0}, stacks=[{"id": "main", "turns": turns}])
    for place, lane in enumerate(file["lanes"]):
        lane["station_deg"] = 40.0 * place
    solution = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution
    shown = scene(solution)
    for cursor in (0.0, 77.0, 143.0, 290.0):
        turned = np.exp(1j * np.radians(shown.turn_deg(cursor)))
        rollers = {body.lane_id: body for body in shown.followers(cursor) if body.kind == "roller"}
        for body in shown.turning:
            if body.kind != "disc":
                continue
            rim = shown.rims[body.lane_id]
            ring = rollers[body.lane_id].lines[:, 0]
            centre = np.mean(ring[:, 0]) + 1j * np.mean(ring[:, 1])
            assert distance(rim * turned, centre) == pytest.approx(5.0, abs=0.12)


def distance(rim: np.ndarray[Any, np.dtype[np.complex128]], point: complex) -> float:
    """Return the distance of a point from a closed polygon's edges."""
    start, along = rim, np.roll(rim, -1) - rim
    share = np.clip(((point - start) * along.conjugate()).real / np.maximum(np.abs(along) ** 2, 1e-12), 0, 1)
    return float(np.min(np.abs(start + share * along - point)))


@pytest.mark.parametrize(("turn", "sign"), [("clockwise", -1), ("counterclockwise", 1)])
def test_it_turns_as_the_stack_does(turn: str, sign: int) -> None:
    shown = scene(solved(shaft={"turn": turn, "speed_rpm": 6.0}, stacks=[{"id": "main", "turns": 3}]))
    assert shown.turn_deg(30.0) == pytest.approx((sign * 30.0 + 360.0) if sign < 0 else 30.0)
    arrow = turn_arrow(10.0, 5.0, shown.direction)
    first, second = arrow[0]
    assert np.sign(np.cross(first, second)[2]) == sign


def test_exploded_layers_stand_apart_and_the_shaft_grows() -> None:
    shown = scene(solved())
    gap = 7.0
    for body in shown.turning:
        lifted = body.lifted(gap)
        if body.kind == "shaft":
            assert lifted.triangles[..., 2].min() == body.triangles[..., 2].min()
            assert lifted.triangles[..., 2].max() == body.triangles[..., 2].max() + 4 * gap
        else:
            assert np.allclose(lifted.triangles - body.triangles, [0.0, 0.0, body.layer * gap])
    assert shown.height_mm(gap) == shown.plan.height_mm + 4 * gap


def test_least_distances_in_height() -> None:
    """Discs 5 thick, spacers 6, followers 8 high: 11 apart, so 3 between followers; 11 - 2.5 - 4 to discs."""
    shown = scene(solved(stacks=[{"id": "main", "follower_height_mm": 8.0}]))
    least = least_heights(shown.project, shown.plan, shown.stack)
    assert (least.followers_mm, least.disc_mm) == (3.0, 4.5)


def test_a_lane_without_a_disc_is_in_the_list_and_not_in_the_picture() -> None:
    file = gates_file()
    file["lanes"][1]["blocks"] = []
    solution = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution
    shown = scene(solution)
    assert [row.lane_id for row in shown.rows] == ["flap", "right", "left"]
    assert {body.lane_id for body in shown.turning if body.kind == "disc"} == {"left", "flap"}


def swinging() -> Solution:
    arm = {"kind": "swinging-roller", "roller_radius_mm": 5.0, "arm_mm": 60.0, "pivot_distance_mm": 80.0}
    file = gates_file()
    file["lanes"][0]["follower"] = {**arm, "pivot_side": "clockwise"}
    file["lanes"][0]["disc"] = {"base_radius_mm": 40.0}
    return examine(read_project(as_bytes(file), "x"), stage=QUICK).solution


@pytest.mark.parametrize("cursor", [0.0, 77.0, 200.0, 331.0])
def test_followers_are_moved_to_where_they_would_be_made(cursor: float) -> None:
    """Rigid bodies posed again, against bodies that are made for that very angle."""
    solution = swinging()
    shown = scene(solution)
    posed = {(body.lane_id, body.kind): body for body in shown.followers(cursor)}
    assert ("left", "rod") in posed
    for lane in shown.riders:
        layer = shown.plan.disc(lane.lane.id)
        heights = follower_heights(shown.project, shown.stack, lane.lane, layer)
        for kind, outline, low, high in follower_outlines(lane, cursor, heights):
            made = prism(outline, low, high, kind=kind, lane_id=lane.lane.id, layer=0)
            body = posed[(lane.lane.id, kind)]
            assert volume(body) == pytest.approx(volume(made), rel=1e-6)
            corners = [np.unique(np.round(b.triangles.reshape(-1, 3), 6), axis=0) for b in (body, made)]
            if kind != "roller":  # a round one may be turned
                np.testing.assert_allclose(corners[0], corners[1], atol=1e-5)
            np.testing.assert_allclose(corners[0].mean(axis=0), corners[1].mean(axis=0), atol=1e-5)


def test_outlines_are_made_once() -> None:
    solution = solved()
    first = scene(solution)
    again = scene_of(solution.project, solution, solution.project.stacks[0], first)
    assert first.outlines
    assert all(again.outlines[profile] is outline for profile, outline in first.outlines.items())


def test_the_section_has_heights_and_radii() -> None:
    """Left's output goes from 0 to 10 mm, so its rim's radii are 10 mm apart."""
    slabs = {slab.lane_id: slab for slab in slabs_of(scene(solved())) if slab.lane_id}
    assert (slabs["left"].bottom_mm, slabs["left"].top_mm) == (0.0, 5.0)
    assert (slabs["right"].bottom_mm, slabs["right"].top_mm) == (11.0, 16.0)
    assert slabs["left"].largest_mm - slabs["left"].least_mm == pytest.approx(10.0, abs=0.06)


# The view


def show_stack(qtbot: QtBot, window: MainWindow) -> None:
    window.docks.show("stack")
    view = window.docks.view(StackView)
    qtbot.waitUntil(lambda: view.scene is not None and bool(view.picture or view._reason.text()))


def test_head_and_list(qtbot: QtBot, window: MainWindow) -> None:
    show_stack(qtbot, window)
    view, document = window.docks.view(StackView), window.document
    assert view._title.text() == "main, 3 discs"
    assert view._remark.toolTip() == "turns clockwise seen from the top"
    assert view._remark.text() == view._way[view.width() >= view._theme.px(WIDE)]
    assert view.list.isColumnHidden(3) == (view.width() < view._theme.px(WIDE))
    assert view.list.texts() == [
        ("A3", "Flap", "22 to 27", "0°"),
        ("A2", "Right", "11 to 16", "0°"),
        ("A1", "Left", "0 to 5", "0°"),
    ]
    document.set_cursor(123.0)
    assert view._angle.text() == "123.0°"
    view.list.selectRow(1)
    assert document.selection.lane_id == "right"
    document.select_lane("left")
    qtbot.waitUntil(lambda: {index.row() for index in view.list.selectedIndexes()} == {2})
    document.select_lane(None)
    qtbot.waitUntil(lambda: not view.list.selectedIndexes())


def test_the_list_ends_with_the_bottom_and_gives_way_to_the_picture(qtbot: QtBot, window: MainWindow) -> None:
    show_stack(qtbot, window)
    view = window.docks.view(StackView)
    bottom = view.list.item(view.list.rowCount() - 1, 1)
    assert bottom.text() == "Bottom"
    assert bottom.flags() == Qt.ItemFlag.NoItemFlags
    assert view.list.isColumnHidden(2) == (view.width() < view._theme.px(SLIM))
    assert "z 22 to 27 mm, station 0°" in view.list.item(0, 1).toolTip()


def test_the_least_clearance_is_told_once_it_is_known(qtbot: QtBot, make_window: WindowMaker) -> None:
    file = gates_file(stacks=[{"id": "main", "spacer_mm": 0.0}])
    for place, lane in enumerate(file["lanes"]):
        lane["station_deg"] = 120.0 * place
    window = make_window(read_project(as_bytes(file), "x"))
    show_stack(qtbot, window)
    view = window.docks.view(StackView)
    nearest = window.document.report.nearest("main")
    qtbot.waitUntil(lambda: view._nearest is not None)
    wanted = None if nearest is None else nearest.clearance.least_mm
    assert view.least_mm == pytest.approx(wanted)
    assert ("Least clearance" in view._room.text()) == (wanted is not None)


def test_the_nearest_parts_are_never_looked_for_on_the_thread_of_the_window(
    qtbot: QtBot, make_window: WindowMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It takes tenths of a second: opening, editing and choosing a stack leave it to a worker."""
    threads: list[str] = []
    look = Report.nearest

    def watched(report: Report, stack_id: str) -> Nearest | None:
        threads.append(threading.current_thread().name)
        return look(report, stack_id)

    monkeypatch.setattr(Report, "nearest", watched)
    window = make_window(clean_gates())
    show_stack(qtbot, window)
    qtbot.waitUntil(lambda: len(threads) == 1)
    window.docks.view(StackView).refresh()
    window.document.perform(place_block(window.document.committed, BlockRef("right", 0), 230.0))
    qtbot.waitUntil(lambda: len(threads) == 2)
    window.docks.view(StackView).choose("main")
    assert all(name.startswith(THREAD_NAME) for name in threads)


def test_nothing_is_loaded_before_the_view_is_seen(window: MainWindow) -> None:
    assert window.docks.view(StackView).picture is None
    assert window.docks.view(StackView).scene is None


def test_several_stacks_have_a_chooser(qtbot: QtBot, make_window: WindowMaker) -> None:
    file = gates_file(stacks=[{"id": "main"}, {"id": "fast", "name": "Fast shaft", "turns": 3}])
    file["lanes"][2]["stack"] = "fast"
    window = make_window(read_project(as_bytes(file), "x"))
    show_stack(qtbot, window)
    view = window.docks.view(StackView)
    assert view.chooser.isVisible()
    assert view.chooser.text() == "main, 2 discs"
    window.document.select_lane("flap")  # the view goes to the stack of what is selected
    qtbot.waitUntil(lambda: view.chooser.text() == "Fast shaft, 1 disc")
    assert view._remark.text().endswith(", 3 turns a cycle")
    view.choose("main")
    assert view.chooser.text() == "main, 2 discs"


def test_without_gl_a_section_is_drawn(
    qtbot: QtBot, make_window: WindowMaker, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stack_view, "why_no_gl", lambda: "no OpenGL context can be made")
    window = make_window(clean_gates())
    show_stack(qtbot, window)
    view = window.docks.view(StackView)
    assert view.picture is None
    assert view._reason.text() == "No 3D picture: no OpenGL context can be made. A section is drawn instead."
    assert view.section.isVisible()
    assert not view.explode.isEnabled()
    assert "material" in seen_in(view, window.theme)
    window.document.select_lane("left")
    qtbot.waitUntil(lambda: "accent-soft" in seen_in(view, window.theme))


def seen_in(view: StackView, theme: Theme) -> set[str]:
    """Return which tokens' colours the section shows."""
    image = view.section.grab().toImage()
    seen = {image.pixelColor(x, y).name() for x in range(0, image.width(), 3) for y in range(image.height())}
    return {token for token in ("material", "accent-soft") if theme.color(token).name() in seen}


def test_a_rollers_end_stands_above_the_floor_of_its_groove() -> None:
    file = gates_file()
    file["lanes"][0]["follower"]["closure"] = "groove"
    file["lanes"][0]["disc"] = {"thickness_mm": 8.0, "groove_depth_mm": 3.0}
    solution = examine(read_project(as_bytes(file), "x"), stage=QUICK).solution
    shown = scene_of(solution.project, solution, solution.project.stacks[0])
    floor = shown.plan.disc("left").top_mm - 3.0
    roller, bar = (
        next(body for body in shown.followers(0.0) if (body.lane_id, body.kind) == ("left", kind))
        for kind in ("roller", "bar")
    )
    assert roller.triangles[..., 2].min() == pytest.approx(floor + 0.3)
    assert bar.triangles[..., 2].min() >= shown.plan.disc("left").top_mm


def test_the_offscreen_platform_has_no_gl(qapp: object, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(QGuiApplication, "platformName", lambda: "offscreen")
    assert why_no_gl() == "this display cannot show OpenGL"


# The picture


@pytest.fixture
def picture(qtbot: QtBot, make_window: WindowMaker) -> MainWindow:
    reason = why_no_gl()
    if reason:
        pytest.skip(f"3D needs a display with OpenGL: {reason}")
    window = make_window(clean_gates())
    show_stack(qtbot, window)
    assert window.docks.view(StackView).picture is not None
    return window


SIZE = QSize(300, 300)


def near(image: QImage, wanted: Any, by: int = 12) -> int:
    """Count the pixels of about a colour."""
    data = np.frombuffer(image.convertToFormat(QImage.Format.Format_RGB32).constBits(), np.uint8)
    rgb = data.reshape(image.height(), image.width(), 4)[..., 2::-1].astype(int)
    return int(np.sum(np.all(np.abs(rgb - [wanted.red(), wanted.green(), wanted.blue()]) <= by, axis=-1)))


@pytest.mark.parametrize("theme_name", ["light", "dark"])
def test_the_picture_shows_discs_and_the_selected_one(
    qtbot: QtBot, picture: MainWindow, theme_name: Choice
) -> None:
    picture.theme.set_choice(theme_name)
    view, theme = picture.docks.view(StackView), picture.theme
    held = mixed(theme.color("accent"), theme.color("material"), 0.4)
    qtbot.waitUntil(lambda: near(view.picture.image(SIZE), theme.color("panel"), 2) > 1000)
    plain = view.picture.image(SIZE)
    assert near(plain, theme.color("material"), 2) > 1000
    assert near(plain, held) < 100  # the arrow's edge passes through it
    picture.document.select_lane("right")  # the upper one
    qtbot.waitUntil(lambda: near(view.picture.image(SIZE), held) > 1000)


def test_what_meets_another_part_is_red(picture: MainWindow, monkeypatch: pytest.MonkeyPatch) -> None:
    view, theme = picture.docks.view(StackView), picture.theme
    red = mixed(theme.color("error"), theme.color("material"), 0.45)
    assert near(view.picture.image(SIZE), red) < 100
    monkeypatch.setattr(type(view), "troubled", frozenset({"right"}))
    view.refresh()
    assert near(view.picture.image(SIZE), red) > 1000


def test_the_picture_turns_with_the_cursor(picture: MainWindow) -> None:
    show = picture.docks.view(StackView).picture
    picture.document.set_cursor(0.0)
    first = show.image(SIZE)
    assert show.image(SIZE) == first
    picture.document.set_cursor(100.0)
    assert show.image(SIZE) != first
    picture.document.set_cursor(0.0)
    assert show.image(SIZE) == first


def test_drag_and_arrow_keys_look_round(picture: MainWindow) -> None:
    show = picture.docks.view(StackView).picture
    azimuth, elevation = show.looks_from
    QTest.keyClick(show, Qt.Key.Key_Right)
    assert show.looks_from == (azimuth + 5.0, elevation)
    QTest.keyClick(show, Qt.Key.Key_Down)
    assert show.looks_from == (azimuth + 5.0, elevation - 5.0)
    QTest.mousePress(show, Qt.MouseButton.LeftButton, pos=QPoint(50, 50))
    QTest.mouseMove(show, QPoint(70, 60))
    QTest.mouseRelease(show, Qt.MouseButton.LeftButton, pos=QPoint(70, 60))
    QTest.mouseDClick(show, Qt.MouseButton.LeftButton)
    assert show.looks_from == (azimuth, elevation)


def test_rows_stand_beside_their_discs_where_there_is_room(qtbot: QtBot, picture: MainWindow) -> None:
    view, dock = picture.docks.view(StackView), picture.docks["stack"]
    dock.setFloating(True)
    dock.resize(1000, 700)
    qtbot.waitUntil(lambda: view.picture.height() > 500)
    scene, listed = view.scene, view.list
    assert scene is not None

    def offsets() -> list[float]:
        found = []
        for row, layer in enumerate(reversed(scene.plan.discs)):
            box = listed.visualItemRect(listed.item(row, 1))
            middle = listed.viewport().mapTo(view, box.center()).y()
            place = scene.plan.layers.index(layer)
            seen = view.picture.seen_at(layer.middle_mm + view.gap_mm * place)
            found.append(middle - (view.picture.mapTo(view, QPoint(0, 0)).y() + seen))
        return found

    qtbot.waitUntil(lambda: max(map(abs, offsets())) <= 3)
    view.explode.setValue(view.explode.maximum())
    qtbot.waitUntil(lambda: max(map(abs, offsets())) <= 3)
    QTest.keyClick(view.picture, Qt.Key.Key_Up)
    qtbot.waitUntil(lambda: max(map(abs, offsets())) <= 3)


def test_what_the_foot_says() -> None:
    shown = scene(solved(stacks=[{"id": "main", "follower_height_mm": 8.0}]))
    full = "Least clearance <b>1.2 mm</b>, in height <b>3.0 mm</b> follower to follower, "
    assert room_text(shown, 1.2) == f"{full}<b>4.5 mm</b> follower to next disc"
    assert room_text(shown, 1.2, short=True) == "Least clearance <b>1.2 mm</b>"
    assert room_text(shown, short=True) == "Least in height <b>3.0 mm</b>"


def test_the_slider_pulls_the_layers_apart(picture: MainWindow) -> None:
    view = picture.docks.view(StackView)
    before = view.picture.image(SIZE)
    view.explode.setValue(view.explode.maximum())
    assert view.gap_mm == MOST_GAP_MM
    assert view.picture.image(SIZE) != before


def test_a_drag_in_the_diagram_follows(qtbot: QtBot, picture: MainWindow) -> None:
    view, document = picture.docks.view(StackView), picture.document
    before = view.scene
    document.preview(place_block(document.committed, BlockRef("right", 0), 230.0))
    qtbot.waitUntil(lambda: view.scene is not before)
    document.preview(None)


@pytest.mark.parametrize("scale", [1.0, 2.0])
def test_the_slider_grows_with_the_text(qtbot: QtBot, picture: MainWindow, scale: float) -> None:
    theme, slider = picture.theme, picture.docks.view(StackView).explode
    theme.set_scale(scale)
    try:
        qtbot.waitUntil(lambda: slider.height() == theme.px(24))
        assert slider.width() == theme.px(90)
        option = QStyleOptionSlider()
        slider.initStyleOption(option)
        handle = slider.style().subControlRect(
            QStyle.ComplexControl.CC_Slider, option, QStyle.SubControl.SC_SliderHandle, slider
        )
        assert handle.height() == pytest.approx(theme.px(14), abs=1)
    finally:
        theme.set_scale(1.0)


def test_the_section_has_rollers_with_their_tolerance_and_levers() -> None:
    """The second of two discs has two parts below: 2 0.05 + sqrt(2) 0.05 + 0.5 = 0.671 mm."""
    lever = TranslatingRoller(
        kind="translating-roller", roller_radius_mm=5.0, width_mm=4.0, arm_thickness_mm=3.0
    )
    lanes = [gate(name, 100, 130, 60.0, follower=lever, disc=Disc(base_radius_mm=34.0)) for name in "AB"]
    rider = Lane(id="echo", kind="rider", disc_of="b", station_deg=90.0, follower=lever)
    project = machine(*lanes, rider, stacks=(Stack(id="s"),))
    marks = {mark.lane_id: mark for mark in rollers_of(scene_of(project, solve(project), project.stacks[0]))}
    upper = marks["b"]
    assert (upper.roller.bottom_mm, upper.roller.top_mm) == pytest.approx((11.5, 15.5))
    assert upper.tolerance_mm == pytest.approx(0.1 + 0.05 * 2**0.5 + 0.5)
    assert (upper.inner_mm, upper.outer_mm) == pytest.approx((44.0, 54.0), abs=1e-6)
    assert upper.bands is not None
    assert [(band.bottom_mm, band.top_mm) for band in upper.bands.levers] == [pytest.approx((16.5, 19.5))]
    assert [marks[name].side for name in ("a", "b", "echo")] == [1, 1, -1]
    assert all(mark.stays for mark in marks.values())
