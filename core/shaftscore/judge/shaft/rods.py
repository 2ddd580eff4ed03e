"""The rod of a stack: its section, stiffness and strength, as far as the file describes them.

Stiffness is that of the project's table of materials, with G = E / (2 (1 + ν)). Yield strengths are those
of `shaftscore.built.materials`, by name; of another material the stress is computed and not judged.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.built.materials import SOLID_MATERIALS
from shaftscore.built.sections import (
    CrossSection,
    flat_section,
    hexagon_section,
    ring_section,
    square_section,
    thread_section,
)
from shaftscore.built.threads import thread_named
from shaftscore.model import Material, Project, Stack
from shaftscore.model.materials import materials_of
from shaftscore.model.shaft import Rod


@dataclass(frozen=True)
class RodFigures:
    """A rod: its section, rigidities E I and G J in N mm², and its yield strength in MPa, None if not known.

    nominal_mm: diameter or width across flats. nut_mm: nominal diameter of its thread, None without one.
    """

    section: CrossSection
    bending_nmm2: float
    torsion_nmm2: float
    yield_mpa: float | None
    nominal_mm: float
    nut_mm: float | None


def rod_figures(project: Project, stack: Stack, rod: Rod) -> RodFigures | str:
    """Return the figures of a stack's rod, or the sentence that says what is missing for them."""
    section = _section(stack, rod)
    if isinstance(section, str):
        return section
    elastic, shear = moduli_mpa(materials_of(project)[rod.material])
    strength = SOLID_MATERIALS.get(rod.material.lower())
    return RodFigures(
        section,
        elastic * section.inertia_mm4,
        shear * section.torsion_mm4,
        None if strength is None else strength.yield_mpa,
        rod.across_mm,
        None if rod.thread is None else thread_named(rod.thread).nominal_mm,
    )


def moduli_mpa(material: Material) -> tuple[float, float]:
    """Return the elastic and the shear modulus of a material, MPa."""
    elastic = 1000 * material.modulus_gpa
    return elastic, elastic / (2 * (1 + material.poisson))


def _section(stack: Stack, rod: Rod) -> CrossSection | str:
    shape = rod.shape_in(stack.bore)
    if rod.thread is not None:
        return thread_section(thread_named(rod.thread))
    if shape == "hex":
        return hexagon_section(rod.across_mm)
    if shape == "square":
        return square_section(rod.across_mm)
    return ring_section(rod.across_mm) if shape == "round" else _flat(stack, rod)


def _flat(stack: Stack, rod: Rod) -> CrossSection | str:
    """Return the section of a D, or the sentence that its flat is missing."""
    flat = rod.flat_in(stack.bore)
    if flat is None:
        return "The flat of its rod is not described: the bore is not a D."
    return flat_section(rod.across_mm, flat)
