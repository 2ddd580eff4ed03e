"""PySide's way of importing, taken out again: this program uses nothing of what it is for.

PySide has features that a module turns on for itself, such as names in snake case. To notice that, it stands
in for Python's import: it is asked at every import of libraries and of ours, and reads the source of every
module, to know which could turn a feature on. Together that takes more than a tenth of a second of a start,
and 25 MiB for as long as the program runs.
"""

from __future__ import annotations

import builtins


def import_plainly() -> None:
    """Have modules imported as before PySide's features; for right after PySide's own import.

    WORKAROUND for what PySide offers no switch for: it keeps both ways of importing in `builtins`, under the
    names used here. A PySide that has no such names, or for which something else stands in by now, is left as
    it is: only time and memory depend on it.
    """
    names = vars(builtins)
    if "__orig_import__" in names and names["__import__"] is names.get("__feature_import__"):
        names["__import__"] = names["__orig_import__"]
