"""Worm efficiency: limits, self-locking and energy."""

from __future__ import annotations

from math import atan, cos, degrees, radians, tan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shaftscore.built.efficiency import DEFAULT_EFFICIENCY, back_driving_efficiency, worm_efficiency


@given(lead=st.floats(0.5, 60), friction=st.floats(0.001, 0.3))
def test_a_worm_makes_no_energy(lead: float, friction: float) -> None:
    forward, back = worm_efficiency(lead, friction), back_driving_efficiency(lead, friction)
    assert 0 <= back < 1
    assert 0 <= forward < 1


@given(lead=st.floats(0.5, 45), friction=st.floats(0.001, 0.5))
def test_a_self_locking_worm_loses_more_than_half(lead: float, friction: float) -> None:
    """It locks at a lead up to atan(μ / cos α), and then its efficiency is under 0.5."""
    locks = lead <= degrees(atan(friction / cos(radians(20))))
    assert (back_driving_efficiency(lead, friction) == 0) is locks
    if locks:
        assert worm_efficiency(lead, friction) < 0.5


def test_without_friction_nothing_is_lost() -> None:
    assert worm_efficiency(7.0, 0.0) == pytest.approx(1.0)
    assert back_driving_efficiency(7.0, 0.0) == pytest.approx(1.0)


def test_a_locking_lead_and_a_wrong_one() -> None:
    assert worm_efficiency(89.5, 0.15) == 0.0
    assert tan(radians(89.5)) * 0.15 > 1
    with pytest.raises(ValueError, match="95"):
        worm_efficiency(95.0)


def test_defaults_by_kind() -> None:
    """machine.md, section 1 (common practice, no source)."""
    assert DEFAULT_EFFICIENCY == {
        "external": 0.95,
        "internal": 0.95,
        "belt": 0.95,
        "chain": 0.95,
        "bevel": 0.90,
        "worm": 0.4,
    }
