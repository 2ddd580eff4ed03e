"""The icon of each severity."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from shaftscore.judge.findings import Severity

SIGNS: Mapping[Severity, str] = MappingProxyType(
    {
        Severity.ERROR: "severity-error",
        Severity.WARNING: "severity-warning",
        Severity.NOTE: "severity-note",
    }
)
"""Severity to icon name."""
