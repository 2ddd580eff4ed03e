"""Sizes of ball bearings that serve as rollers.

Bore, outside diameter and width of single-row deep groove ball bearings by their basic designation, which
follow ISO 15 (DIN 625-1), as printed in size charts of bearing dealers. The width of two sizes depends on
the shields. Load ratings differ by maker and are in no table here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True)
class BearingSize:
    """Boundary dimensions of a bearing, mm: bore, outside diameter, width."""

    bore_mm: float
    outer_mm: float
    width_mm: float


BEARINGS: Mapping[str, BearingSize] = MappingProxyType(
    {
        "MR63": BearingSize(3, 6, 2),
        "MR84": BearingSize(4, 8, 2),
        "MR85": BearingSize(5, 8, 2),
        "MR105 open": BearingSize(5, 10, 3),
        "MR105 shielded": BearingSize(5, 10, 4),
        "623": BearingSize(3, 10, 4),
        "624": BearingSize(4, 13, 5),
        "605": BearingSize(5, 14, 5),
        "625": BearingSize(5, 16, 5),
        "688 open": BearingSize(8, 16, 4),
        "688 shielded": BearingSize(8, 16, 5),
        "606": BearingSize(6, 17, 6),
        "607": BearingSize(7, 19, 6),
        "626": BearingSize(6, 19, 6),
        "608": BearingSize(8, 22, 7),
        "609": BearingSize(9, 24, 7),
        "6000": BearingSize(10, 26, 8),
    }
)
"""Size by basic designation, smallest first."""

COLUMNS = ("name", "bore_mm", "outer_mm", "width_mm")
"""Columns of a person's own table of sizes, one bearing a line, separated by commas."""

LONGEST_NAME = 40
"""Letters of a bearing's name, at most."""

MOST_OWN = 500
"""Lines of a person's own table, at most."""


class BearingTableError(ValueError):
    """A line of a person's own table that is no bearing; the text names the line."""


def own_bearings(text: str) -> dict[str, BearingSize]:
    """Return the sizes of a person's own table; empty lines and those that begin with # are passed over.

    A line holds name, bore, outside diameter and width in mm, as in "624 wide, 4, 13, 6". Raises
    BearingTableError for a line that does not, and for a name that is taken.
    """
    found: dict[str, BearingSize] = {}
    for number, line in enumerate(text.splitlines(), start=1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        name, size = _own_bearing(number, line)
        if name in BEARINGS or name in found:
            raise BearingTableError(f'line {number}: "{name}" is in the table already; choose another name')
        found[name] = size
        if len(found) > MOST_OWN:
            raise BearingTableError(f"line {number}: a table has at most {MOST_OWN} bearings")
    return found


def _own_bearing(number: int, line: str) -> tuple[str, BearingSize]:
    """Read one line of a person's own table."""
    cells = [cell.strip() for cell in line.split(",")]
    if len(cells) != len(COLUMNS):
        wanted = ", ".join(COLUMNS)
        raise BearingTableError(f"line {number}: has {len(cells)} values, {len(COLUMNS)} required: {wanted}")
    name = cells[0]
    if not 0 < len(name) <= LONGEST_NAME:
        raise BearingTableError(f"line {number}: a name of 1 to {LONGEST_NAME} letters is required")
    try:
        bore, outer, width = (float(cell) for cell in cells[1:])
    except ValueError:
        raise BearingTableError(f"line {number}: bore, outside and width must be numbers in mm") from None
    if not (0 < bore < outer <= 200 and 0 < width <= 200):
        raise BearingTableError(
            f"line {number}: {name} must have a bore under its outside diameter and lengths of at most 200 mm"
        )
    return name, BearingSize(bore, outer, width)
