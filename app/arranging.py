"""What `arrange` prints, and how it ends."""

from __future__ import annotations

import sys
from pathlib import Path

from app.exporting import Lines
from app.files import write_whole
from core.arrange import ORDERS, Aim, ArrangeError, Refusal, arrange
from core.arrange.telling import arrangement_lines, refusal_lines
from core.model import Project
from core.model.saved import saved_form
from core.wording import did_you_mean

WRITTEN, NONE_FOUND = 0, 1
"""Exit codes of the command."""


def aim_named(name: str) -> Aim:
    """Give the aim of a name; raises ValueError that names those there are."""
    for aim in ORDERS:
        if aim == name:
            return aim
    hint = did_you_mean(name, ORDERS) or f"it is one of {', '.join(ORDERS)}"
    raise ValueError(f'--prefer: there is no "{name}"; {hint}')


def print_arrangement(project: Project, out: Path, prefer: Aim, seed: int) -> int:
    """Arrange a project, write it, say what changes or why there is none, and give the exit code.

    Raises OSError where the file cannot be written, core.errors.Cancelled where the person stops it.
    """
    progress = Lines()
    try:
        found = arrange(project, prefer, seed, progress)
    except ArrangeError as error:
        print(error, file=sys.stderr)
        return NONE_FOUND
    finally:
        progress.done()
    if isinstance(found, Refusal):
        print("\n".join(refusal_lines(found)))
        return NONE_FOUND
    write_whole(out, saved_form(found.project))
    print("\n".join(arrangement_lines(found, project)))
    print(f"Written to {out}.")
    return WRITTEN
