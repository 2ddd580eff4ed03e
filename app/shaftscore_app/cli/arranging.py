"""What `arrange` prints, and how it ends."""

from __future__ import annotations

import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

from shaftscore.base.errors import Cancelled
from shaftscore.base.whole_files import refuse_odd, write_whole
from shaftscore.model import Project
from shaftscore.model.saved import saved_form
from shaftscore.placing import Aim, ArrangeError, MayChange, Refusal, arrange
from shaftscore.placing.telling import arrangement_lines, refusal_lines
from shaftscore_app.cli.exporting import Lines
from shaftscore_app.runtime.interrupt import InterruptWatch

WRITTEN, NONE_FOUND = 0, 1
"""Exit codes of the command."""


class Stoppable(Lines):
    """Progress that raises Cancelled at the report after Ctrl+C, so that the best found so far is kept.

    A step that does not report is stopped at once (`shaftscore.base.progress.StopsWork`).
    """

    def __init__(self) -> None:
        """Begin without a wish to stop."""
        super().__init__()
        self._watch = InterruptWatch()

    def __enter__(self) -> Stoppable:
        """Begin to keep Ctrl+C for the next report."""
        self._watch.__enter__()
        return self

    def __exit__(self, *error: object) -> None:
        """Restore what Ctrl+C did before."""
        self._watch.__exit__(*error)

    def report(self, fraction: float, what: str) -> None:
        """Show how far it is; raises Cancelled once after Ctrl+C."""
        if self._watch.take():
            raise Cancelled("cancelled")
        super().report(fraction, what)

    def stopping(self, stop: Callable[[], object]) -> AbstractContextManager[object]:
        """Return a context in which `stop` is called after Ctrl+C, on another thread."""
        return self._watch.stopping(stop)


def print_arrangement(project: Project, out: Path, prefer: Aim, seed: int, may: MayChange) -> int:
    """Arrange a project, write it, print what changes or why there is none, and return the exit code.

    Where the person stops it, the best found until then is written. Raises OSError where the file cannot be
    written, Cancelled where the person stops it before anything better was found.
    """
    refuse_odd(out)  # before a search that takes a while
    progress = Stoppable()
    try:
        with progress:
            found = arrange(project, prefer, seed, progress, may)
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
