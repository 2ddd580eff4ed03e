"""Makes the reference pages of the guide from the code: file format, command line, findings, keys, materials.

Keys are those of Qt's own platform "offscreen", so that the page is the same on every desktop.

Run `.venv/bin/python docs/make_reference.py`; with `--check` it writes nothing and fails where a page is
not what the code says. The tests run the same check.
"""

from __future__ import annotations

import inspect
import os
import sys
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

GUIDE = Path(__file__).resolve().parent / "guide"

MADE = "<!-- Made from the code by docs/make_reference.py; edit the code, not this page. -->\n\n"
"""Stands on every page that is made."""


def table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Write a Markdown table."""
    head = list(head)
    lines = ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
    lines += ["| " + " | ".join(cell.replace("|", "\\|") for cell in row) + " |" for row in rows]
    return "\n".join(lines) + "\n"


# The file format


def file_format() -> str:
    """Write the page of every record of a project file, from the models."""
    from shaftscore.model import Project
    from shaftscore.model.project import VERSION

    schema = Project.model_json_schema(by_alias=True)
    parts = [
        "# The file format\n\n" + MADE + f"A project is one JSON text in UTF-8 with the ending `.shaft`, "
        f"format version {VERSION}. Unknown keys are refused with their path, every number is finite and "
        "within its bounds, and what has a sensible default may be left out. A unit is the ending of a "
        "field's name, such as `_mm`, `_deg`, `_s`, `_n`, `_nm`, `_g`, `_rpm`. Blocks and windows are angles "
        "of the lane's own stack.\n"
    ]
    parts.append(_record("Project", schema))
    parts += [_record(name, definition) for name, definition in sorted(schema["$defs"].items())]
    return "\n".join(parts)


def _record(name: str, definition: Mapping[str, Any]) -> str:
    """Write a record: what it is, and its fields."""
    rows = (
        (f"`{field}`", _kind(spec), _default(field, spec, definition))
        for field, spec in definition.get("properties", {}).items()
    )
    text = inspect.cleandoc(definition.get("description", ""))
    return f"## {name}\n\n{text}\n\n" + table(("field", "value", "if left out"), rows)


def _kind(spec: Mapping[str, Any]) -> str:
    """Describe what a field takes."""
    if "$ref" in spec:
        name = spec["$ref"].rsplit("/", 1)[1]
        return f"[{name}](#{name.lower()})"
    if "const" in spec:
        return f'`"{spec["const"]}"`' if isinstance(spec["const"], str) else f"`{spec['const']}`"
    if "enum" in spec:
        return ", ".join(f'`"{value}"`' for value in spec["enum"])
    for choice in ("anyOf", "oneOf"):
        if choice in spec:
            return " or ".join(_kind(one) for one in spec[choice] if one.get("type") != "null")
    return _plain_kind(spec)


def _plain_kind(spec: Mapping[str, Any]) -> str:
    kind = spec.get("type", "any")
    if kind == "array":
        items = _kind(spec["items"]) if "items" in spec else "values"
        return f"list of {items}{_bounds(spec, 'minItems', 'maxItems')}"
    if kind == "object":
        values = spec.get("additionalProperties")
        return f"names to {_kind(values)}" if isinstance(values, Mapping) else "an object"
    word = {"string": "text", "boolean": "true or false", "integer": "whole number"}.get(kind, kind)
    pattern = f" like `{spec['pattern']}`" if "pattern" in spec else ""
    return word + pattern + _bounds(spec, "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum")


_SIGNS = {
    "minimum": "at least", "exclusiveMinimum": "over", "maximum": "at most", "exclusiveMaximum": "under",
    "minItems": "at least", "maxItems": "at most",
}  # fmt: skip


def _bounds(spec: Mapping[str, Any], *keys: str) -> str:
    found = [f"{_SIGNS[key]} {spec[key]:g}" for key in keys if key in spec]
    return f", {' and '.join(found)}" if found else ""


def _default(field: str, spec: Mapping[str, Any], definition: Mapping[str, Any]) -> str:
    if field in definition.get("required", ()):
        return "must be given"
    value = spec.get("default")
    if value is None:
        return "not considered"
    if isinstance(value, dict | list):
        return "the defaults of its fields" if isinstance(value, dict) else ("none" if not value else "one")
    return f"`{str(value).lower() if isinstance(value, bool) else value}`" if value != "" else "empty"


# The command line


def commands() -> str:
    """Write the page of every command: its purpose, arguments and options."""
    import typer

    from shaftscore_app.cli.program import app

    group: Any = typer.main.get_command(app)
    parts = ["# The command line\n\n" + MADE + f"{group.help}\n\n{group.epilog}\n"]
    for name, command in group.commands.items():
        if not command.hidden:
            parts.append(f"## shaftscore {name}\n\n{command.help}\n\n" + _parameters(name, command))
    return "\n".join(parts)


def _parameters(name: str, command: Any) -> str:
    """Write how a command is typed, and its options."""
    arguments = [p for p in command.params if p.param_type_name == "argument"]
    options = [p for p in command.params if p.param_type_name == "option" and "--help" not in p.opts]
    typed = " ".join(["shaftscore", name, *(str(p.metavar) for p in arguments), *map(_typed, options)])
    given = {True: "must be given", False: "none"}
    rows = [(f"`{str(p.metavar).strip('[]')}`", p.help or "", given[p.required]) for p in arguments]
    rows += [(f"`{_name(p)}`", p.help or "", _if_left_out(p)) for p in options]
    return f"```text\n{typed}\n```\n\n" + table(("", "what it is", "if left out"), rows)


def _name(option: Any) -> str:
    return option.opts[0] + ("" if option.is_flag else f" {option.metavar}")


def _typed(option: Any) -> str:
    return _name(option) if option.required else f"[{_name(option)}]"


def _if_left_out(option: Any) -> str:
    if option.required:
        return "must be given"
    return "no" if option.is_flag else "all" if option.default is None else f"`{option.default}`"


# Findings


def findings() -> str:
    """Write the page of all findings, with a link to the page of each."""
    from shaftscore.judge.findings.rules import RULES

    rows = (
        (f"[{row.title}]({name}.md)", f"`{name}`", str(row.severity), row.meaning)
        for name, row in RULES.items()
    )
    return (
        "# Findings\n\n"
        + MADE
        + "A finding is an error (the machine would not do what the program says), a warning (it would, but "
        "not well or not for long) or a note. Each says what, by how much, against which limit, and where "
        "it can, the cure. `shaftscore check` ends with exit code 1 when there is an error.\n\n"
        + table(("finding", "in JSON", "severity", "what it means"), rows)
    )


# Keys and mouse


def shortcuts() -> str:
    """Write the sheet of keys and mouse moves, from the table of commands."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from PySide6.QtGui import QGuiApplication

    from shaftscore_app.menus.actions import BENCH, COMMANDS, MENUS, MOUSE, NETWORK, PROGRAM, TABLE, key_text

    kept = QGuiApplication.instance() or QGuiApplication([])  # the platform's standard keys need it
    parts = ["# Keys and mouse\n\n" + MADE]
    for menu, title in MENUS.items():
        rows = [
            (c.title.replace("&", "").rstrip("…"), key_text(c), c.does) for c in COMMANDS if c.menu == menu
        ]
        parts.append(f"## {title.replace('&', '')}\n\n" + table(("command", "keys", "what it does"), rows))
    parts.append("## In the diagram\n\n" + table(("what", "how"), MOUSE))
    parts.append("## In the state table\n\n" + table(("what", "how"), TABLE))
    parts.append("## In the Program maker\n\n" + table(("what", "how"), PROGRAM))
    parts.append("## In Bring-up\n\n" + table(("what", "how"), BENCH))
    parts.append("## In the network of the flow\n\n" + table(("what", "how"), NETWORK))
    del kept
    return "\n".join(parts)


