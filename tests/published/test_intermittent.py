"""Intermittent stages against tables and closed forms worked out by another route.

Outer Geneva wheels: peak speed ratio, peak acceleration and that at the entry, as tables print them (from
memory: Bickford, Mechanisms for Intermittent Motion; VDI and handbooks). Motion at any angle: the vector from
the wheel's axis to the pin, differentiated by mpmath at 50 digits; not printed anywhere.
"""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest

from shaftscore.built.intermittent import CountedStage, GenevaStage, IntermittentStage

PUBLISHED = [
    # slots, peak speed ratio, peak acceleration, acceleration at the entry, degrees in motion
    (3, 6.46, 31.4, 1.73, 60.0),
    (4, 2.41, 5.41, 1.00, 90.0),
    (6, 1.00, 1.35, 0.577, 120.0),
    (10, 0.447, 0.465, 0.325, 144.0),
]


@pytest.mark.parametrize(("slots", "ratio", "peak", "entry", "moving"), PUBLISHED)
def test_outer_wheels_have_the_peaks_of_the_tables(
    slots: int, ratio: float, peak: float, entry: float, moving: float
) -> None:
    stage = GenevaStage(slots)
    _, speed, rate, _ = stage.course(np.linspace(0.0, moving, 200_001))
    assert stage.engaged_deg == pytest.approx(moving, abs=1e-12)
    assert speed.max() == pytest.approx(ratio, rel=2e-3)
    assert rate.max() == pytest.approx(peak, rel=2e-3)
    assert rate[0] == pytest.approx(entry, rel=2e-3)


@pytest.mark.parametrize("slots", [3, 4, 10, 24])
@pytest.mark.parametrize("inner", [False, True])
def test_motion_is_that_of_the_pin_at_fifty_digits(slots: int, inner: bool) -> None:
    stage = GenevaStage(slots, inner)
    for share in (0.1, 0.37, 0.5, 0.93):
        driver = share * stage.engaged_deg
        for given, exact in zip(
            stage.course(np.array([driver]))[:, 0], pin(slots, inner, driver), strict=True
        ):
            assert given == pytest.approx(float(exact), rel=1e-11, abs=1e-11)


def pin(slots: int, inner: bool, driver_deg: float) -> list[mpmath.mpf]:
    """Return the wheel's angle from the entry, degrees, and derivatives: wheel at 0, crank axis at 1."""
    with mpmath.workdps(50):
        share = mpmath.sin(mpmath.pi / slots)
        # The crank of an outer wheel runs against it, and meets it on the near side of its axis.
        sense, middle = (1, 0) if inner else (-1, mpmath.pi)
        entry = (mpmath.pi / 2 + (1 if inner else -1) * mpmath.pi / slots) * -1

        def angle(u: mpmath.mpf) -> mpmath.mpf:
            at = 1 + share * mpmath.expj(middle + sense * (u + entry))
            return mpmath.arg(at)

        u = mpmath.radians(mpmath.mpf(driver_deg))
        turned = mpmath.degrees(angle(u) - angle(mpmath.mpf(0)))
        return [turned, *(mpmath.diff(angle, u, order) for order in (1, 2, 3))]


@pytest.mark.parametrize(
    "stage", [GenevaStage(3), GenevaStage(10), GenevaStage(6, inner=True), CountedStage(20, 2, 20)]
)
def test_the_driver_is_found_again_and_rests_are_locked(stage: IntermittentStage) -> None:
    driver = np.linspace(0.0, stage.engaged_deg, 501)
    turned = stage.course(driver)[0]
    assert np.allclose(stage.driver_at(turned), driver, rtol=0, atol=2e-6)
    assert turned[[0, -1]] == pytest.approx([0.0, stage.step_deg], abs=1e-12)
    rest = stage.course(np.linspace(stage.engaged_deg + 1e-9, 360.0, 7))
    assert np.all(rest[0] == stage.step_deg)
    assert not rest[1:].any()


def test_counted_teeth_turn_the_wheel_as_counted() -> None:
    """8 teeth of 24 on a wheel of 16: half a turn in a third of the driver's (teeth counted by hand)."""
    stage = CountedStage(24, 8, 16)
    assert (stage.step_deg, stage.engaged_deg) == (180.0, 120.0)
    assert stage.course(np.array([60.0]))[:, 0] == pytest.approx([90.0, 1.5, 0.0, 0.0])
    assert math.isclose(360.0 - stage.engaged_deg, 240.0)
