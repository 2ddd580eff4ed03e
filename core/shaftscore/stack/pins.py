"""Pins: rods through every disc and spacer of a stack, in plan view.

The pins are on a circle, evenly spaced. The zero mark is midway between two of them, so that no hole
cuts it and none is in line with the long dog.
"""

from __future__ import annotations

import cmath
import math

import numpy as np

from shaftscore.model import Dogs, Pins
from shaftscore.stack.paths import BulgePath, circle


def pin_places(pins: Pins) -> tuple[complex, ...]:
    """Return the axes of the pins, counterclockwise from the zero mark, mm."""
    return tuple(
        pins.radius_mm * cmath.exp(2j * math.pi * (place + 0.5) / pins.count) for place in range(pins.count)
    )


def pin_paths(pins: Pins, grow_mm: float) -> tuple[BulgePath, ...]:
    """Return the outlines of the pins with their walls moved outward by `grow_mm`.

    Raises ValueError if nothing of a hole is left.
    """
    radius = pins.across_mm / 2 + grow_mm
    if radius <= 0:
        raise ValueError(f"pin holes cannot be made {-grow_mm:g} mm smaller on each side")
    return tuple(circle(radius, at) for at in pin_places(pins))


def pin_web_mm(pins: Pins) -> float:
    """Return the least material between the holes of two neighbouring pins, mm."""
    apart = 2 * pins.radius_mm * math.sin(math.pi / pins.count)
    return apart - 2 * pins.hole_radius_mm


def pin_dog_web_mm(pins: Pins, dogs: Dogs, clearance_mm: float) -> float:
    """Return the least material between the hole of a pin and the pocket of a dog, mm.

    clearance_mm: by which pockets are wider than dogs, to each side, mm.
    """
    axes = np.array(pin_places(pins))
    pegs = dogs.radius_mm * np.exp(2j * np.pi * np.arange(dogs.count) / dogs.count)
    apart = np.abs(axes[:, None] - pegs[None, :])
    half = dogs.width_mm / 2
    along = np.clip(axes.imag, -half, half)  # of the long dog, a straight slot at +x
    apart[:, 0] = np.abs(axes - (dogs.radius_mm + 1j * along))
    return float(apart.min()) - half - clearance_mm - pins.hole_radius_mm
