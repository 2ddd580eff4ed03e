"""The journal of a project's edits: a file to which a line is added for every change.

Each line is a checksum and a JSON object. The first line, the *head*, says which file the journal
belongs to. A line after it holds the *step* that was made and what it changed: a whole project, or the
keys of the project that are others now, where lanes that stayed are named by their place. So a change of
one lane of thousands costs one lane. A last line that was cut off by a power loss is left out. Work that is
no part of the project yet (a program that is being made) is *aside*: a line has it where it has changed.
"""

from __future__ import annotations

import json
import os
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from shaftscore.base.errors import ProjectError
from shaftscore.model.loader import read_project
from shaftscore.model.project import Project

VERSION = 1
"""Of the journal's own form; another one is not read."""

MOST_BYTES = 256 << 20
"""A longer journal is not read: none of ours is."""

Plain = dict[str, Any]
"""A JSON object; Any, since what a file holds is known only once `read_project` has looked at it."""


@dataclass(frozen=True)
class Head:
    """Which file a journal belongs to.

    path: the file, None where there is none yet. name: as the title says it. digest: of the file's bytes
    when the journal began, empty without a file (`shaftscore_app.runtime.files.Stamp`).
    """

    path: Path | None
    name: str
    digest: str


@dataclass(frozen=True)
class JournalContents:
    """What a journal gives back.

    project: None where no line of it can be read as a project; `trouble` then says why. when: of the last
    line. steps: how many steps that is from the saved file. last_step: the name of the last step. aside:
    work that is no part of the project, None where there was none.
    """

    head: Head
    project: Project | None
    when: datetime
    steps: int
    last_step: str
    trouble: str = ""
    aside: Plain | None = None


class Journal:
    """Writes one journal. Every method may raise OSError."""

    def __init__(self, path: Path, head: Head) -> None:
        """Begin a journal at `path`, where there must be none yet."""
        self._path = path
        self._written: Project | None = None
        self._aside: Plain | None = None
        self._handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | os.O_APPEND, 0o600)
        self._size = 0
        place = None if head.path is None else str(head.path)
        try:
            self._add({"journal": VERSION, "path": place, "name": head.name, "digest": head.digest})
        except OSError:
            os.close(self._handle)
            raise

    @property
    def size(self) -> int:
        """Bytes written so far."""
        return self._size

    def add(
        self, project: Project, step: str, steps: int, when: datetime, aside: Plain | None = None
    ) -> None:
        """Write that `project` is the current one now; the system has the line when this returns.

        aside: work that is no part of the project.
        """
        line: Plain = {"step": step, "steps": steps, "when": when.isoformat()}
        if aside != self._aside:
            line["aside"] = aside
        self._add(line | change(self._written, project))
        self._written, self._aside = project, aside

    def syncing(self) -> Callable[[], None]:
        """Return what forces all that is written by now to the disk; it may be called on any thread, once."""
        handle = os.dup(self._handle)  # this object may close its own meanwhile

        def sync() -> None:
            try:
                os.fsync(handle)
            finally:
                os.close(handle)

        return sync

    def move(self, path: Path) -> None:
        """Put the file in the place of another one and go on writing to it."""
        os.close(self._handle)  # some systems do not move an open file
        self._path.replace(path)
        self._path = path
        self._handle = os.open(path, os.O_WRONLY | os.O_APPEND)

    def close(self) -> None:
        """Close the file; it stays."""
        os.close(self._handle)

    def _add(self, value: Plain) -> None:
        text = json.dumps(value, allow_nan=False, separators=(",", ":")).encode()
        line = b"%08x %s\n" % (zlib.crc32(text), text)
        done = 0
        try:
            while done < len(line):
                done += os.write(self._handle, line[done:])
        except OSError:
            os.ftruncate(self._handle, self._size)  # what comes later must not stand behind half a line
            raise
        self._size += len(line)


