"""Boundary dimensions of ball bearings against a published table."""

from __future__ import annotations

import pytest

from shaftscore.built.bearings import BEARINGS

ROWS = """
605 5 14 5
606 6 17 6
607 7 19 6
608 8 22 7
609 9 24 7
623 3 10 4
624 4 13 5
625 5 16 5
626 6 19 6
6000 10 26 8
MR63 3 6 2
MR84 4 8 2
MR85 5 8 2
"""


@pytest.mark.parametrize("row", ROWS.strip().splitlines())
def test_sizes_are_those_of_the_standard(row: str) -> None:
    """ISO 15 and DIN 625-1, from the dimension table of the BOLTS part library and dealers' size charts."""
    name, *numbers = row.split()
    size = BEARINGS[name]
    assert [size.bore_mm, size.outer_mm, size.width_mm] == [float(number) for number in numbers]


def test_the_width_of_two_sizes_depends_on_their_shields() -> None:
    """Dealers' size charts: 688 is 4 or 5 mm wide, MR105 is 3 or 4 mm wide."""
    assert (BEARINGS["688 open"].width_mm, BEARINGS["688 shielded"].width_mm) == (4, 5)
    assert (BEARINGS["MR105 open"].width_mm, BEARINGS["MR105 shielded"].width_mm) == (3, 4)
