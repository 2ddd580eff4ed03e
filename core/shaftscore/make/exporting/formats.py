"""The formats of an export: one row a format, one module each.

A format plans files from an order (`make.files.order`): what each holds, and how its bytes are made.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from shaftscore.base.errors import ExportError
from shaftscore.base.wording import did_you_mean
from shaftscore.make import manual
from shaftscore.make.files import dxf, step, stl, svg, tables, template_dxf, threemf
from shaftscore.make.files.names import is_export_name
from shaftscore.make.files.order import MakeOrder, Planned
from shaftscore.make.manual import template
from shaftscore.make.solids.exact import has_kernel

FORMATS: Mapping[str, Callable[[MakeOrder], list[Planned]]] = MappingProxyType(
    {
        "3mf": threemf.plan,
        "stl": stl.plan,
        "step": step.plan,
        "dxf": lambda order: [*dxf.plan(order), *template_dxf.plan(order)],
        "svg": svg.plan,
        "csv": tables.plan,
        "manual": lambda order: [*manual.plan(order), *template.plan(order)],
    }
)
"""The formats that exist, in the order in which they are written."""

ALIASES: Mapping[str, str] = MappingProxyType({"pdf": "manual"})
"""Other names of formats: what a manifest calls the files of the manual, by their ending."""


def format_named(name: str) -> str:
    """Return the name in `FORMATS` of a format or of what its files are called in a manifest."""
    return ALIASES.get(name, name)


def missing(name: str) -> str:
    """Describe what a format needs that is not installed here; empty if it can be written."""
    return step.MISSING if name == "step" and not has_kernel() else ""


def chosen_formats(names: Sequence[str] | None) -> tuple[str, ...]:
    """Return the chosen formats in order, each once; all that can be written here if none is named.

    Raises ExportError for one that does not exist, or needs what is not installed.
    """
    if not names:
        return tuple(name for name in FORMATS if not missing(name))
    chosen = [format_named(name.strip().lower()) for name in names]
    for name in chosen:
        if name not in FORMATS:
            raise ExportError(_unknown(name))
        if missing(name):
            raise ExportError(missing(name))
    return tuple(name for name in FORMATS if name in chosen)


def _unknown(name: str) -> str:
    there = ", ".join(FORMATS)
    guess = did_you_mean(name, (*FORMATS, *ALIASES))
    return " ".join(filter(None, (f'there is no format "{name}":', guess, f"this version writes {there}")))


def planned_files(order: MakeOrder) -> list[Planned]:
    """Plan all files of an order, format by format.

    Raises ExportError if two of them would have one name, ValueError for a format that breaks the scheme.
    """
    files = [file for name in order.formats for file in FORMATS[name](order)]
    names = [file.name for file in files]
    strange = [name for name in names if not is_export_name(name)]
    if strange:
        raise ValueError(f"{strange[0]} is a name that no later export would take for a file of its own")
    for name, count in Counter(names).items():
        if count > 1:
            raise ExportError(f"two files would be called {name}: give the lanes or the project other names")
    return files


def planned_for(order: MakeOrder, kind: str, name: str, codes: Collection[str]) -> Planned:
    """Plan one file of a format that holds the parts with these codes, whichever were to be made.

    Raises ExportError, which names the file, if the project has none of the parts, or not all of them.
    """
    items = tuple(item for item in order.items if item.part.code in codes)
    gone = sorted(set(codes) - {item.part.code for item in items})
    if gone or not items:
        raise ExportError(f"{name}: the project has no part {', '.join(gone)} any more")
    own = format_named(kind)
    planned = FORMATS[own](replace(order, items=items, formats=(own,), fresh=None))
    return next((file for file in planned if file.name == name), planned[0])
