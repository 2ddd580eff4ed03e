"""Whether a part has room on the printer's bed: as it lies in its file, or by a quarter turn."""

from __future__ import annotations

import numpy as np

from shaftscore.layout.bed import fits_bed
from shaftscore.make.solids.part import MadePart
from shaftscore.model import Print

__all__ = ["file_size_mm", "fits_bed", "too_large_text"]


def file_size_mm(part: MadePart) -> tuple[float, float, float]:
    """Return width, depth and height of a part in a printer's file, mm."""
    low, high = part.printer_outline.min(axis=0), part.printer_outline.max(axis=0)
    for body in part.raised:
        ring = body.printer_path.flattened(0.1)
        low, high = np.minimum(low, ring.min(axis=0)), np.maximum(high, ring.max(axis=0))
    wide, deep = (float(size) * part.scale for size in high - low)
    return wide, deep, part.top_mm


def too_large_text(printer: Print, part: MadePart) -> str:
    """Describe a part that does not fit, with its size and that of the bed."""
    wide, deep, high = file_size_mm(part)
    return (
        f"{part.code}: {wide:.0f} x {deep:.0f} x {high:.0f} mm is larger than the printer's "
        f"{printer.bed_x_mm:g} x {printer.bed_y_mm:g} x {printer.bed_z_mm:g} mm"
    )
