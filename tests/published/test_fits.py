"""Fits against standards and worked numbers, each with its source."""

from __future__ import annotations

import numpy as np
import pytest

from shaftscore.built.fits import DogMate
from shaftscore.built.rods import standard_tolerance_mm, undersize_mm
from shaftscore.built.threads import thread_named


@pytest.mark.parametrize(
    ("size", "printed"),
    [
        (5.0, (8, 12, 18, 30, 48, 75, 120)),
        (8.0, (9, 15, 22, 36, 58, 90, 150)),
        (15.0, (11, 18, 27, 43, 70, 110, 180)),
    ],
)
def test_standard_tolerances_of_iso_286(size: float, printed: tuple[int, ...]) -> None:
    """ISO 286, grades 6 to 12, as printed at zh-ss.net/?p=841 and precisemetal.in/tolerence-table.php."""
    found = [standard_tolerance_mm(grade, size) * 1000 for grade in range(6, 13)]
    assert found == pytest.approx(printed)


def test_standard_tolerances_where_other_tables_misprint() -> None:
    """h6 of 10 to 18 mm is -11 µm (special-steel.com prints -12); h7 and h12 up to 3 mm are -10 and -100 µm

    (zh-ss.net prints 9 and 90), by precisemetal.in.
    """
    assert undersize_mm("h6", 12.0) == (0.0, 0.011)
    assert undersize_mm("h7", 3.0) == (0.0, 0.010)
    assert undersize_mm("h12", 3.0) == (0.0, 0.100)


def test_greatest_clearances_at_8_mm() -> None:
    """H7/h6 and H9/h9 at 8 mm: 24 and 72 µm, computed from the printed grades (no printed value)."""
    assert standard_tolerance_mm(7, 8.0) + undersize_mm("h6", 8.0)[1] == pytest.approx(0.024)
    assert standard_tolerance_mm(9, 8.0) + undersize_mm("h9", 8.0)[1] == pytest.approx(0.072)


@pytest.mark.parametrize(
    ("designation", "greatest", "least"),
    [
        ("M3", 2.980, 2.874),
        ("M4", 3.978, 3.838),
        ("M5", 4.976, 4.826),
        ("M6", 5.974, 5.794),
        ("M8", 7.972, 7.760),
        ("M10", 9.968, 9.732),
        ("M8x1", 7.974, 7.794),
    ],
)
def test_major_diameters_of_6g_threads(designation: str, greatest: float, least: float) -> None:
    """Metric external thread charts, class 6g: apporo-cnc.com and amesweb.info, after ASME B1.13M."""
    thread = thread_named(designation)
    under = undersize_mm("6g", thread.nominal_mm, thread)
    assert thread.nominal_mm - np.array(under) == pytest.approx([greatest, least])


def test_play_of_a_dog() -> None:
    """Dog at radius 12 between two faces, 0.2 mm to each side: 1.90986° in all, computed (exact 1.90995°)."""
    whole = 2 * float(DogMate(2, 12.0).play_deg(0.2))
    assert whole == pytest.approx(1.90986, abs=5e-6)
    assert whole == pytest.approx(2 * np.degrees(np.arcsin(0.2 / 12)), rel=1e-4)
