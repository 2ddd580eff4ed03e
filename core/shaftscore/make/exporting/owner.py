"""Whose export a folder holds: this machine's, or another's.

A project file has no serial number, so the manifest is asked for two things that a person recognises a
machine by. One of the *same name* (capitals and blanks aside) is this one as long as they share a lane,
however much was edited since. One of *another name* is this one, renamed, only if every disc there is one
of this machine's, of the same lane and unchanged: then nothing is lost by replacing it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from shaftscore.make.exporting.outcome import AnotherMachineError
from shaftscore.make.files.order import OrderedPart
from shaftscore.model import Project


def refuse_another(
    before: Mapping[str, object] | None, project: Project, items: Sequence[OrderedPart], out: object
) -> None:
    """Raise AnotherMachineError if a folder's manifest is that of another machine; None: it has none."""
    if before is None or is_same_machine(before, project.name, items):
        return
    theirs = str(before["project"])
    if _plain(theirs) == _plain(project.name):
        said = f'another machine, also called "{theirs}"'
    else:
        said = f'another machine, "{theirs}"; this one is "{project.name}"'
    raise AnotherMachineError(
        f"{out} holds the export of {said}: choose another folder", (theirs, project.name)
    )


def is_same_machine(before: Mapping[str, object], name: str, items: Sequence[OrderedPart]) -> bool:
    """Return whether a manifest is that of an earlier export of the machine of this name and these parts."""
    parts = before["parts"]
    discs = [part for part in parts if part["lane"] is not None] if isinstance(parts, list) else []
    if _plain(str(before["project"])) == _plain(name):
        lanes = {item.part.lane_id for item in items}
        return not discs or any(part["lane"] in lanes for part in discs)
    now = {(item.part.lane_id, item.part.code, item.part.hash) for item in items}
    return bool(discs) and all((part["lane"], part["code"], part["hash"]) in now for part in discs)


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()
