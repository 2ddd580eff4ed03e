"""The files of single parts: each made, written, read back and judged by itself, so perhaps in two processes.

What a file of one part holds depends on that part alone. Bodies, estimates and what was found are handed
over, so that files of all parts need not find them again.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType

from shaftscore.make.exporting.reading import judged
from shaftscore.make.files.dxf import dxf_bytes
from shaftscore.make.files.estimate import PrintEstimate
from shaftscore.make.files.order import OrderedPart, Planned
from shaftscore.make.files.stl import stl_bytes
from shaftscore.make.files.svg import svg_bytes
from shaftscore.make.proof import FileVerdict, Judge
from shaftscore.make.proof.reading.solid import SolidPart
from shaftscore.make.solids import Mesh, SolidError
from shaftscore.model import Project

MAKERS: Mapping[str, Callable[[OrderedPart], bytes]] = MappingProxyType(
    {
        "stl": lambda item: stl_bytes(item.body, item.part.code),
        "dxf": lambda item: dxf_bytes(item.part),
        "svg": lambda item: svg_bytes(item.part),
    }
)
"""How the bytes of a part's file are made, of the formats whose files hold one part each."""


@dataclass(frozen=True)
class WrittenFile:
    """A file of one part in the staging folder: its name, size and SHA-256, and what was found in it."""

    name: str
    bytes: int
    sha256: str
    verdict: FileVerdict


@dataclass(frozen=True)
class WrittenPart:
    """What was made of a part, by its number.

    body: for a printer, None where none was wanted. read: the body that was read back, with its name in
    errors. found: by format and digest, what the judge found.
    """

    number: int
    files: tuple[WrittenFile, ...]
    body: Mesh | None
    need: PrintEstimate | None
    read: tuple[SolidPart, ...]
    found: tuple[tuple[str, bytes, FileVerdict], ...]


@dataclass(eq=False)
class PartMaker:
    """Makes all files of a part by its number, in a folder.

    items: the parts. files: of each, names and formats. with_bodies: whether bodies and estimates are wanted
    of all of them.
    """

    project: Project
    items: Sequence[OrderedPart]
    files: Sequence[Sequence[tuple[str, str]]]
    folder: Path
    with_bodies: bool
    judge: Judge = field(default_factory=Judge)

    def __call__(self, number: int) -> WrittenPart:
        """Make the files of a part, but those that cannot be made: who makes all files says so."""
        item, files = self.items[number], self.files[number]
        written = [file for name, kind in files if (file := self._written(item, name, kind)) is not None]
        try:
            body, need = (item.body, item.estimate(self.project)) if self.with_bodies else (None, None)
        except SolidError:
            body, need = None, None
        read = self.judge.bodies.get(item.part.code)
        found = [
            (kind, digest, verdict)
            for kind in dict.fromkeys(kind for _, kind in files)
            for digest, verdict in self.judge.found(item.task(kind)).items()
        ]
        return WrittenPart(number, tuple(written), body, need, () if read is None else (read,), tuple(found))

    def _written(self, item: OrderedPart, name: str, kind: str) -> WrittenFile | None:
        """Make a file of a part, write it, read it back and judge it; None where it cannot be made."""
        try:
            data = MAKERS[kind](item)
        except SolidError:
            return None
        path = self.folder / name
        path.write_bytes(data)
        verdict = judged(path, kind, [item.task(kind)], None, self.judge, own=True)
        return WrittenFile(name, len(data), hashlib.sha256(data).hexdigest(), verdict)

    def take(self, made: WrittenPart) -> None:
        """Keep what was made of a part in another process."""
        item = self.items[made.number]
        if made.body is not None and made.need is not None:
            item.take(self.project, made.body, made.need)
        for read in made.read:
            self.judge.bodies.setdefault(item.part.code, read)
        for kind, digest, verdict in made.found:
            self.judge.found(item.task(kind)).setdefault(digest, verdict)


def single_files(planned: Sequence[Planned]) -> dict[OrderedPart, list[tuple[str, str]]]:
    """Return the planned files, names and formats, that hold one part each and that a PartMaker makes."""
    found: dict[OrderedPart, list[tuple[str, str]]] = {}
    for file in planned:
        if (
            file.format in MAKERS
            and len(file.items) == 1
            and file.name == f"{file.items[0].stem}.{file.format}"
        ):
            found.setdefault(file.items[0], []).append((file.name, file.format))
    return found
