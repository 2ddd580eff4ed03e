"""A roller of the test's own on exported triangles: mirrored or misplaced discs cannot pass.

Nothing here comes from the program's kinematics or its proof: the file is read by trimesh, cut at half
its height, and the roller is dropped onto fine points of that edge along its line of travel.
"""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
import trimesh

from shaftscore.make.exporting import export_project
from tests.core.make.exporting.machines import one_sided, output_345

ROLLER_MM, BASE_MM = 5.0, 24.0
CASES = list(product(("clockwise", "counterclockwise"), (40.0, -115.0), (1, 3), (0.0, 4.0)))


def edge_points(path: Path) -> np.ndarray:
    """Points on the contour at half the disc's height, 0.005 mm apart."""
    mesh = trimesh.load(path)
    assert isinstance(mesh, trimesh.Trimesh)
    assert mesh.is_watertight
    middle = (mesh.bounds[0] + mesh.bounds[1]) / 2
    cuts = trimesh.intersections.mesh_plane(mesh, (0, 0, 1), (0, 0, middle[2]))
    start, end = (cuts[:, side, 0] + 1j * cuts[:, side, 1] for side in (0, 1))
    points = [
        a + (b - a) * np.linspace(0, 1, max(2, int(abs(b - a) / 0.005)))
        for a, b in zip(start, end, strict=True)
    ]
    return np.concatenate(points)


def roller_height(edge: np.ndarray, direction_deg: float, offset_mm: float) -> float:
    """Where the roller's centre comes to rest on a line past the axis, mm outward.

    Looking outward, a positive offset puts the line on the clockwise side.
    """
    seen = edge * np.exp(-1j * np.radians(direction_deg))
    beside = seen.imag + offset_mm
    below = np.abs(beside) <= ROLLER_MM
    return float(np.max(seen.real[below] + np.sqrt(ROLLER_MM**2 - beside[below] ** 2)))


@pytest.mark.parametrize(("turn", "station_deg", "turns", "offset_mm"), CASES)
def test_a_roller_on_the_triangles_reproduces_the_program(
    tmp_path: Path, turn: str, station_deg: float, turns: int, offset_mm: float
) -> None:
    project = one_sided(turn, turns=turns, station_deg=station_deg, offset_mm=offset_mm)  # type: ignore[arg-type]
    export_project(project, tmp_path, ["stl"])
    edge = edge_points(tmp_path / "A1_tea-flap.stl")
    sign = 1 if turn == "counterclockwise" else -1
    lowest = np.sqrt((BASE_MM + ROLLER_MM) ** 2 - offset_mm**2)
    master = np.arange(36) * 10.0 + 3.0
    own = turns * master
    heights = [roller_height(edge, station_deg - sign * angle, offset_mm) for angle in own]
    np.testing.assert_allclose(np.array(heights) - lowest, output_345(own), atol=0.02)


def test_the_test_sees_a_mirrored_disc(tmp_path: Path) -> None:
    export_project(one_sided(), tmp_path, ["stl"])
    edge = np.conj(edge_points(tmp_path / "A1_tea-flap.stl"))
    heights = np.array([roller_height(edge, 40.0 - angle, 0.0) for angle in np.arange(36) * 10.0])
    assert np.max(np.abs(heights - BASE_MM - ROLLER_MM - output_345(np.arange(36) * 10.0))) > 1.0
