"""What is wrong with an exported file, as data: the file, the part in it, what, and by how much."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.base.errors import one_line


@dataclass(frozen=True)
class FileFault:
    """One thing wrong with an exported file.

    part: code of the part, empty for the file as a whole. what: the sentence, amounts included. by, limit:
    the amount and what is allowed, in `unit`; None where the fault has no amount.
    """

    file: str
    part: str
    what: str
    by: float | None = None
    limit: float | None = None
    unit: str = ""

    @property
    def text(self) -> str:
        """The fault on one line, the file first."""
        named = not self.part or self.file.startswith((f"{self.part}_", f"{self.part}."))
        return one_line(f"{self.file if named else f'{self.file}, {self.part}'}: {self.what}")


def unreadable(file: str, error: Exception, part: str = "") -> FileFault:
    """Return the fault of a file that cannot be read back, from the error that said so."""
    said = str(error).removeprefix(f"{file}: ").removeprefix(f"{part}: ")
    return FileFault(file, part, said)
