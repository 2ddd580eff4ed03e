"""What turns the parts of a stack, as the closed forms of `shaftscore.built.fits`."""

from __future__ import annotations

from shaftscore.built.fits import DogMate, FlatMate, Mate, PinMate, PolygonMate, RoundMate
from shaftscore.model import Bore, Dogs, Pins

SIDES = {"hex": 6, "square": 4}
"""Sides of the regular bores."""


def bore_mate(bore: Bore) -> Mate:
    """Return the mate of a bore on a rod of its own section."""
    if bore.shape in SIDES:
        return PolygonMate(SIDES[bore.shape], bore.across_mm)
    if bore.shape == "d" and bore.flat_mm is not None:
        return FlatMate(bore.across_mm, bore.flat_mm)
    return RoundMate()


def dog_mate(dogs: Dogs) -> Mate:
    """Return the mate of dogs in the pockets of the next part."""
    return DogMate(dogs.count, dogs.radius_mm)


def pin_mate(pins: Pins) -> Mate:
    """Return the mate of pin holes on their pins."""
    return PinMate(pins.radius_mm)
