"""The day of today, as files are dated."""

from __future__ import annotations

from datetime import date


def today() -> str:
    """Return the day as year-month-day (ISO 8601)."""
    return date.today().isoformat()
