"""The error of a part that cannot be made."""

from __future__ import annotations


class SolidError(ValueError):
    """A body that cannot be made; says which part and why."""
