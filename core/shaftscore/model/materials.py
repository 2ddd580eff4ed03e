"""The built-in table of materials: what contact pressure, stiffness, teeth and mass are reckoned with.

Young's modulus in GPa, Poisson's ratio, allowed pressure of a line contact (Hertz) and strength in tension in
MPa, density in g/cm³: typical data-sheet values, from memory. The values are ordinary ones for parts at room
temperature that run for a long time with little lubrication; a maker who knows better writes the material
into the project, which then goes before this table.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from shaftscore.model.project import Material, Project


@dataclass(frozen=True)
class MaterialRow:
    """One material of the table, where its values come from, and whether parts of it are printed."""

    material: Material
    source: str
    printed: bool = True


def _row(
    name: str, values: tuple[float, float, float, float], source: str, *, density: float, printed: bool = True
) -> MaterialRow:
    """Return a material by modulus GPa, ratio, allowed pressure MPa, strength MPa and density g/cm³."""
    modulus, poisson, contact, strength = values
    made = Material(
        name=name,
        modulus_gpa=modulus,
        poisson=poisson,
        contact_mpa=contact,
        strength_mpa=strength,
        density_g_cm3=density,
    )
    return MaterialRow(made, source, printed)


_PRINTED = (
    "modulus, ratio, strength and density: typical data-sheet value for printed parts, ask your supplier; "
    "allowed pressure: common practice, no source (about half the strength in compression)"
)
_PLASTIC = (
    "modulus, ratio, strength and density: typical data-sheet value, ask your supplier; "
    "allowed pressure: common practice, no source (dry running against steel)"
)
_METAL = (
    "modulus, ratio and density: as in any handbook of engineering; "
    "strength: typical data-sheet value of ordinary grades, ask your supplier; "
    "allowed pressure: common practice, no source (unhardened, lightly oiled)"
)

BUILT_IN: Mapping[str, MaterialRow] = MappingProxyType(
    {
        row.material.name: row
        for row in (
            _row("PLA", (3.3, 0.36, 30.0, 50.0), _PRINTED, density=1.24),
            _row("PETG", (2.0, 0.38, 25.0, 45.0), _PRINTED, density=1.27),
            _row("ABS", (2.1, 0.37, 22.0, 38.0), _PRINTED, density=1.04),
            _row("nylon", (1.7, 0.40, 25.0, 60.0), _PLASTIC, density=1.14),
            _row("POM", (2.8, 0.37, 35.0, 65.0), _PLASTIC, density=1.41),
            _row("aluminium", (70.0, 0.33, 250.0, 270.0), _METAL, density=2.7, printed=False),
            _row("steel", (210.0, 0.30, 600.0, 400.0), _METAL, density=7.85, printed=False),
        )
    }
)
"""Material by name, with its source."""


def materials_of(project: Project) -> Mapping[str, Material]:
    """Return every material that a project may name: the built-in ones, overridden by its own."""
    table = {name: row.material for name, row in BUILT_IN.items()}
    return table | {material.name: material for material in project.materials}


def density_g_cm3(project: Project, name: str) -> float | None:
    """Return the density of a material, g/cm³: the project's own, else that of the table.

    None if neither has one.
    """
    own = materials_of(project)[name].density_g_cm3
    built_in = BUILT_IN.get(name)
    return built_in.material.density_g_cm3 if own is None and built_in is not None else own


def is_printed(name: str) -> bool:
    """Return whether parts of a material are printed: all but those of the table's metals."""
    return name not in BUILT_IN or BUILT_IN[name].printed
