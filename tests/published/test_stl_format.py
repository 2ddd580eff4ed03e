"""Binary STL as its format is commonly described.

Source: Hong Kong Polytechnic University, Industrial Centre, "STL binary format" (page of its rapid
product development resource centre): 80-byte header, 4-byte count, 50 bytes a facet (normal, three
vertices, two attribute bytes), vertices counterclockwise seen from outside, little-endian.
"""

from __future__ import annotations

import struct

import numpy as np

from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.solids import Mesh

CUBE = Mesh(
    np.array([[x, y, z] for x in (0.0, 2.0) for y in (0.0, 2.0) for z in (0.0, 2.0)]),
    np.array(
        [
            [0, 1, 3],
            [0, 3, 2],
            [4, 6, 7],
            [4, 7, 5],
            [0, 4, 5],
            [0, 5, 1],
            [2, 3, 7],
            [2, 7, 6],
            [0, 2, 6],
            [0, 6, 4],
            [1, 5, 7],
            [1, 7, 3],
        ]
    ),
)


def test_twelve_facets_make_684_bytes() -> None:
    data = stl_bytes(CUBE, "A1")
    assert len(data) == 684
    assert not data.startswith(b"solid")
    assert struct.unpack("<I", data[80:84]) == (12,)


def test_facets_hold_outward_unit_normals_and_corners_counterclockwise() -> None:
    data = stl_bytes(CUBE, "A1")
    for place in range(12):
        numbers = struct.unpack("<12fH", data[84 + 50 * place : 134 + 50 * place])
        normal, a, b, c = np.array(numbers[:12]).reshape(4, 3)
        assert numbers[12] == 0
        np.testing.assert_allclose(np.linalg.norm(normal), 1.0, atol=1e-6)
        assert np.dot(np.cross(b - a, c - a), normal) > 0
        assert np.dot(normal, (a + b + c) / 3 - 1.0) > 0
    assert abs(CUBE.volume - 8.0) < 1e-12


def test_a_triangle_that_rounding_closes_is_left_out() -> None:
    corners = np.array([[100.0, 0.0, 0.0], [100.0 + 1e-7, 0.0, 0.0], [0.0, 1.0, 0.0]])
    assert len(stl_bytes(Mesh(corners, np.array([[0, 1, 2]])), "A1")) == 84
