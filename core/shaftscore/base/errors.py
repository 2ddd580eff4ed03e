"""Errors that a person is meant to read.

A *fault* is one thing wrong with an input, named by its path. A *finding* (`shaftscore.judge.findings`) is
something wrong with the machine, is data, and is never raised.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

BIDI_CONTROLS = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
"""All characters that change the direction of writing (property Bidi_Control of Unicode, UAX #9)."""

_CONTROLS = re.compile(f"[\x00-\x1f\x7f-\x9f\u2028\u2029\ufffe\uffff{BIDI_CONTROLS}]")


def one_line(text: str) -> str:
    """Write the control characters of a text as escapes: it stays on its line, and steers no terminal."""
    return _CONTROLS.sub(lambda found: found[0].encode("unicode_escape").decode(), text)


class ShaftscoreError(Exception):
    """Base of every error whose text is written for the person at the screen."""


@dataclass(frozen=True)
class Fault:
    """One thing wrong with an input.

    path: where, as in `lanes[3].blocks[1].level`; empty for the input as a whole.
    message: what is wrong, with the value at fault and what would be right.
    """

    path: str
    message: str

    def __str__(self) -> str:
        return one_line(f"{self.path}: {self.message}" if self.path else self.message)


class ProjectError(ShaftscoreError, ValueError):
    """A project (or a table pasted into it) that cannot be accepted; carries all its faults."""

    def __init__(self, source: str, faults: Sequence[Fault], *, more: bool = False) -> None:
        """Keep the faults of `source`; `more` says that reading stopped before the end."""
        self.source = source
        self.faults = tuple(faults)
        self.more = more
        super().__init__(self.text())

    def text(self) -> str:
        """Return the file and the number of faults on the first line, then a line a fault."""
        count = len(self.faults)
        noun = "fault" if count == 1 else "faults"
        lines = [f"{one_line(self.source)}: {count}{' or more' if self.more else ''} {noun}"]
        lines += [str(fault) for fault in self.faults]
        return "\n".join(lines + ["and more"] * self.more)


class EditError(ShaftscoreError, ValueError):
    """An edit that cannot be made to this project; the project stays as it was."""


class ExportError(ShaftscoreError):
    """An export that was not written; nothing half done is left behind."""


class Cancelled(ShaftscoreError):  # noqa: N818 - not a failure: the person asked for it
    """Raised inside long work when the person cancels it."""
