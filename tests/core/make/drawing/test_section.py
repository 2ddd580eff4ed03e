"""The section of a shaft on paper: heights and radii at its scale, rows, dimensions, cut dogs."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from shaftscore.layout.frame import machine_frame
from shaftscore.make.drawing.dimensions import dimension, round_scale, scale_text
from shaftscore.make.drawing.fonts import width_mm
from shaftscore.make.drawing.scene import Path, scene
from shaftscore.make.drawing.section import SectionDrawing, stack_section
from shaftscore.make.drawing.spreading import spread
from shaftscore.make.drawing.zero_plane import cuts_of
from shaftscore.make.solids.part import MadePart, disc_part, spacer_part
from shaftscore.model import Dogs, MachineFrame, Project, Rod, replaced
from shaftscore.solution import Solution, solve
from tests.samples import sample, sample_report

WIDE, HIGH = 184.0, 200.0


@pytest.fixture(scope="module")
def solution() -> Solution:
    return sample_report("tea_blender").solution


@pytest.fixture(scope="module")
def drawn(solution: Solution) -> SectionDrawing:
    made = stack_section(solution, solution.project.stacks[0], WIDE, HIGH)
    assert made is not None
    return made


def body(drawn: SectionDrawing, name: str) -> Path:
    return next(path for path in drawn.scene.paths if path.name == name)


def test_discs_are_as_high_and_wide_as_they_are_times_the_scale(
    drawn: SectionDrawing, solution: Solution
) -> None:
    """Ten discs of 5 mm and nine spacers of 6 mm: A1 from 0 to 5 mm, B1 from 66 to 71, C2 to 104."""
    axis = body(drawn, "axis").corners.real.mean()
    foot = body(drawn, "assam").corners.imag.min()
    for lane, low, high in (("assam", 0.0, 5.0), ("flap", 66.0, 71.0), ("ready", 99.0, 104.0)):
        corners = body(drawn, lane).corners
        assert (corners.imag.min() - foot) / drawn.scale == pytest.approx(low)
        assert (corners.imag.max() - foot) / drawn.scale == pytest.approx(high)
        profile = solution.lanes[lane].profile
        assert profile is not None
        least = np.hypot(*profile.outline(0.01).T).min()
        assert (corners.real.max() - axis) / drawn.scale == pytest.approx(least, abs=0.1)


def test_scale_is_round_said_and_full_size_has_a_bar(drawn: SectionDrawing, solution: Solution) -> None:
    assert drawn.is_full_size
    assert drawn.scale_text == "1:1"
    bar = [path.corners for path in drawn.scene.paths if path.name == "scale"]
    assert max(abs(line[1] - line[0]) for line in bar) == pytest.approx(50.0)
    small = stack_section(solution, solution.project.stacks[0], WIDE, 110.0)
    assert small is not None
    assert (small.scale, small.scale_text) == (0.5, "1:2")
    assert not [path for path in small.scene.paths if path.name == "scale"]
    assert small.high_mm <= 110.0


def test_rows_and_dimensions_say_the_heights(drawn: SectionDrawing) -> None:
    words = [text.text for text in drawn.scene.texts]
    assert "104.0" in words
    row = words.index("A2")
    assert words[row : row + 3] == ["A2", "Ceylon", "11 to 16"]
    assert words.count("0 to 5") == 1
    stack = next(one for one in drawn.heights if one.what.startswith("Stack, A1 to C2"))
    # 19 parts: common errors add up linearly, own ones by squares (machine.md, heights)
    own = sample("tea_blender").tolerances
    limit = 19 * own.thickness_common_mm + 19**0.5 * own.thickness_mm
    assert (stack.value_mm, stack.tolerance_mm) == (104.0, pytest.approx(limit))


def test_nothing_leaves_the_paper_and_rows_keep_apart(drawn: SectionDrawing) -> None:
    bounds = drawn.scene.bounds
    assert bounds.left >= -0.1
    assert bounds.right <= WIDE + 0.1
    assert bounds.bottom >= 0
    assert bounds.top <= drawn.high_mm
    right = [text for text in drawn.scene.texts if text.anchor == "start"]
    assert all(t.at.real + width_mm(t.text, t.size_pt, t.bold) <= WIDE + 0.1 for t in right)


def test_plates_and_bearings_are_those_of_the_frame() -> None:
    project = sample("tea_blender")
    stack = replaced(project.stacks[0], rod=Rod(across_mm=10.0, below_mm=24.0, above_mm=12.0))
    framed = replaced(project, stacks=(stack,), frame=MachineFrame(plate_mm=8.0))
    solution = solve(framed)
    frame = machine_frame(solution)
    assert frame is not None
    made = stack_section(solution, stack, WIDE, 250.0, frame=frame)
    assert made is not None
    plates = [path.corners for path in made.scene.paths if path.name == "plate"]
    assert len(plates) == 4
    for corners in plates:
        assert np.ptp(corners.imag) / made.scale == pytest.approx(8.0)
    words = " ".join(text.text for text in made.scene.texts)
    assert "Top plate, 8 thick" in words
    # Radial ball bearings on a shaft of 10 mm across flats (11.5 mm round): 6001, 12 x 28 x 8 mm (ISO 15)
    assert words.count("bearing 6001") == 2
    ring = next(path.corners for path in made.scene.paths if path.name == "bearing")
    assert np.ptp(ring.imag) / made.scale == pytest.approx(8.0)
    between = next(one for one in made.heights if one.what == "Between the plates")
    assert between.value_mm == pytest.approx(frame.between_mm)


def keyed() -> Project:
    project = sample("tea_blender")
    dogs = Dogs(count=4, radius_mm=8.0, width_mm=3.0, height_mm=2.0)
    return replaced(project, stacks=(replaced(project.stacks[0], dogs=dogs),))


def test_dogs_and_pockets_are_cut_at_the_zero_mark() -> None:
    """Four dogs of 3 by 2 mm (6 mm long at the zero mark) at 8 mm: cut at +x and -x, pegs over the face."""
    solution = solve(keyed())
    project, profile = solution.project, solution.lanes["assam"].profile
    assert profile is not None
    parts: dict[str | None, MadePart] = {
        "assam": disc_part(project, project.lane("assam"), profile),
        None: spacer_part(project, project.stacks[0], 9),
    }
    part = parts["assam"]
    solid = [cut for cut in cuts_of(part) if cut.is_solid]
    assert len(solid) == 2
    for cut in solid:
        assert (cut.bottom, cut.top) == (5.0, 7.0)
        assert abs(cut.low + cut.high) / 2 == pytest.approx(8.0, abs=0.1)
    made = stack_section(solution, solution.project.stacks[0], WIDE, HIGH, made=parts)
    assert made is not None
    assert [path for path in made.scene.paths if path.name == "dog"]
    assert [path for path in made.scene.paths if path.name == "hollow"]


def test_a_dimension_says_its_length_and_has_it_between_its_heads() -> None:
    marks = scene(dimension(0j, 40j, -5 + 0j, "40.0"))
    heads = [path.corners[0] for path in marks.paths if path.closed and path.fill == "muted"]
    assert heads == [-5 + 0j, -5 + 40j]
    (text,) = marks.texts
    assert (text.text, text.anchor) == ("40.0", "middle")
    assert text.at == pytest.approx(-5 + 20j, abs=1.2)


def test_round_scales() -> None:
    assert [round_scale(100.0, room) for room in (100.0, 99.0, 50.0, 21.0, 3.0)] == [1, 0.5, 0.5, 0.2, 0.02]
    assert [scale_text(one) for one in (1.0, 0.5, 0.2)] == ["1:1", "1:2", "1:5"]


def test_rows_are_spread_in_order_without_overlaps() -> None:
    wanted, highs = [1.0, 2.0, 3.0, 50.0, 99.0, 99.5], [4.0] * 6
    places = spread(wanted, highs, 0.0, 100.0)
    assert places[3] == 50.0
    assert all(b - a >= 4.0 - 1e-9 for a, b in pairwise(places))
    assert places[0] >= 2.0
    assert places[-1] <= 98.0
    assert spread([5.0] * 4, [4.0] * 4, 0.0, 10.0)[-1] <= 10.0