# Materials


MATERIAL_HEAD = (
    "material",
    "modulus, GPa",
    "Poisson's ratio",
    "allowed pressure, MPa",
    "strength, MPa",
    "density, g/cm³",
    "source",
)


def materials() -> str:
    """Write the table of materials, each row with its source."""
    from shaftscore.model.materials import BUILT_IN

    rows = (
        (
            f"`{row.material.name}`",
            f"{row.material.modulus_gpa:g}",
            f"{row.material.poisson:g}",
            f"{row.material.contact_mpa:g}",
            f"{row.material.strength_mpa:g}",
            f"{row.material.density_g_cm3:g}",
            row.source,
        )
        for row in BUILT_IN.values()
    )
    return (
        "# Materials\n\n"
        + MADE
        + "What a disc or a follower may be made of, what contact pressure (Hertz, a line contact) is "
        "reckoned with, and the strength that gears are judged by; densities serve the estimates of an "
        "export. A project's own `materials` go before this table and add to it.\n\n"
        + table(MATERIAL_HEAD, rows)
    )


PAGES = {
    "reference/file_format.md": file_format,
    "reference/commands.md": commands,
    "findings/index.md": findings,
    "reference/shortcuts.md": shortcuts,
    "reference/materials.md": materials,
}
"""Every page that is made, and what makes it."""


def stale() -> Iterator[str]:
    """Yield the pages that are not what the code says now."""
    for page, make in PAGES.items():
        path = GUIDE / page
        if not path.exists() or path.read_text(encoding="utf-8") != make():
            yield page


def main(arguments: list[str]) -> int:
    """Write all pages, or check them."""
    if "--check" in arguments:
        found = list(stale())
        for page in found:
            print(f"{page} is not what the code says: run docs/make_reference.py", file=sys.stderr)
        return 1 if found else 0
    for page, make in PAGES.items():
        (GUIDE / page).parent.mkdir(parents=True, exist_ok=True)
        (GUIDE / page).write_text(make(), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
