"""Section constants against integration over the shapes and a solved torsion problem."""

from __future__ import annotations

from math import asin, cos, pi, sin, sqrt

import numpy as np
import pytest
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from shapely import contains_xy
from shapely.geometry import Polygon

from shaftscore.built.sections import (
    CrossSection,
    flat_section,
    hexagon_section,
    ring_section,
    square_section,
    thread_section,
)
from shaftscore.built.threads import thread_named


def hexagon(across: float) -> Polygon:
    return Polygon(
        [(across / sqrt(3) * cos(k * pi / 3), across / sqrt(3) * sin(k * pi / 3)) for k in range(6)]
    )


def square(across: float) -> Polygon:
    half = across / 2
    return Polygon([(-half, -half), (half, -half), (half, half), (-half, half)])


def d_shape(across: float, flat: float) -> Polygon:
    radius, height = across / 2, flat - across / 2
    end = asin(height / radius)
    angles = np.linspace(pi - end, 2 * pi + end, 2001)
    return Polygon(np.column_stack([radius * np.cos(angles), radius * np.sin(angles)]))


SHAPES = [
    (ring_section(10.0), Polygon([(5 * cos(a), 5 * sin(a)) for a in np.linspace(0, 2 * pi, 2001)])),
    (square_section(8.0), square(8.0)),
    (hexagon_section(10.0), hexagon(10.0)),
    (flat_section(10.0, 9.0), d_shape(10.0, 9.0)),
    (flat_section(8.0, 5.0), d_shape(8.0, 5.0)),
]
IDS = ["round", "square", "hexagon", "d", "deep d"]


def moments(shape: Polygon) -> np.ndarray:
    """Return the matrix of second moments about the centroid, by Green's theorem over the edges."""
    points = np.array(shape.exterior.coords) - np.array(shape.centroid.coords[0])
    (x0, y0), (x1, y1) = points[:-1].T, points[1:].T
    cross = x0 * y1 - x1 * y0
    xx = (cross * (x0**2 + x0 * x1 + x1**2)).sum() / 12
    yy = (cross * (y0**2 + y0 * y1 + y1**2)).sum() / 12
    xy = (cross * (x0 * y1 + 2 * x0 * y0 + 2 * x1 * y1 + x1 * y0)).sum() / 24
    return np.array([[xx, xy], [xy, yy]]) * np.sign(cross.sum())


@pytest.mark.parametrize(("section", "shape"), SHAPES, ids=IDS)
def test_bending_constants_by_integration(section: CrossSection, shape: Polygon) -> None:
    tensor = moments(shape)
    assert section.area_mm2 == pytest.approx(shape.area, rel=1e-5)
    assert section.inertia_mm4 == pytest.approx(np.linalg.eigvalsh(tensor)[0], rel=1e-5)
    points = np.array(shape.exterior.coords) - np.array(shape.centroid.coords[0])
    moduli = []
    for angle in np.linspace(0, 2 * pi, 721):  # a moment in each direction: greatest stress over the points
        curvature = np.linalg.solve(tensor, [cos(angle), sin(angle)])
        moduli.append(1 / (points @ curvature).max())
    assert section.modulus_mm3 == pytest.approx(min(moduli), rel=2e-3)


def torsion_constant(shape: Polygon, step: float) -> float:
    """Solve ∇²φ = -2 with φ = 0 on the edge by finite differences; J = 2 ∫ φ."""
    low_x, low_y, high_x, high_y = shape.bounds
    x, y = np.meshgrid(np.arange(low_x, high_x, step), np.arange(low_y, high_y, step), indexing="ij")
    inside = contains_xy(shape, x, y)
    number = np.where(inside, np.cumsum(inside).reshape(inside.shape) - 1, -1)
    number = np.pad(number, 1, constant_values=-1)
    own = number[1:-1, 1:-1][inside]
    rows, columns, values = [own], [own], [np.full(len(own), 4.0)]
    for neighbour in (number[2:, 1:-1], number[:-2, 1:-1], number[1:-1, 2:], number[1:-1, :-2]):
        there = neighbour[inside]
        rows.append(own[there >= 0])
        columns.append(there[there >= 0])
        values.append(np.full((there >= 0).sum(), -1.0))
    matrix = coo_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))).tocsr()
    return float(2 * spsolve(matrix, np.full(len(own), 2 * step**2)).sum() * step**2)


@pytest.mark.parametrize(("section", "shape"), SHAPES, ids=IDS)
def test_torsion_constants_by_a_solved_membrane(section: CrossSection, shape: Polygon) -> None:
    assert section.torsion_mm4 == pytest.approx(torsion_constant(shape, 0.06), rel=0.03)


def test_a_flat_of_no_depth_is_round() -> None:
    nearly, whole = flat_section(10.0, 10.0 - 1e-9), ring_section(10.0)
    assert nearly.inertia_mm4 == pytest.approx(whole.inertia_mm4)
    assert nearly.modulus_mm3 == pytest.approx(whole.modulus_mm3)
    assert nearly.torsion_mm4 == pytest.approx(whole.torsion_mm4, rel=1e-3)
    assert nearly.torsion_modulus_mm3 == pytest.approx(whole.torsion_modulus_mm3, rel=1e-3)


def test_threads_count_with_their_core() -> None:
    assert thread_section(thread_named("M8")) == ring_section(8 - 1.226869 * 1.25)


def test_impossible_sections_are_refused() -> None:
    with pytest.raises(ValueError, match=r"5\.0 and 5\.0"):
        ring_section(5.0, 5.0)
    for flat in (10.0, 4.9):
        with pytest.raises(ValueError, match=str(flat)):
            flat_section(10.0, flat)
