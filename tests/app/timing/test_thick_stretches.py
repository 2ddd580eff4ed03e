"""The curve where findings are: through the motion itself, and once where stretches overlap."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from shaftscore.base.angles import Arcs
from shaftscore.judge.findings import Severity, found
from shaftscore.make.drawing.timing.axis import Axis
from shaftscore.make.drawing.timing.stretches import _stretches
from shaftscore_app.timing.layers.lane import thick_stretches

THETA = np.linspace(0.0, 360.0, 721)
STRIP = SimpleNamespace(y=lambda output_mm: 200.0 - 8.0 * output_mm, lane=None)


def points_of(axis: Axis, spans: Arcs) -> list[list[tuple[float, float]]]:
    curve = SimpleNamespace(theta_deg=THETA, output_mm=5.0 + 5.0 * np.sin(np.radians(THETA)))
    paths = thick_stretches(axis, STRIP, curve, spans)
    return [
        [(path.elementAt(n).x, path.elementAt(n).y) for n in range(path.elementCount())] for path in paths
    ]


@pytest.mark.parametrize(
    ("start", "length"), [(10.0, 30.0), (350.0, 20.0), (90.25, 0.1), (77.7, 0.0), (180.0, 0.0)]
)
def test_a_stretch_follows_the_motion_from_end_to_end(start: float, length: float) -> None:
    """Against the sine that the motion is: y = 200 - 8 (5 + 5 sin theta)."""
    axis = Axis(0.0, 1440.0, 0.0, 4.0)
    found = points_of(axis, Arcs.span(start, length))
    assert found
    for points in found:
        xs, ys = np.array(points).T
        expected = 200.0 - 8.0 * (5.0 + 5.0 * np.sin(np.radians(xs / 4.0)))
        np.testing.assert_allclose(ys, expected, atol=0.01)
        assert xs[-1] - xs[0] == pytest.approx(4.0 * length, abs=1e-6)


def test_many_stretches_over_one_another_are_one() -> None:
    axis = Axis(0.0, 1440.0, 0.0, 4.0)
    spans = Arcs.of([(20.0 + 0.1 * n, 5.0) for n in range(300)])
    assert len(points_of(axis, spans)) == 1


def test_errors_are_drawn_over_warnings_also_where_they_follow_from_one() -> None:
    """Consequences come after all causes in a report: their severities do not fall any more."""
    order = (Severity.ERROR, Severity.WARNING, Severity.ERROR)
    findings = [
        found("float", ("a",), severity=severity, span=Arcs.span(10.0 * n, 5.0))
        for n, severity in enumerate(order)
    ]
    stretches = _stretches(findings)
    assert [severity for severity, _lane in stretches] == [Severity.WARNING, Severity.ERROR]
    assert len(stretches[Severity.ERROR, "a"]) == 2
