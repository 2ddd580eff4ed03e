"""What the real solver has against an answer, and what the next search learns from it.

A lane whose disc or forces are objected to gets longer moves. What is said of the machine as a whole, such
as teeth that its torque breaks, names no lane: then the lanes that ask more torque than as drawn keep the
lengths of their moves. Only a search for the least change can be asked for more margin: any other has the
most already.
"""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.judge.checks.parts import disc_radius_mm
from shaftscore.judge.findings import Finding, Severity
from shaftscore.placing.shortest import Shortest
from shaftscore.placing.standing import Standing

LONGER = 1.1
"""A move whose disc or forces the real solver objects to is made longer by this factor."""

LARGER_MM = 0.05
"""A disc is larger than before if it is by this."""

HIGHER = 0.01
"""A lane asks more torque than before if it does by this share."""

TIMING = frozenset(
    (
        "no-time",
        "pass-through",
        "overlap",
        "interlock",
        "starvation",
        "collision",
        "double-release",
        "missed-release",
        "misrouted",
        "wrong-order",
        "drop-late",
    )
)
"""Rules about the timing: where the model holds and these are found, more margin is required."""


@dataclass(frozen=True)
class Objections:
    """Findings that stand against answers.

    too_large: lanes whose discs are larger than any may be. strained: lanes that ask more torque than as
    drawn, where a finding is about the machine as a whole.
    """

    findings: tuple[Finding, ...] = ()
    too_large: frozenset[str] = frozenset()
    strained: frozenset[str] = frozenset()

    @staticmethod
    def against(standing: Standing, drawn: Standing, *, discs_may_grow: bool) -> Objections:
        """Return what there is against an answer: errors in its timing, and what was not there before."""
        known = {(finding.rule, finding.lanes) for finding in drawn.report.findings}
        fresh = [one for one in standing.errors if one.rule in TIMING]
        fresh += [
            finding
            for finding in standing.report.findings
            if finding.severity is not Severity.NOTE
            and finding not in fresh
            and (finding.rule, finding.lanes) not in known
        ]
        whole = any(not one.lanes and one.rule not in TIMING for one in fresh)
        larger = frozenset() if discs_may_grow else _larger(standing, drawn)
        return Objections(tuple(fresh), larger, _strained(standing, drawn) if whole else frozenset())

    def __bool__(self) -> bool:
        """Return whether there are any."""
        return bool(self.findings or self.too_large)

    def __add__(self, other: Objections) -> Objections:
        """Return all of both."""
        return Objections(
            (*self.findings, *other.findings),
            self.too_large | other.too_large,
            self.strained | other.strained,
        )

    @property
    def are_of_shape(self) -> bool:
        """Whether more margin would answer none of them."""
        return bool(self) and not any(one.rule in TIMING for one in self.findings)

    @property
    def ask_margin(self) -> bool:
        """Whether some may be answered by more margin."""
        return any(one.rule in TIMING or not one.lanes for one in self.findings)

    def teach(self, shortest: Shortest) -> bool:
        """Make moves longer as they ask for it; return whether any now is."""
        of_shape = (one.lanes for one in self.findings if one.rule not in TIMING)
        longer = [
            shortest.longer(lane_id, index, LONGER)
            for lane_id in sorted(self.too_large.union(*of_shape))
            for index in shortest.blocks_of(lane_id)
        ]
        kept = [
            shortest.stay(lane_id, index)
            for lane_id in sorted(self.strained)
            for index in shortest.blocks_of(lane_id)
        ]
        return any(longer) or any(kept)


def _larger(standing: Standing, drawn: Standing) -> frozenset[str]:
    """Return the lanes whose discs became larger than the largest as drawn."""
    most = drawn.largest_disc_mm
    profiles = {key: lane.profile for key, lane in standing.report.solution.lanes.items()}
    return frozenset(
        key
        for key, profile in profiles.items()
        if most is not None and profile is not None and disc_radius_mm(profile) > most + LARGER_MM
    )


def _strained(standing: Standing, drawn: Standing) -> frozenset[str]:
    """Return the lanes that ask more torque than as drawn."""
    now, then = _peaks(standing), _peaks(drawn)
    return frozenset(key for key, peak in now.items() if peak > then.get(key, 0.0) * (1 + HIGHER))


def _peaks(standing: Standing) -> dict[str, float]:
    """Return the greatest torque of each lane that has one, N·m."""
    loads = standing.report.loads
    peaks = {} if loads is None else {key: lane.peak_torque for key, lane in loads.lanes.items()}
    return {key: peak.value for key, peak in peaks.items() if peak is not None}
