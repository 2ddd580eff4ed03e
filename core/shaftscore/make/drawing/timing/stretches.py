"""Stretches of curves that findings are about: they are thickened.

Stretches that overlap are one; of very many, those too that are near to one another.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shaftscore.base.angles import Arcs, Span
from shaftscore.judge.findings import Finding, Severity
from shaftscore.make.drawing.timing.columns import MOST_APART

OF_MOTION = frozenset(
    {
        "pass-through",
        "pressure-angle",
        "self-locking",
        "undercut",
        "sharp-crest",
        "tight-hollow",
        "knife-edge",
        "velocity-jump",
        "acceleration-jump",
        "face-width",
        "float",
        "weak-spring",
        "spring-solid",
        "spring-stress",
        "contact-stress",
        "drop-late",
    }
)
"""Rules about the motion itself: their findings thicken the curve."""


@dataclass(frozen=True)
class ThickSpans:
    """Stretches of a lane's curve that are thickened; dense: so many that what lies between is not seen."""

    arcs: Arcs
    dense: bool


def thick_spans(findings: Sequence[Finding], gap_deg: float) -> dict[tuple[Severity, str], ThickSpans]:
    """Return what is thickened, the worst last; gap_deg: what is not seen between two stretches, degrees.

    Stretches that overlap are one; of very many, those too that are nearer to one another than `gap_deg`.
    """
    return {
        key: ThickSpans(bridged(spans, gap_deg), True)
        if len(spans) > MOST_APART
        else ThickSpans(Arcs.of(spans), False)
        for key, spans in _stretches(findings).items()
    }


def _stretches(findings: Sequence[Finding]) -> dict[tuple[Severity, str], list[Span]]:
    """Return the stretches that findings of the motion are about, by severity and lane, the worst last."""
    found: dict[tuple[Severity, str], list[Span]] = {}
    for finding in findings:
        if finding.rule not in OF_MOTION or finding.severity is Severity.NOTE:
            continue
        if finding.span is not None and not finding.span.is_full:
            for lane_id in finding.lanes:
                found.setdefault((finding.severity, lane_id), []).append(finding.span.spans[0])
    return dict(sorted(found.items(), key=lambda item: item[0][0].rank, reverse=True))


def bridged(spans: Sequence[Span], gap_deg: float) -> Arcs:
    """Return stretches (start, length) with those joined that are at most so far apart, degrees."""
    wide = Arcs.of((start - gap_deg / 2, length + gap_deg) for start, length in spans)
    if wide.is_full:
        return wide
    return Arcs.of((start + gap_deg / 2, max(0.0, length - gap_deg)) for start, length in wide.spans)
