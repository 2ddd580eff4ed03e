"""The icon of each severity, and how an item of a table shows that its value is over a limit."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QTableWidgetItem

from shaftscore.judge.findings import Severity
from shaftscore_app.theme.theme import Theme

SIGNS: Mapping[Severity, str] = MappingProxyType(
    {
        Severity.ERROR: "severity-error",
        Severity.WARNING: "severity-warning",
        Severity.NOTE: "severity-note",
    }
)
"""Severity to icon name."""


def mark_over(item: QTableWidgetItem, theme: Theme, what: str) -> None:
    """Mark an item whose value is over a limit by a sign, a colour, and for screen readers by words."""
    item.setIcon(theme.icon(SIGNS[Severity.ERROR], 12, "error"))
    item.setForeground(theme.color("error"))
    item.setData(Qt.ItemDataRole.AccessibleTextRole, f"{item.text()}, {what}")
