"""Wear rates of sliding pairs: the volume that is lost by force and way, K in mm³/(N·m).

Archard: a part that is pressed with p over a way s loses the depth h = K p s. K belongs to a pair, and
differs by orders of magnitude between materials; moulded and printed parts of one plastic differ too and are
kept apart. A pair that is not in the table has no published value that was found: it is not known, never
guessed.

Sources: `POLYMER_TESTS` doi 10.2478/msp-2025-0039, tables of linear wear of printed PLA and PA 6 at 0.05 to
0.10 MPa and 0.3 to 0.6 m/s (K = h / (p s)); the counter-face is not named in what was read. `THRUST_WASHERS`
the wear data of a compounder, rtpcompany.com, 800 series: thrust washers by ASTM D3702, moulded, 0.25 m/s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

POLYMER_TESTS = "doi 10.2478/msp-2025-0039"
THRUST_WASHERS = "rtpcompany.com, wear data of the 800 series (ASTM D3702)"


@dataclass(frozen=True)
class WearRate:
    """The wear rate of a part in a pair.

    material: of the part that wears. printed: or moulded. partner: what it slides on, None where the source
    does not say. least, most: K, mm³/(N·m). source: where it stands. note: what to know of it.
    """

    material: str
    printed: bool
    partner: str | None
    least: float
    most: float
    source: str
    note: str = ""


WEAR_RATES: tuple[WearRate, ...] = (
    WearRate("PLA", True, None, 2.2e-4, 4.4e-4, POLYMER_TESTS, "partner not named in the source"),
    WearRate("nylon", True, None, 1e-5, 2e-5, POLYMER_TESTS, "PA 6, an upper bound; partner not named"),
    WearRate("POM", False, "nylon", 26e-8, 26e-8, THRUST_WASHERS, "on PA 66"),
    WearRate("nylon", False, "POM", 265e-8, 265e-8, THRUST_WASHERS, "PA 66 on POM"),
)
"""All pairs, one a row."""


def wear_rate(
    material: str, partner: str, *, printed: bool, table: Sequence[WearRate] = WEAR_RATES
) -> WearRate | None:
    """Return the wear rate of a part of a material on a partner; None where it is not known.

    A row that names the partner goes before one that does not.
    """
    fits = [row for row in table if row.material == material and row.printed == printed]
    named = [row for row in fits if row.partner == partner]
    open_ = [row for row in fits if row.partner is None]
    return next(iter(named or open_), None)


def archard_depth_mm(rate_mm3_nm: float, pressure_mpa: float, way_m: float) -> float:
    """Return the depth h = K p s that a part loses, mm; rate K in mm³/(N·m), pressure MPa, way m.

    J. F. Archard, Contact and rubbing of flat surfaces, J. Appl. Phys. 24 (1953) 981, from memory.
    """
    return rate_mm3_nm * pressure_mpa * way_m