def change(before: Project | None, after: Project) -> Plain:
    """Return what makes `after` of `before`, as plain values: all of it where there was nothing before."""
    if before is None:
        return {"whole": after.model_dump(mode="python", by_alias=True, exclude_defaults=True)}
    names = [name for name in type(after).model_fields if getattr(before, name) is not getattr(after, name)]
    there = after.model_dump(
        mode="python", by_alias=True, exclude_defaults=True, include={*names} - {"lanes"}
    )
    made: Plain = {"set": there, "gone": [name for name in names if name not in there and name != "lanes"]}
    if "lanes" in names:
        made["lanes"] = list(_lanes(before, after))
    return made


def _lanes(before: Project, after: Project) -> Iterator[int | list[int] | Plain]:
    """Yield the lanes: places of those that stayed (runs as [first, last]), and the others whole."""
    places = {id(lane): place for place, lane in enumerate(before.lanes)}
    run: list[int] = []
    for lane in after.lanes:
        place = places.get(id(lane))
        if place is not None and run and place == run[-1] + 1:
            run[-1] = place
            continue
        if run:
            yield run
        run = [] if place is None else [place, place]
        if place is None:
            yield lane.model_dump(mode="python", by_alias=True, exclude_defaults=True)
    if run:
        yield run


def changed(raw: Plain, line: Plain) -> Plain:
    """Make a line's change to the plain values of a project. Raises KeyError, TypeError, IndexError."""
    if "whole" in line:
        whole: Plain = line["whole"]
        return whole
    made = {key: value for key, value in raw.items() if key not in line["gone"]}
    made |= line["set"]
    if "lanes" in line:
        old: list[Plain] = raw.get("lanes", [])
        lanes: list[Plain] = []
        for part in line["lanes"]:
            lanes += old[part[0] : part[1] + 1] if isinstance(part, list) else [part]
        made["lanes"] = lanes
    return made


def read_journal(path: Path) -> JournalContents | None:
    """Read a journal; None where not even its head and one line can be read. Raises OSError."""
    with path.open("rb") as file:
        lines = _good_lines(file.read(MOST_BYTES))
    head = _head(next(lines, {}))
    told = [line for line in lines if {"step", "steps", "when"} <= line.keys()]
    if head is None or not told:
        return None
    trouble = ""
    for count in range(len(told), 0, -1):
        try:
            project = _project(told[:count], head.name)
        except (ProjectError, KeyError, TypeError, IndexError) as error:
            trouble = trouble or str(error)
            continue
        return replace(_kept(head, project, told[count - 1], trouble), aside=_aside(told[:count]))
    return _kept(head, None, told[-1], trouble)


def _aside(lines: list[Plain]) -> Plain | None:
    """Return the last work aside of some lines."""
    asides = [line["aside"] for line in lines if "aside" in line]
    return asides[-1] if asides and isinstance(asides[-1], dict) else None


def _good_lines(data: bytes) -> Iterator[Plain]:
    """Yield the lines up to the first that is not whole."""
    for line in data.split(b"\n"):
        mark, _, text = line.partition(b" ")
        try:
            value = json.loads(text) if int(mark, 16) == zlib.crc32(text) else None
        except (ValueError, RecursionError):
            return
        if not isinstance(value, dict):
            return
        yield value


def _head(line: Plain) -> Head | None:
    if line.get("journal") != VERSION:
        return None
    path = line.get("path")
    return Head(None if path is None else Path(path), str(line.get("name")), str(line.get("digest")))


def _project(lines: list[Plain], source: str) -> Project:
    raw: Plain = {}
    for line in lines:
        raw = changed(raw, line)
    return read_project(json.dumps(raw, ensure_ascii=False).encode(), source)


def _kept(head: Head, project: Project | None, line: Plain, trouble: str) -> JournalContents:
    when = datetime.fromisoformat(line["when"])
    return JournalContents(head, project, when, int(line["steps"]), str(line["step"]), trouble)
