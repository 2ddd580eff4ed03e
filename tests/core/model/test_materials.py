"""The built-in table of materials and what a project may do to it."""

from __future__ import annotations

import pytest

from shaftscore.model import FORMAT, VERSION, Material, Project, Shaft
from shaftscore.model.materials import BUILT_IN, materials_of


def test_every_material_says_where_its_values_come_from() -> None:
    assert list(BUILT_IN) == ["PLA", "PETG", "ABS", "nylon", "POM", "aluminium", "steel"]
    for name, row in BUILT_IN.items():
        assert row.material.name == name
        assert "ask your supplier" in row.source
        assert "common practice, no source" in row.source


@pytest.mark.parametrize(
    ("name", "least_gpa", "most_gpa"),
    [("steel", 200, 215), ("aluminium", 68, 73), ("POM", 2.5, 3.2), ("PLA", 2.3, 3.6), ("PETG", 1.7, 2.3)],
)
def test_moduli_are_those_of_any_handbook(name: str, least_gpa: float, most_gpa: float) -> None:
    """Ranges from memory, as handbooks of engineering and data sheets give them."""
    assert least_gpa <= BUILT_IN[name].material.modulus_gpa <= most_gpa


def test_metals_are_stiffer_and_stronger_than_plastics() -> None:
    rows = {name: row.material for name, row in BUILT_IN.items()}
    for metal in ("aluminium", "steel"):
        for plastic in ("PLA", "PETG", "ABS", "nylon", "POM"):
            assert rows[metal].modulus_gpa > 10 * rows[plastic].modulus_gpa
            assert rows[metal].contact_mpa > 5 * rows[plastic].contact_mpa


def test_a_project_overrides_and_adds() -> None:
    steel = Material(name="steel", modulus_gpa=205.0, poisson=0.29, contact_mpa=900.0)
    oak = Material(name="oak", modulus_gpa=11.0, poisson=0.3, contact_mpa=12.0)
    shaft = Shaft(turn="clockwise", speed_rpm=6.0)
    found = materials_of(Project(format=FORMAT, version=VERSION, shaft=shaft, materials=(steel, oak)))
    assert found["steel"] is steel
    assert found["oak"] is oak
    assert found["PLA"] is BUILT_IN["PLA"].material
