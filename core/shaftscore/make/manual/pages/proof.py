"""The proof in short: what reading the files back showed, what is still open, and notes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from shaftscore.base.tolerance import PROOF_LIFT_MM, PROOF_PLAY_DEG, PROOF_SEAT_MM
from shaftscore.base.wording import counted, degrees, millimetres
from shaftscore.judge.findings import words
from shaftscore.judge.report import Report
from shaftscore.make.manual.context import ManualContext
from shaftscore.make.manual.fit_proof import FIT_HEAD, fit_rows
from shaftscore.make.manual.flow import gap, heading, section, text_table
from shaftscore.make.manual.markup import bold, para, plain_para, said
from shaftscore.make.proof import DiscProof

NOTHING_PROVED = (
    "No file that a follower can be run over was written together with this manual, so nothing is proved "
    "here. Export the discs (STL, 3MF or DXF) and the manual in one go."
)
"""What is said of a manual that was written alone."""


def proof(context: ManualContext) -> list[Any]:
    """Return the section."""
    content = [*_discs(context), *_fits(context), *_findings(context.report), *_notes(context)]
    return section("Proof and notes", "", content, context.room_mm)


def _discs(context: ManualContext) -> Iterator[Any]:
    if not context.proofs:
        yield plain_para(NOTHING_PROVED)
        yield gap(4.0)
        return
    worst = list(_worst(context.proofs))
    failed = sum(bool(one.faults) for one in context.proofs)
    yield plain_para(
        f"Each disc was read back from {counted(len(context.proofs), 'file')} and a follower run over it at "
        f"every tenth of a degree. Lift error: the largest difference from the program, limit "
        f"{millimetres(PROOF_LIFT_MM, 2)}. Shift: of the end of a state, the one that uses most of its "
        f"limit. {_verdict(failed)} "
        "Every file has its figures in manifest.json."
    )
    yield gap(2.0)
    head = ("Disc", "Worst file", "Lift error", "at", "Shift", "at", "Limit", "Holds")
    wide = context.wide_mm
    widths = (14.0, wide - 128.0, 20.0, 18.0, 20.0, 18.0, 20.0, 18.0)
    yield text_table(head, [_row(one, ok=ok) for one, ok in worst], widths, right=(2, 3, 4, 5, 6), small=True)
    yield gap(5.0)


def _verdict(failed: int) -> str:
    return "All hold." if not failed else f"{counted(failed, 'file')} failed."


def _worst(proofs: Sequence[DiscProof]) -> Iterator[tuple[DiscProof, bool]]:
    """Yield of each disc the file with the largest error, and whether all its files hold."""
    of_disc: dict[str, list[DiscProof]] = {}
    for one in proofs:
        of_disc.setdefault(one.part, []).append(one)
    for own in of_disc.values():
        yield max(own, key=_badness), not any(one.faults for one in own)


def _badness(one: DiscProof) -> tuple[bool, float]:
    touching = one.lift_error_mm == one.lift_error_mm  # NaN: nothing is touched
    return bool(one.faults), abs(one.lift_error_mm) if touching else float("inf")


def _row(one: DiscProof, *, ok: bool) -> tuple[str, ...]:
    touching = one.lift_error_mm == one.lift_error_mm  # as above
    no_state = one.state_at_deg is None
    return (
        one.part,
        one.file,
        millimetres(one.lift_error_mm, 4) if touching else "no contact",
        degrees(one.lift_at_deg),
        "no state" if no_state else degrees(one.state_shift_deg, 3),
        "" if one.state_at_deg is None else degrees(one.state_at_deg),
        "" if no_state else degrees(one.state_limit_deg, 3),
        "yes" if ok else "no",
    )


def _fits(context: ManualContext) -> Iterator[Any]:
    if not context.fits:
        return
    yield heading("Proof of the fit")
    yield gap(1.0)
    yield plain_para(
        "Every opening was read back at the middle of its height, without the corrections for the printer, "
        "and the nominal shaft, dogs or pins fitted into it over all shifts. Limits: "
        f"{degrees(PROOF_PLAY_DEG, 2)} of play, {millimetres(PROOF_SEAT_MM, 2)} of shift. The shaft’s own "
        "undersize is not in the files; it is counted in the play that “Before you print” states.",
        "column",
    )
    yield gap(1.0)
    own = context.wide_mm / 7
    yield text_table(FIT_HEAD, fit_rows(context.fits), [own] * 7, right=(1, 2, 3, 4, 5), small=True)
    yield gap(5.0)


def _findings(report: Report) -> Iterator[Any]:
    """Yield what the check found, causes with how many follow from them."""
    yield heading("Open findings")
    yield gap(1.0)
    folded = report.folded
    if not folded.roots:
        yield plain_para("None.")
    for finding in folded.roots:
        told = words(finding, report.project)
        place = ", ".join(filter(None, (told.lanes, told.where)))
        severity = finding.severity.name.capitalize()
        more = _and_following(len(folded.following(finding)))
        where = f" ({place})" if place else ""
        yield para(f"{bold(f'{severity}: {told.title}')}{said(where)}. {said(told.what)}{said(more)}")
        yield gap(0.8)
    yield gap(4.0)


def _and_following(count: int) -> str:
    """Return how many findings follow from one, as the end of its paragraph; empty for none."""
    return f" {count:,} more {'follows' if count == 1 else 'follow'} from it." if count else ""


def _notes(context: ManualContext) -> Iterator[Any]:
    """Yield what the export noted, and the notes of the project."""
    if context.order.notes:
        yield heading("Notes of the export")
        yield gap(1.0)
        for note in context.order.notes:
            yield plain_para(f"{note[:1].upper()}{note[1:]}.")
            yield gap(0.8)
        yield gap(4.0)
    if context.project.notes.strip():
        yield heading("Notes of the project")
        yield gap(1.0)
        for line in context.project.notes.splitlines():
            if line.strip():
                yield plain_para(line)
                yield gap(0.8)
