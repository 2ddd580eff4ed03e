"""Copies on one build plate: they may reach into one another's boxes, not into one another."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from shaftscore.make.proof.placing import ExpectedCopies, misplaced, turn_of
from shaftscore.make.proof.reading.contents import BuiltCopy
from shaftscore.make.proof.reading.solid import SolidPart


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
