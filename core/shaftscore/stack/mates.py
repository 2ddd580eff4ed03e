"""What turns the parts of a stack, as the closed forms of `shaftscore.built.fits`."""

from __future__ import annotations

from shaftscore.built.fits import DogMate, FlatMate, Mate, PinMate, PolygonMate, RoundMate
from shaftscore.model import Bore, Dogs, Pins, Rod

SIDES = {"hex": 6, "square": 4}
"""Sides of the regular bores."""


def bore_mate(bore: Bore, rod: Rod | None = None) -> Mate:
    """Return the mate of a bore on its rod, or on one of its own section; another shape does not turn it."""
    across = bore.across_mm if rod is None else rod.across_mm
    if rod is not None and rod.shape_in(bore) != bore.shape:
        return RoundMate()
    if bore.shape in SIDES:
        return PolygonMate(SIDES[bore.shape], across)
    flat = bore.flat_mm if rod is None else rod.flat_in(bore)
    if bore.shape == "d" and flat is not None:
        return FlatMate(across, flat)
    return RoundMate()


def dog_mate(dogs: Dogs) -> Mate:
    """Return the mate of dogs in the pockets of the next part."""
    return DogMate(dogs.count, dogs.radius_mm)


def pin_mate(pins: Pins) -> Mate:
    """Return the mate of pin holes on their pins."""
    return PinMate(pins.radius_mm)
