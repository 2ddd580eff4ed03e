"""Earlier versions: what a file held before it was saved again, the last five of each file."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from shaftscore.base.whole_files import not_a_file, private_folder, write_whole
from shaftscore.model.parse import MOST_BYTES
from shaftscore_app.keeping.places import name_for

MOST = 5
"""As many versions of a file are kept."""

STAMP = "%Y%m%dT%H%M%S.%fZ"


def _now() -> datetime:
    return datetime.now(UTC)


@dataclass(frozen=True)
class Version:
    """One version: when it was replaced, and where its bytes lie."""

    when: datetime
    path: Path


class Versions:
    """The versions of all files; `now` gives the time and is an argument for tests."""

    def __init__(self, folder: Path, now: Callable[[], datetime] = _now) -> None:
        """Name the folder; it is made when it is needed."""
        self._folder, self._now = folder, now

    def keep(self, path: Path) -> Version | None:
        """Keep what a file holds now, and forget all but the last five; None where there is no file.

        A file too large to be a project is not kept, nor one that is kept already. A version has the rights
        of its file. Raises OSError.
        """
        try:
            there = path.stat()
            if there.st_size > MOST_BYTES or not_a_file(path):
                return None
            data = path.read_bytes()
        except FileNotFoundError:
            return None
        known = self.of(path)
        if known and known[0].path.read_bytes() == data:
            known[0].path.chmod(there.st_mode & 0o777)
            return known[0]
        place = self._folder / name_for(path) / f"{self._now().strftime(STAMP)}.shaft"
        for folder in (self._folder.parent, self._folder, place.parent):
            private_folder(folder)
        write_whole(place, data, mode=there.st_mode & 0o777)
        for old in self.of(path)[MOST:]:
            old.path.unlink(missing_ok=True)
        return self.of(path)[0]

    def of(self, path: Path) -> list[Version]:
        """Return the versions of a file, the newest first."""
        found = []
        for place in (self._folder / name_for(path)).glob("[0-9]*.shaft"):
            try:
                when = datetime.strptime(place.stem, STAMP).replace(tzinfo=UTC)
            except ValueError:
                continue  # not one of ours
            found.append(Version(when, place))
        return sorted(found, key=lambda version: version.when, reverse=True)
