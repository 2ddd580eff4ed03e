"""The timing diagram on paper against the project: blocks at their angles, words by their blocks, pages."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from shaftscore.judge.report import Report, examine
from shaftscore.make.drawing.fonts import POINT_MM, width_mm
from shaftscore.make.drawing.scene import Path, Scene, Text
from shaftscore.make.drawing.timing.page import TimingPage, timing_pages
from shaftscore.model import Project
from shaftscore.model.base import replaced
from tests.samples import sample, sample_report

WIDE, HIGH = 184.0, 225.0


@pytest.fixture(scope="module")
def report() -> Report:
    return sample_report("tea_blender")


@pytest.fixture(scope="module")
def page(report: Report) -> TimingPage:
    (one,) = timing_pages(report, WIDE, HIGH)
    return one


def bodies(drawn: Scene) -> Iterator[tuple[str, int, float, float]]:
    """Lane, index of the block, left and right of each body, mm."""
    for path in drawn.paths:
        if path.name.startswith("block "):
            _, lane, index = path.name.split()
            yield lane, int(index), float(path.corners.real.min()), float(path.corners.real.max())


def texts(page: TimingPage) -> list[str]:
    return [text.text for text in page.scene.texts]


def left_of(page: TimingPage) -> float:
    """Where 0 degrees is, mm: the left of the frame about the strips, which is as long as the turn."""
    return next(p.corners.real.min() for p in page.scene.paths if p.name == "turn")


def test_blocks_are_at_their_angles_once_or_in_two_pieces_through_zero(
    page: TimingPage, report: Report
) -> None:
    left = left_of(page)
    scale = (WIDE - left) / 360.0
    found: dict[tuple[str, int], list[tuple[float, float]]] = {}
    for lane, index, start, end in bodies(page.scene):
        found.setdefault((lane, index), []).append(((start - left) / scale, (end - left) / scale))
    for lane in report.project.lanes:
        for index, block in enumerate(lane.blocks):
            pieces = found.pop((lane.id, index))
            start, length = block.start_deg, block.length_deg
            if length == 0:
                ((low, high),) = pieces
                assert (low + high) / 2 == pytest.approx(start, abs=0.05)
            elif start + length <= 360.0:
                assert pieces == [pytest.approx((start, start + length), abs=0.05)]
            else:
                over = start + length - 360.0
                assert sorted(pieces) == [
                    pytest.approx((0, over), abs=0.05),
                    pytest.approx((start, 360), abs=0.05),
                ]
    assert not found


def test_the_curve_is_the_output_of_the_lane(page: TimingPage, report: Report) -> None:
    """Outside value: lift of Cup lift, 18 mm full travel, half of it midway through a symmetric move."""
    left, scale = left_of(page), (WIDE - left_of(page)) / 360.0
    faces = [path for path in page.scene.paths if path.name == "material cup_lift"]
    curve = np.concatenate([face.corners[:-2] for face in faces])
    curve = curve[np.argsort(curve.real)]
    degs, highs = (curve.real - left) / scale, curve.imag
    assert (degs[0], degs[-1]) == pytest.approx((0.0, 360.0), abs=0.01)
    rise = highs.max() - highs.min()
    lane = report.project.lane("cup_lift")
    down, up = lane.blocks
    if down.level == "up":
        down, up = up, down
    middle = (down.start_deg + down.length_deg - 360.0 + up.start_deg) / 2
    assert np.interp(middle, degs, highs) - highs.min() == pytest.approx(rise / 2, abs=0.02 * rise)
    assert (highs[(degs > up.start_deg) & (degs < up.start_deg + up.length_deg)] > highs.max() - 0.01).all()


def test_rulers_levels_lanes_groups_and_steps_are_written(page: TimingPage, report: Report) -> None:
    words = texts(page)
    for lane in report.project.lanes:
        assert {lane.label, lane.code} <= set(words)
        assert any(lane.group == word for word in words)
        assert all(any(word.startswith(level) for word in words) for level in lane.levels)
    assert {"0°", "90°", "360°", "0 s", "10 s", "Degrees", "Steps", "Seconds"} <= set(words)
    said = " ".join(words)
    for number, name in enumerate(report.project.shaft.step_names, start=1):
        assert f"{number} {name}" in said


def test_words_are_on_the_page_and_do_not_lie_on_one_another(page: TimingPage) -> None:
    boxes = []
    for text in page.scene.texts:
        wide, high = width_mm(text.text, text.size_pt, text.bold), 0.72 * text.size_pt * POINT_MM
        left = text.at.real - {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
        boxes.append((left, text.at.imag, left + wide, text.at.imag + high, text.text))
    assert all(x0 >= -0.01 and x1 <= WIDE + 0.01 for x0, _, x1, _, _ in boxes)
    assert all(y0 >= 0 and y1 <= page.high_mm for _, y0, _, y1, _ in boxes)
    for index, (a0, b0, a1, b1, one) in enumerate(boxes):
        for c0, d0, c1, d1, other in boxes[index + 1 :]:
            assert not (a0 < c1 and c0 < a1 and b0 < d1 and d0 < b1), (one, other)


def test_words_beside_a_block_name_its_own_angles(page: TimingPage, report: Report) -> None:
    """The nearest body on the height of such words is the one whose start and end they say."""
    left, scale = left_of(page), (WIDE - left_of(page)) / 360.0
    drawn = [path for path in page.scene.paths if path.name.startswith("block ")]
    checked = 0
    for text in page.scene.texts:
        if "° to " not in text.text or text.text[0].isdigit():
            continue
        start, end = (float(word.strip("°,")) for word in text.text.split() if "°" in word)
        level = [p for p in drawn if p.corners.imag.min() - 1 < text.at.imag < p.corners.imag.max() + 1]
        right = text.at.real + width_mm(text.text, text.size_pt)
        nearest = min(level, key=lambda path: _away(path, text.at.real, right))
        low, high = (nearest.corners.real.min() - left) / scale, (nearest.corners.real.max() - left) / scale
        assert low == pytest.approx(start, abs=0.1) or high == pytest.approx(end, abs=0.1), text.text
        checked += 1
    assert checked >= 8


def _away(path: Path, left: float, right: float) -> float:
    return max(path.corners.real.min() - right, left - path.corners.real.max())


def many(count: int, name: str = "Lane") -> Project:
    project = sample("tea_blender")
    own = project.lanes[0]
    lanes = tuple(
        replaced(own, id=f"l{n}", name=f"{name} {n}", code=None, group=f"G{n // 10}", parts=None)
        for n in range(count)
    )
    return replaced(project, lanes=lanes, rules=(), flow=None)


def test_a_stop_at_the_end_of_the_turn_stays_within_it() -> None:
    project = sample("tea_blender")
    rest, stop, low, last = project.lane("shaker").blocks[-1], *project.lane("shaker").blocks[:3]
    turned = [
        replaced(rest, start_deg=15.9, end_deg=319.9),
        *(replaced(b, start_deg=d, end_deg=d) for b, d in ((stop, 335.9), (low, 347.9), (last, 359.9))),
    ]
    shaker = replaced(project.lane("shaker"), blocks=tuple(turned))
    lanes = tuple(shaker if lane.id == "shaker" else lane for lane in project.lanes)
    (page,) = timing_pages(examine(replaced(project, lanes=lanes, rules=()), stage="quick"), WIDE, HIGH)
    stops = [path.corners.real.max() for path in page.scene.paths if path.name.startswith("block shaker")]
    assert max(stops) == pytest.approx(WIDE, abs=0.01)


@pytest.mark.parametrize(
    ("count", "name"), [(1, "קופסת תה"), (64, "A name that has no end at all and goes on")]
)
def test_any_number_of_lanes_comes_on_pages_each_once(count: int, name: str) -> None:
    pages = timing_pages(examine(many(count, name), stage="quick"), WIDE, HIGH)
    assert len(pages) == (1 if count == 1 else 3)
    assert all(page.high_mm <= HIGH for page in pages)
    seen = [{p.name for p in page.scene.paths if p.name.startswith("material")} for page in pages]
    assert sum(map(len, seen)) == len(set().union(*seen)) == count
    for page in pages:
        for text in page.scene.texts:
            if text.anchor == "start":
                assert text.at.real + width_mm(text.text, text.size_pt, text.bold) <= WIDE + 0.01


def test_findings_are_drawn_where_they_are_only_if_wanted() -> None:
    report = sample_report("tea_blender_first_draft")
    (plain,) = timing_pages(report, 273.0)
    (marked,) = timing_pages(report, 273.0, findings=True)
    assert "Findings" not in texts(plain)
    assert not [path for path in plain.scene.paths if path.name.startswith("column")]
    columns = [path for path in marked.scene.paths if path.name == "column error"]
    left = left_of(marked)
    scale = (273.0 - left) / 360.0
    errors = [f for f in report.findings if f.severity.value == "error" and f.span and not f.span.is_full]
    middles = sorted({round(f.span.middle, 1) for f in errors})
    drawn = sorted({round((p.corners.real.mean() - left) / scale, 1) for p in columns})
    assert len(columns) >= len(errors) >= 1
    # Those of legend and of several lanes lie elsewhere or at the same angle.
    assert all(min(abs(middle - one) for one in drawn) < 1.0 for middle in middles)


def test_the_same_project_gives_the_same_drawing(report: Report, page: TimingPage) -> None:
    (again,) = timing_pages(report, WIDE, HIGH)
    assert [m for m in again.scene.marks if isinstance(m, Text)] == [
        m for m in page.scene.marks if isinstance(m, Text)
    ]
    assert all(
        np.array_equal(a.corners, b.corners) for a, b in zip(again.scene.paths, page.scene.paths, strict=True)
    )
