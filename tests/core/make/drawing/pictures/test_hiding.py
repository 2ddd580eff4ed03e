"""What hides what in pictures, against lines of sight that are followed from the looker into the scene."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, Polygon

from shaftscore.make.drawing.pictures.hiding import outside, painted_order
from shaftscore.make.drawing.pictures.prisms import ROD, UprightPrism
from shaftscore.make.drawing.pictures.projecting import BACK, UP, painted


def turned_box(middle: complex, size: complex, turn_deg: float) -> np.ndarray:
    corners = np.array([-size, size.conjugate(), size, -size.conjugate()]) / 2
    return middle + corners * np.exp(1j * np.radians(turn_deg))


def round_outline(middle: complex, radius: float) -> np.ndarray:
    return middle + radius * np.exp(2j * np.pi * np.arange(24) / 24)


def area(prism: UprightPrism, grown: float = 0.0) -> Polygon:
    return Polygon(np.column_stack([prism.outline.real, prism.outline.imag])).buffer(grown)


def random_scene(rng: np.random.Generator, count: int) -> list[UprightPrism]:
    """Bodies that do not go into one another: a stack of discs, and bars, posts and boxes about it."""
    found: list[UprightPrism] = []
    for level in range(5):
        outline = round_outline(0j, rng.uniform(8, 30))
        found.append(UprightPrism(outline, 8.0 * level, 8.0 * level + rng.uniform(2, 8), f"disc {level}"))
    while len(found) < count:
        middle = complex(*rng.uniform(-55, 55, 2))
        outline = turned_box(middle, complex(*rng.uniform(3, 60, 2)), rng.uniform(0, 180))
        if rng.random() < 0.4:
            outline = round_outline(middle, rng.uniform(2, 9))
        low = rng.uniform(-5, 40)
        one = UprightPrism(outline, low, low + rng.uniform(1, 50), f"body {len(found)}")
        level = [two for two in found if two.bottom_mm < one.top_mm and one.bottom_mm < two.top_mm]
        if not any(area(one, 0.3).intersects(area(two)) for two in level):
            found.append(one)
    return found


def first_hit(prism: UprightPrism, x: float, v: float) -> float | None:
    """Return y of the first point of a convex body on a line of sight; None where it passes beside it."""
    start, end = prism.outline, np.roll(prism.outline, -1)
    across = (start.real <= x) != (end.real <= x)
    if not across.any():
        return None
    start, end = start[across], end[across]
    y = start.imag + (x - start.real) / (end.real - start.real) * (end.imag - start.imag)
    near = max(y.min(), (v - prism.top_mm * UP) / BACK)
    far = min(y.max(), (v - prism.bottom_mm * UP) / BACK)
    return near if near < far else None


@pytest.mark.parametrize("seed", range(10))
def test_what_is_painted_last_at_a_point_is_what_a_line_of_sight_meets_first(seed: int) -> None:
    rng = np.random.default_rng(seed)
    prisms = random_scene(rng, 16)
    order = painted_order(prisms, BACK / UP)
    looked = wrong = 0
    for _ in range(150):
        x, v = rng.uniform(-40, 40), rng.uniform(-10, 60)
        hits = {one.name: y for one in prisms if (y := first_hit(one, x, v)) is not None}
        if len(hits) < 2:
            continue
        looked += 1
        nearest = min(hits, key=lambda name: hits[name])
        last = [seen.prism.name for seen in order if first_hit(seen.prism, x, v) is not None][-1]
        wrong += nearest != last
    assert looked > 30
    assert wrong == 0


def test_bodies_that_hide_one_another_in_a_circle_are_cut_and_all_of_them_painted() -> None:
    """A post in front of a low bar, behind a high one whose end is over the first: none can be last."""
    post = UprightPrism(turned_box(0j, 4 + 4j, 0.0), 0.0, 40.0, "post")
    front = UprightPrism(turned_box(complex(0, -8), 60 + 4j, 0.0), 0.0, 4.0, "front")
    high = UprightPrism(turned_box(complex(14, 10), 4 + 50j, 0.0), 20.0, 24.0, "high")
    over = UprightPrism(turned_box(complex(0, 12), 20 + 4j, 0.0), 0.0, 10.0, "behind")
    order = painted_order([high, post, front, over], BACK / UP)
    names = [seen.prism.name for seen in order]
    assert set(names) == {"post", "front", "high", "behind"}
    assert names.index("behind") < names.index("post") < len(names) - 1 - names[::-1].index("front")
    tall = sum(one.prism.top_mm - one.prism.bottom_mm for one in order if one.prism.name == "post")
    assert tall == pytest.approx(40.0)


def test_of_a_rod_only_what_is_outside_of_other_bodies_is_painted() -> None:
    rod = UprightPrism(round_outline(0j, 3.0), -10.0, 100.0, "rod", inside=ROD)
    discs = [UprightPrism(round_outline(1 + 1j, 20.0), 10.0 * n, 10.0 * n + 4.0, f"d{n}") for n in range(6)]
    pieces = [one for one in outside([rod, *discs]) if one.name == "rod"]
    assert sorted((one.bottom_mm, one.top_mm) for one in pieces) == [
        (-10.0, 0.0), *((10.0 * n + 4.0, 10.0 * n + 10.0) for n in range(5)), (54.0, 100.0)
    ]  # fmt: skip
    bar = UprightPrism(turned_box(0j, 80 + 6j, 0.0), 2.0, 6.0, "bar", inside=ROD)
    block = UprightPrism(turned_box(0j, 30 + 20j, 0.0), 0.0, 12.0, "block")
    ends = [one for one in outside([bar, block]) if one.name == "bar"]
    assert sorted(round(float(np.ptp(one.outline.real))) for one in ends) == [25, 25]


def test_walls_are_drawn_only_where_they_face_the_looker_and_marks_lie_on_the_top() -> None:
    mark = np.array([2 + 0j, 9 + 0j])
    prism = UprightPrism(round_outline(0j, 10.0), 0.0, 5.0, "disc", marks=(("zero mark", mark),))
    paths = list(painted([prism]))
    top = next(path for path in paths if path.fill == "paper")
    assert top.corners == pytest.approx(prism.outline.real + 1j * (5 * UP + prism.outline.imag * BACK))
    walls = [path for path in paths if path.fill in ("face", "shade")]
    silhouette = Polygon([(p.real, p.imag) for path in walls for p in path.corners]).convex_hull
    assert silhouette.bounds[1] == pytest.approx(-10 * BACK, abs=0.1)
    assert not any(silhouette.contains(Point(0, 5 * UP + 5 * BACK)) for _ in walls)
    line = next(path for path in paths if path.name == "zero mark")
    assert line.corners == pytest.approx(mark + 1j * 5 * UP)
