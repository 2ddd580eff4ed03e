"""A person's own table of bearings."""

from __future__ import annotations

import pytest

from shaftscore.built.bearings import MOST_OWN, BearingSize, BearingTableError, own_bearings


def test_a_table_of_ones_own() -> None:
    text = "# my box of bearings\n\n 624 wide, 4, 13, 6\nSleeve 12,4,12,4.5\n"
    assert own_bearings(text) == {
        "624 wide": BearingSize(4, 13, 6),
        "Sleeve 12": BearingSize(4, 12, 4.5),
    }


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("one, 4, 13", "line 1: has 3 values, 4 required: name, bore_mm, outer_mm, width_mm"),
        ("\none, 4, wide, 6", "line 2: bore, outside and width must be numbers in mm"),
        ("one, 13, 4, 6", "line 1: one must have a bore under its outside diameter"),
        ("one, 4, 13, nan", "lengths of at most 200 mm"),
        ("624, 4, 13, 6", 'line 1: "624" is in the table already'),
        ("a, 4, 13, 6\na, 4, 13, 6", 'line 2: "a" is in the table already'),
        (", 4, 13, 6", "line 1: a name of 1 to 40 letters is required"),
        ("\n".join(f"n{i}, 4, 13, 6" for i in range(MOST_OWN + 1)), "line 501: a table has at most 500"),
    ],
)
def test_what_is_no_bearing_is_refused_with_its_line(text: str, told: str) -> None:
    with pytest.raises(BearingTableError, match=told):
        own_bearings(text)
