"""Licences of the libraries that Shaftscore stands on, read from what is installed with them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import PurePosixPath

OWN = "shaftscore"
NOTICE_FILES = re.compile(r"(licen[cs]e|notice|copying|authors)", re.IGNORECASE)
"""Names of files that hold a licence or a notice."""

RULE = "=" * 72
NO_TEXT = "The installed package holds no text of its licence; its home page has it."


@dataclass(frozen=True)
class LibraryNotice:
    """A library: its name and version, the name of its licence ("not stated"), and its notices, whole."""

    name: str
    version: str
    licence: str
    texts: tuple[str, ...]


def library_notices(of: str = OWN) -> list[LibraryNotice]:
    """Return the notices of every library that the installed program (or library `of`) needs, by name.

    Empty from a bare checkout, of which nothing is known to be installed.
    """
    return sorted((_notice(one) for one in _needed(of, set())), key=lambda notice: notice.name.lower())


def notices_text() -> str:
    """Write all notices in one text, which goes with a copy of the program that is handed on."""
    notices = library_notices()
    heads = [f"{one.name} {one.version}: {one.licence}" for one in notices]
    bodies = ["\n\n".join([f"{RULE}\n{one.name} {one.version}\n{RULE}", *one.texts]) for one in notices]
    return "\n\n".join(["Libraries used by Shaftscore, and their licences.", "\n".join(heads), *bodies])


def _needed(name: str, seen: set[str]) -> Iterator[metadata.Distribution]:
    """Yield the installed libraries that one needs, and those that these need, without its extras."""
    for line in _requirements(name):
        needed = re.split(r"[\s<>=!~;\[(]", line, maxsplit=1)[0]
        key = re.sub(r"[-_.]+", "-", needed).lower()
        if key in seen or "extra ==" in line:
            continue
        seen.add(key)
        try:
            yield metadata.distribution(needed)
        except metadata.PackageNotFoundError:  # for another system or another Python
            continue
        yield from _needed(needed, seen)


def _requirements(name: str) -> list[str]:
    try:
        return metadata.requires(name) or []
    except metadata.PackageNotFoundError:
        return []


def _notice(library: metadata.Distribution) -> LibraryNotice:
    files = [path for path in library.files or () if _is_notice(path)]
    texts = tuple(text.strip() for path in files if (text := _read(library, path)))
    return LibraryNotice(library.metadata["Name"], library.version, _licence(library), texts or (NO_TEXT,))


def _is_notice(path: PurePosixPath) -> bool:
    inside = any(part.endswith(".dist-info") for part in path.parts)
    return inside and bool(NOTICE_FILES.search(path.name)) and path.suffix in ("", ".txt", ".md", ".rst")


def _read(library: metadata.Distribution, path: PurePosixPath) -> str:
    found = library.read_text("/".join(path.parts[1:]))
    return found or ""


def _licence(library: metadata.Distribution) -> str:
    """Return the licence as it is stated: by its expression, else by its class, else in the first line."""
    if "License-Expression" in library.metadata:
        return library.metadata["License-Expression"]
    classes = [str(one) for one in library.metadata.get_all("Classifier") or ()]
    named = [one.rpartition(" :: ")[2] for one in classes if one.startswith("License :: ")]
    if named:
        return ", ".join(dict.fromkeys(named))
    stated = "".join(library.metadata.get_all("License") or ())
    return stated.strip().partition("\n")[0] or "not stated"
