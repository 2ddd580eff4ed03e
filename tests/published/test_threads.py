"""Metric threads against printed tables and worked examples, each with its source."""

from __future__ import annotations

from math import pi

import pytest

from shaftscore.built.threads import (
    MetricThread,
    breaking_load_n,
    class_strength_mpa,
    nut_torque_nm,
    thread_named,
)


@pytest.mark.parametrize(
    ("designation", "pitch_diameter", "core", "area"),
    [
        ("M3", 2.67524, 2.38657, 5.03),
        ("M5", 4.48038, 4.0185, 14.2),
        ("M6", 5.35048, 4.77313, 20.1),
        ("M8", 7.1881, 6.46641, 36.6),
        ("M12", 10.8633, 9.85298, 84.3),
    ],
)
def test_stress_areas(designation: str, pitch_diameter: float, core: float, area: float) -> None:
    """Stress areas as printed at usefastener.com/knowledge/404 (EN ISO 898-1), scribd.com/document/338032810.

    Diameters computed by ISO 724 (no printed value).
    """
    thread = thread_named(designation)
    assert thread.stress_area_mm2 == pytest.approx(area, abs=0.051)
    assert thread.pitch_diameter_mm == pytest.approx(pitch_diameter, abs=6e-5)
    assert thread.core_mm == pytest.approx(core, abs=6e-6)


@pytest.mark.parametrize(
    ("designation", "property_class", "printed"),
    [
        ("M6", "4.6", 8040),
        ("M6", "8.8", 16100),
        ("M8", "8.8", 29200),
        ("M10", "4.6", 23200),
        ("M10", "8.8", 46400),
    ],
)
def test_least_breaking_loads(designation: str, property_class: str, printed: float) -> None:
    """usefastener.com/knowledge/404, least ultimate loads by EN ISO 898-1; printed to three digits."""
    assert breaking_load_n(thread_named(designation), property_class) == pytest.approx(printed, rel=0.004)


@pytest.mark.parametrize(("pitch", "printed"), [(2.0, 156.7), (1.5, 167.2)])
def test_stress_area_of_m16(pitch: float, printed: float) -> None:
    """U. C. Jindal, Machine Design, 2010, example 9-1, p. 266."""
    assert MetricThread(16.0, pitch).stress_area_mm2 == pytest.approx(printed, abs=0.06)


def test_tightening_torque_of_m14() -> None:
    """U. C. Jindal, Machine Design, 2010, example 9-5, p. 268: 75 % of 650 MPa on 115 mm²: 156.97 N·m."""
    assert nut_torque_nm(0.75 * 650 * 115, 14.0) == pytest.approx(156.97, abs=0.006)


def test_tightening_torque_of_m20() -> None:
    """U. C. Jindal, Machine Design, 2010, example 9-6, p. 268: M20, 120 kN, factor 0.18: 432 N·m."""
    assert nut_torque_nm(120e3, 20.0, factor=0.18) == pytest.approx(432.0)


def test_tightening_torque_of_a_stud() -> None:
    """T. H. Wentzell, Machine Design, 2007, example 6.4, p. 124: 21728.25 lb in.

    1 1/4 in, 1.073 in², 90 % of 120 ksi, factor 0.15. The formula has no unit, so inches and pounds serve.
    """
    assert 1000 * nut_torque_nm(0.9 * 120e3 * 1.073, 1.25, factor=0.15) == pytest.approx(21728.25)


def test_m6_of_class_8_8_and_a_plastic_stack() -> None:
    """M6 8.8, proof 580 MPa (scribd.com/document/338032810), tightened to 75 % of it on 20.1 mm², computed.

    8743.5 N, 10.4922 N·m, and 108.041 MPa under a washer of 12 mm with a hole of 6.4 mm.
    """
    force = 0.75 * 580 * 20.1
    assert force == pytest.approx(8743.5)
    assert 0.75 * 580 * thread_named("M6").stress_area_mm2 == pytest.approx(force, rel=0.002)
    assert nut_torque_nm(force, 6.0) == pytest.approx(10.4922, abs=5e-5)
    assert force / (pi / 4 * (12**2 - 6.4**2)) == pytest.approx(108.041, abs=6e-4)


def test_property_classes() -> None:
    """ISO 898-1: class 8.8 is 800 MPa and 640 MPa, class 4.6 is 400 MPa and 240 MPa, nominal."""
    assert class_strength_mpa("8.8") == (800.0, 640.0)
    assert class_strength_mpa("4.6") == (400.0, 240.0)
    with pytest.raises(ValueError, match="A2"):
        class_strength_mpa("A2-70")
