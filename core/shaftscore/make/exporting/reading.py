"""Reading a file of an export back and judging it, whatever it contains."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from shaftscore.make.files.names import holds_parts
from shaftscore.make.files.order import MADE, OrderedPart, Planned
from shaftscore.make.proof import (
    OWN_READERS,
    READERS,
    ExpectedCopies,
    FileVerdict,
    Judge,
    PartTask,
    RimError,
    unreadable,
)


def verdict_of(
    file: Planned, path: Path, items: Sequence[OrderedPart], judge: Judge, *, own: bool = False
) -> FileVerdict:
    """Read a planned file back from a path and judge it; nothing is found of a file without parts.

    items: the parts that its own should be like, by their codes. own: this process wrote the file a moment
    ago. Raises OSError if it cannot be read.
    """
    if file.format not in READERS or not holds_parts(file.name):
        return FileVerdict()
    codes = {item.part.code for item in file.items}
    tasks = [item.task(file.format) for item in items if item.part.code in codes]
    return judged(path, file.format, tasks, file.copies, judge, own=own)


def judged(
    path: Path,
    kind: str,
    tasks: Sequence[PartTask],
    copies: ExpectedCopies | None,
    judge: Judge,
    *,
    own: bool = False,
) -> FileVerdict:
    """Read a file of a format and judge it; one that cannot be read is a fault. Raises OSError."""
    read = (OWN_READERS if own else READERS)[kind]
    try:
        contents = read(path, tasks[0].code if tasks else "", len(tasks))
    except RimError as error:
        return FileVerdict(faults=(unreadable(path.name, error),))
    if MADE[kind] == "printed":
        judge.keep_bodies(contents, tasks)
    return judge.judge(contents, tasks, copies)
