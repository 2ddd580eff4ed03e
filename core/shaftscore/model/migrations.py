"""From files of earlier versions to the present one, a step a version.

A *migration* takes the plain values of a project of version n (lists as tuples) and gives those of version
n + 1. It runs before anything is validated, so it leaves alone what it does not know: an unknown key stays,
and is reported as a fault afterwards. To add a version: raise `model.project.VERSION`, add the migration
from the one before here, and put files of the version before into `tests/core/model/versions`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Plain = dict[str, Any]
"""The plain values of a project."""

FIRST = 1
"""The oldest version there is."""

TOLERANCES_OF_1: Plain = {"disc_angle_deg": 0.5, "profile_mm": 0.15}
"""Defaults of version 1 that version 2 has changed."""

EFFICIENCY_OF_1 = 0.9
"""Efficiency of a stage in version 1 where none was given; a worm now counts that of its kind."""


def to_the_built_machine(raw: Plain) -> Plain:
    """Bring version 1 to 2: write out defaults that have changed, and how the joints are set."""
    made = {**raw, "tolerances": _with_defaults(raw.get("tolerances", {}), TOLERANCES_OF_1)}
    if "stacks" in raw:
        made["stacks"] = _each(raw["stacks"], _with_joints)
    drive = raw.get("drive")
    if isinstance(drive, dict) and "stages" in drive:
        made["drive"] = {**drive, "stages": _each(drive["stages"], _with_efficiency)}
    return made


def _each(records: Any, change: Callable[[Plain], Plain]) -> Any:
    """Change every object of a list; anything else is left to the loader."""
    if not isinstance(records, tuple):
        return records
    return tuple(change(one) if isinstance(one, dict) else one for one in records)


def _with_defaults(record: Any, defaults: Plain) -> Any:
    return {**defaults, **record} if isinstance(record, dict) else record


def _with_efficiency(stage: Plain) -> Plain:
    return stage if stage.get("kind") == "worm" else {"efficiency": EFFICIENCY_OF_1, **stage}


def _with_joints(stack: Plain) -> Plain:
    """Replace `clamped`: false is "loose"; true, as when absent, is left out and means "as-they-lie"."""
    clamped = stack.get("clamped", True)
    if not isinstance(clamped, bool):
        return stack
    rest = {key: value for key, value in stack.items() if key != "clamped"}
    return rest if clamped else {**rest, "joints": "loose"}


MIGRATIONS: Mapping[int, Callable[[Plain], Plain]] = {1: to_the_built_machine}
"""Version to the migration from it to the next one."""


def migrated(raw: Plain, to: int, migrations: Mapping[int, Callable[[Plain], Plain]] = MIGRATIONS) -> Plain:
    """Bring the plain values of a project of any known version to version `to`; others are given back."""
    version = raw.get("version")
    if not isinstance(version, int) or isinstance(version, bool) or not FIRST <= version < to:
        return raw
    for step in range(version, to):
        raw = {**migrations[step](raw), "version": step + 1}
    return raw
