"""What the build sheet says of the proof of the fit: play and shift of openings read back from files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isinf, isnan

from shaftscore.base.tolerance import PROOF_PLAY_DEG, PROOF_SEAT_MM
from shaftscore.base.wording import counted, degrees, millimetres
from shaftscore.make.proof import FitProof
from shaftscore.make.sheet.paper import MUTED, SMALL_PT, Paper
from shaftscore.make.solids.coupon import is_coupon


def write_fits(paper: Paper, fits: Sequence[FitProof]) -> None:
    """Write the fits that were read back, those of one kind and play together."""
    if not fits:
        return
    paper.gap(5.0)
    paper.heading("Proof of the fit", keep_mm=30.0)
    paper.say(
        "Every opening was read back at the middle of its height, without the corrections for the printer, "
        "and the nominal shaft, dogs or pins fitted into it over all shifts. Limits: "
        f"{degrees(PROOF_PLAY_DEG, 2)} of play, {millimetres(PROOF_SEAT_MM, 2)} of shift. The shaft’s own "
        "undersize is not in the files; it is counted in the play that the assembly order states.",
        SMALL_PT,
        MUTED,
    )
    paper.gap()
    head = ("opening", "by the program", "read back", "play from", "to", "shift off by", "hold")
    paper.table(head, [_fit_row(found) for found in _alike(fits)], (14, 14, 14, 14, 14, 14, 8))


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
