"""From files of earlier versions to the present one, a step a version.

A *migration* takes the plain values of a project of version n (lists as tuples) and gives those of version
n + 1. It runs before anything is validated, so it leaves alone what it does not know: an unknown key stays,
and is told as a fault afterwards. To add a version: raise `model.project.VERSION`, add the migration
from the one before here, and put files of the version before into `tests/core/model/versions`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Plain = dict[str, Any]
"""The plain values of a project."""

FIRST = 1
"""The oldest version there is."""

MIGRATIONS: Mapping[int, Callable[[Plain], Plain]] = {}
"""Version to the migration from it to the next one."""


def migrated(raw: Plain, to: int, migrations: Mapping[int, Callable[[Plain], Plain]] = MIGRATIONS) -> Plain:
    """Bring the plain values of a project of any known version to version `to`; others are given back."""
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or not FIRST <= version < to:
        return raw
    for step in range(version, to):
        raw = {**migrations[step](raw), "version": step + 1}
    return raw
