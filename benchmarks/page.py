"""The guide's page about speed, from the stored figures of one run."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

Row = Mapping[str, Any]

HEAD = """# Speed

<!-- Made by `python -m benchmarks`; run it again, do not edit this page. -->

Every table was measured in one run on one machine ({machine}); what counts is the ratio within a table.
The first row of a table is 1.0. A target is stated where there is one.

"""


def write_page(stored: Path, page: Path) -> None:
    """Write the page from pytest-benchmark's JSON."""
    data = json.loads(stored.read_text(encoding="utf-8"))
    groups: dict[str, list[Row]] = {}
    for row in data["benchmarks"]:
        groups.setdefault(row["group"] or row["name"], []).append(row)
    cpu = data["machine_info"].get("cpu", {})
    machine = f"{cpu.get('count', '?')} cores, Python {data['machine_info']['python_version']}"
    text = HEAD.format(machine=machine) + "\n".join(_table(name, rows) for name, rows in groups.items())
    page.write_text(text, encoding="utf-8")


def _table(name: str, rows: Sequence[Row]) -> str:
    first = rows[0]["stats"]["median"]
    lines = [f"## {name}", "", "| what | median | of the first row | besides |", "|---|---|---|---|"]
    for row in rows:
        median = row["stats"]["median"]
        extra = ", ".join(f"{key}: {value}" for key, value in row["extra_info"].items())
        lines.append(f"| {_name(row)} | {_time(median)} | {median / first:.3g} | {extra} |")
    return "\n".join(lines) + "\n"


def _name(row: Row) -> str:
    name = str(row["name"]).removeprefix("test_").replace("_", " ")
    return name.replace("[", " (").replace("]", ")")


def _time(seconds: float) -> str:
    for unit, scale in (("s", 1.0), ("ms", 1e3), ("µs", 1e6)):
        if seconds * scale >= 1:
            return f"{seconds * scale:.3g} {unit}"
    return f"{seconds * 1e9:.3g} ns"
