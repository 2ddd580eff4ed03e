"""Mass, time and filament that a printer needs for a part: an estimate, from the part's own cross sections.

Each layer is a cross section of the body. Around it run the *walls*, as many lines as the project says;
what is left inside is *solid* where there is no material within SKIN_MM above or below, else it holds the
share of lines that the project calls its infill. A line is line_mm wide and as high as its layer, and is
laid at a usual speed, or as fast as flow_mm3_s allows where that is slower. Between lines the nozzle travels.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from shaftscore.base.wording import counted, plain
from shaftscore.make.solids import Mesh
from shaftscore.model import Print

SKIN_MM = 0.8
"""Height of the solid layers below and above (common practice, no source)."""

WALL_MM_S, FILL_MM_S, FIRST_MM_S, TRAVEL_MM_S = 40.0, 60.0, 20.0, 120.0
"""Speeds along walls, along infill, in the first layer, and of travel, mm/s (common practice, no source)."""

FILAMENT_MM = 1.75
"""Diameter of the filament."""

SAME_MM = 1e-4
"""Faces nearer to one another than this are at one height."""

PLAIN_MM = 0.01
"""Cross sections are simplified by this much."""


@dataclass(frozen=True)
class PrintEstimate:
    """What one or several parts need: mass, g; time, h; length of filament, m.

    The mass is None where a density is not known; time and filament of what is not printed are 0.
    """

    mass_g: float | None
    hours: float
    filament_m: float


def summed(parts: Iterable[PrintEstimate]) -> PrintEstimate:
    """Return what several parts need together; the mass is not known where that of one of them is not."""
    each = list(parts)
    known = [part.mass_g for part in each if part.mass_g is not None]
    mass = sum(known) if len(known) == len(each) else None
    return PrintEstimate(mass, sum(part.hours for part in each), sum(part.filament_m for part in each))


def assumptions(printer: Print) -> str:
    """Describe in one sentence what estimates assume."""
    return (
        f"{counted(printer.walls, 'wall')} of {plain(printer.line_mm)} mm, {plain(printer.infill_percent)} % "
        f"infill, layers of {plain(printer.layer_mm)} mm, solid for {plain(SKIN_MM)} mm below and above, "
        f"walls at {plain(WALL_MM_S)} mm/s, infill at {plain(FILL_MM_S)} mm/s, the first layer at "
        f"{plain(FIRST_MM_S)} mm/s, at most {plain(printer.flow_mm3_s)} mm³/s, filament of "
        f"{plain(FILAMENT_MM)} mm; without heating, acceleration, brim and supports"
    )


def printed_estimate(body: Mesh, printer: Print, density_g_cm3: float | None) -> PrintEstimate:
    """Estimate what a body needs on a printer; density in g/cm³, None if it is not known."""
    laid = [_laid(layer, printer) for layer in _layers(body, printer)]
    volume = sum(one.volume_mm3 for one in laid)
    length = volume / (math.pi * FILAMENT_MM**2 / 4)
    mass = None if density_g_cm3 is None else volume * density_g_cm3 / 1000
    return PrintEstimate(mass, sum(one.seconds for one in laid) / 3600, length / 1000)


def solid_estimate(volume_mm3: float, density_g_cm3: float | None) -> PrintEstimate:
    """Return the mass of a part that is cut, not printed; volume in mm³, density in g/cm³."""
    mass = None if density_g_cm3 is None else volume_mm3 * density_g_cm3 / 1000
    return PrintEstimate(mass, 0.0, 0.0)


@dataclass(frozen=True)
class _Section:
    """What all layers between two neighbouring faces share: their area, and what is left inside the walls."""

    area: Any
    inner: Any

    @cached_property
    def span_mm(self) -> tuple[float, float]:
        """Width and half diagonal of what is around it."""
        left, low, right, high = self.area.bounds()
        return right - left, math.hypot(right - left, high - low) / 2


@dataclass(frozen=True)
class _Layer:
    """One layer: its section, its height, the solid area inside its walls, whether it is the first."""

    section: _Section
    high_mm: float
    solid_mm2: float
    first: bool


@dataclass(frozen=True)
class _Laid:
    """Material and time of a layer."""

    volume_mm3: float
    seconds: float


def _layers(body: Mesh, printer: Print) -> list[_Layer]:
    """Cut a body into layers."""
    bottoms, heights = _heights(float(body.corners[:, 2].max()), printer)
    faces = _faces(body)
    places = np.clip(np.searchsorted(faces, bottoms + heights / 2), 1, len(faces) - 1)
    sections = _sections(body, faces, sorted(set(places.tolist())), printer)
    skin = math.ceil(SKIN_MM / printer.layer_mm - 1e-9)
    solid: dict[tuple[int, frozenset[int] | None], float] = {}
    layers = []
    for number, (place, high) in enumerate(zip(places.tolist(), heights.tolist(), strict=True)):
        near = range(number - skin, number + skin + 1)
        inside = near[0] >= 0 and near[-1] < len(places)
        key = place, frozenset(places[near[0] : near[-1] + 1].tolist()) if inside else None
        if key not in solid:
            solid[key] = _solid_mm2(sections, *key)
        layers.append(_Layer(sections[place], high, solid[key], number == 0))
    return layers


def _heights(top_mm: float, printer: Print) -> tuple[Any, Any]:
    """Return bottoms and heights of the layers of a part, mm: as many as its height holds, rounded."""
    above = max(0, round((top_mm - printer.first_layer_mm) / printer.layer_mm))
    heights = np.array([printer.first_layer_mm] + [printer.layer_mm] * above)
    return np.cumsum(heights) - heights, heights


def _faces(body: Mesh) -> Any:
    """Return the heights at which corners of a body lie, ascending, each once."""
    found = np.unique(body.corners[:, 2])
    return found[np.concatenate([[True], np.diff(found) > SAME_MM])]


def _sections(body: Mesh, faces: Any, places: Iterable[int], printer: Print) -> dict[int, _Section]:
    """Return the sections at mid height between each of some faces and the one below it."""
    from manifold3d import JoinType, Manifold, Mesh64  # kept off the start-up path

    solid = Manifold(Mesh64(body.corners, body.triangles.astype(np.uint64)))
    sections = {}
    for place in places:
        area = solid.slice(float(faces[place - 1] + faces[place]) / 2).simplify(PLAIN_MM)
        inner = area.offset(-printer.walls * printer.line_mm, JoinType.Miter)
        sections[place] = _Section(area, inner)
    return sections


def _solid_mm2(sections: dict[int, _Section], place: int, near: frozenset[int] | None) -> float:
    """Return how much of a section's inside has no material above or below; near None: all of it."""
    inner = sections[place].inner
    if near is None:
        return float(inner.area())
    for other in sorted(near - {place}):
        inner = inner ^ sections[other].area
    return float(sections[place].inner.area() - inner.area())


def _laid(layer: _Layer, printer: Print) -> _Laid:
    """Return what the lines of a layer need."""
    inside = float(layer.section.inner.area())
    walls = (float(layer.section.area.area()) - inside) / printer.line_mm
    share = printer.infill_percent / 100
    fill = (layer.solid_mm2 + (inside - layer.solid_mm2) * share) / printer.line_mm
    fastest = printer.flow_mm3_s / (printer.line_mm * layer.high_mm)
    usual = (FIRST_MM_S, FIRST_MM_S) if layer.first else (WALL_MM_S, FILL_MM_S)
    along_walls, along_fill = (min(speed, fastest) for speed in usual)
    seconds = walls / along_walls + fill / along_fill + _travel_mm(layer, printer) / TRAVEL_MM_S
    return _Laid((walls + fill) * printer.line_mm * layer.high_mm, seconds)


def _travel_mm(layer: _Layer, printer: Print) -> float:
    """Return the way between lines: half the part to each wall, one step to each line of infill."""
    wide, half = layer.section.span_mm
    loops = printer.walls * int(layer.section.area.num_contour())
    return float(loops * half + wide * (layer.section.inner.area() > 0))
