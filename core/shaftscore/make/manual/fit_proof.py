"""The proof of the fit as rows of a table: play and shift of openings read back from files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isinf, isnan

from shaftscore.base.wording import counted, degrees, millimetres
from shaftscore.make.proof import FitProof
from shaftscore.make.solids.coupon import is_coupon

FIT_HEAD = ("Opening", "By the program", "Read back", "Play from", "to", "Shift off by", "Hold")
"""Columns of the table."""


def fit_rows(fits: Sequence[FitProof]) -> list[tuple[str, ...]]:
    """Return the fits that were read back as rows, those of one kind and play together."""
    return [_fit_row(found) for found in _alike(fits)]


def _alike(fits: Sequence[FitProof]) -> Iterator[list[FitProof]]:
    """Yield the fits that should be the same, those of coupons last."""
    kinds: dict[tuple[bool, str, float], list[FitProof]] = {}
    for fit in fits:
        kinds.setdefault((is_coupon(fit.part), fit.name, round(fit.program_deg, 6)), []).append(fit)
    for key in sorted(kinds, key=lambda key: key[0]):
        yield kinds[key]


def _fit_row(found: Sequence[FitProof]) -> tuple[str, ...]:
    first, plays = found[0], [play for fit in found for play in fit.play_deg]
    wrong = sum(bool(fit.found) for fit in found)
    return (
        f"coupon’s {first.name}" if is_coupon(first.part) else first.name,
        _play(first.program_deg),
        counted(len(found), "time"),
        _play(min(plays)),
        _play(max(plays)),
        millimetres(max(fit.shift_error_mm for fit in found), 4),
        "yes" if not wrong else f"{wrong} not",
    )


def _play(play_deg: float) -> str:
    if isnan(play_deg):
        return "does not fit"
    return "free" if isinf(play_deg) else f"±{degrees(play_deg, 3)}"
