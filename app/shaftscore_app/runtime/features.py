"""PySide's search for its optional features, answered without reading: this program uses none of them.

PySide has features that a module turns on for itself, such as names in snake case. To know which modules
could, it reads the source of every module that is imported after it, of libraries and of ours, and keeps it:
a tenth of a second of a start, and 25 MiB for as long as the program runs.
"""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

_WHERE, _ASKS = "shibokensupport.feature", "_mod_uses_pyside"
"""PySide's module that looks, and its function that is asked once for each module."""


def search_no_sources() -> None:
    """Have every module counted as one that turned no feature on; for right after PySide's own import.

    WORKAROUND for what PySide offers no switch for. A PySide that has no such function is left as it is: it
    looks in another way then, or not at all, and only time and memory depend on it.
    """
    try:
        feature = import_module(_WHERE)
    except ImportError:
        return
    if hasattr(feature, _ASKS):
        setattr(feature, _ASKS, _uses_pyside)


def _uses_pyside(_module: ModuleType) -> bool:
    """Answer as for a module that names PySide: it has no feature until it asks for one."""
    return True
