"""Sizes of paper, upright."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PaperSize:
    """A size of paper, upright, mm."""

    name: str
    wide_mm: float
    high_mm: float


A4 = PaperSize("A4", 210.0, 297.0)
"""ISO 216."""

LETTER = PaperSize("Letter", 215.9, 279.4)
"""ANSI/ASME Y14.1, size A."""
