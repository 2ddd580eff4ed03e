"""However many findings there are, few columns are painted for them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from shaftscore.judge.findings import Severity, found
from shaftscore.make.drawing.timing.columns import MOST_APART, Column, drawn_columns


def column(left: float, right: float, *, severity: Severity = Severity.ERROR, top: float = 0.0) -> Column:
    finding = found("interlock", ("a",), severity=severity)
    return Column(finding, ("a",), left, right, top, top + 40.0)


def test_few_columns_are_drawn_each_by_itself() -> None:
    columns = [column(n, n + 5.0) for n in range(MOST_APART)]
    assert list(drawn_columns(columns)) == columns


def test_of_many_columns_those_that_overlap_are_drawn_as_one() -> None:
    rng = np.random.default_rng(3)
    columns = [
        column(left, left + 20.0, severity=severity, top=top)
        for left in rng.uniform(0, 1000, 200)
        for severity in (Severity.ERROR, Severity.WARNING)
        for top in (0.0, 100.0)
    ]
    drawn = drawn_columns(columns)
    assert len(drawn) <= 4 * 1020 / 20
    for group in {(one.finding.severity, one.top) for one in columns}:
        own = [one for one in drawn if (one.finding.severity, one.top) == group]
        edges = sorted((one.left, one.right) for one in own)
        assert all(right < left for (_, right), (left, _) in pairwise(edges))
        for x in rng.uniform(-10, 1030, 500):
            covered = any(
                one.left <= x <= one.right for one in columns if (one.finding.severity, one.top) == group
            )
            assert covered == any(left <= x <= right for left, right in edges)
