"""Copies on one build plate: they may reach into one another's boxes, not into one another."""

from __future__ import annotations

import time

import numpy as np
import numpy.typing as npt
import pytest
import shapely
import trimesh

from shaftscore.make.proof.placing import ExpectedCopies, misplaced, turn_of
from shaftscore.make.proof.reading.contents import BuiltCopy
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.proof.rim import RimError


def angle() -> SolidPart:
    """Two bars of 10 x 2 mm from one corner, 3 mm high: most of their box is empty."""
    bars = [((10.0, 2.0, 3.0), (5.0, 1.0, 1.5)), ((2.0, 10.0, 3.0), (1.0, 5.0, 1.5))]
    bodies = [trimesh.creation.box(extents=size) for size, _ in bars]
    corners = [body.triangles + np.array(at) for body, (_, at) in zip(bodies, bars, strict=True)]
    return SolidPart(np.concatenate(corners), "angle")


@pytest.mark.parametrize(
    ("at", "turn_deg", "wanted"),
    [
        ((2.5, 2.5), 0.0, None),
        ((1.5, 1.5), 0.0, 0.4853),
        ((13.0, 2.5), 90.0, None),
        ((11.5, 2.5), 90.0, 0.4),
        ((13.0, 1.0), 90.0, 0.875),
    ],
)
def test_two_angles_are_nested(at: tuple[float, float], turn_deg: float, wanted: float | None) -> None:
    """Their boxes share room in every case; twice the area over the edge follows from the bars."""
    second = BuiltCopy("A1", turn_of(turn_deg), np.array([*at, 0.0]))
    copies = [BuiltCopy("A1", turn_of(0.0), np.zeros(3)), second]
    faults = misplaced("plates.3mf", copies, {"A1": angle()}, ExpectedCopies({"A1": 2}, {}, fixed=False))
    assert [fault.by for fault in faults] == ([] if wanted is None else [pytest.approx(wanted, abs=1e-3)])


def field(side: int) -> npt.NDArray[np.float64]:
    """Return 2 side² triangles of a rough field of 200 x 200 mm."""
    places = np.linspace(-100.0, 100.0, side + 1)
    x, y = np.meshgrid(places, places)
    points = np.stack([x, y, np.random.default_rng(1).random(x.shape)], axis=-1)
    a, b, c, d = points[:-1, :-1], points[:-1, 1:], points[1:, 1:], points[1:, :-1]
    halves = (np.stack(one, axis=-2).reshape(-1, 3, 3) for one in ((a, b, c), (a, c, d)))
    return np.concatenate(list(halves))


def bars(count: int) -> npt.NDArray[np.float64]:
    """Return the triangles of two layers of bars, one along x and one along y."""
    wide = 100.0 / count
    along = [
        np.array([(-101.0, at, 0.0), (101.0, at, 0.0), (101.0, at + wide, 0.0), (-101.0, at + wide, 0.0)])
        for at in np.linspace(-100.0, 99.0, count)
    ]
    across = [bar[::-1][:, [1, 0, 2]] + [0.0, 0.0, 5.0] for bar in along]
    return np.array([bar[corners] for bar in (*along, *across) for corners in ([0, 1, 2], [0, 2, 3])])


@pytest.mark.parametrize("corners", [angle().corners, bars(12), field(12)], ids=["angle", "bars", "field"])
def test_a_shadow_is_the_union_of_all_triangles(corners: npt.NDArray[np.float64]) -> None:
    """Against the union of shapely, triangle by triangle, within the grid along its edges."""
    flat = [shapely.Polygon(one[:, :2]) for one in corners]
    union = shapely.union_all([one for one in flat if one.area > 0])
    found = SolidPart(corners, "part").shadow
    assert found.is_valid
    assert found.symmetric_difference(union).area < 1e-4 * union.length


def test_a_shadow_takes_little_at_the_limit_of_the_reader() -> None:
    """The most triangles of a part: 9 s by a union one by one; edges that all cross are refused."""
    begun = time.process_time()
    assert SolidPart(field(316), "part").shadow.area == pytest.approx(40_000.0)
    assert time.process_time() - begun < 2.0
    with pytest.raises(RimError, match=r"part: seen from the top too many of its edges cross one another"):
        _ = SolidPart(bars(500), "part").shadow
