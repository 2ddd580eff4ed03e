"""What `arrange` prints, and how it ends."""

from __future__ import annotations

import sys
from pathlib import Path

from shaftscore.base.whole_files import refuse_odd, write_whole
from shaftscore.model import Project
from shaftscore.model.saved import saved_form
from shaftscore.placing import Aim, ArrangeError, Refusal, arrange
from shaftscore.placing.telling import arrangement_lines, refusal_lines
from shaftscore_app.cli.exporting import Lines

WRITTEN, NONE_FOUND = 0, 1
"""Exit codes of the command."""


def print_arrangement(project: Project, out: Path, prefer: Aim, seed: int) -> int:
    """Arrange a project, write it, say what changes or why there is none, and give the exit code.

    Raises OSError where the file cannot be written, Cancelled where the person stops it.
    """
    refuse_odd(out)  # before a search that takes a while
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
