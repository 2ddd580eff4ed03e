"""The errors of a machine as drawn: those that an arrangement, or another speed, can be refused for."""

from __future__ import annotations

from collections.abc import Iterable

from shaftscore.judge.findings import Finding, Severity

BY_TOLERANCES = "unlikely"
"""The rule that fits and tolerances decide, more than where blocks are or how fast the shaft turns."""


def errors_as_drawn(findings: Iterable[Finding]) -> list[Finding]:
    """Return the errors among findings, but for how many of the machines built to it would work."""
    return [one for one in findings if one.severity is Severity.ERROR and one.rule != BY_TOLERANCES]
