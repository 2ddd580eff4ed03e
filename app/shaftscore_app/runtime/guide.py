"""The pages of the guide: where they are, their titles, and their text for the theme in use.

Installed, the guide lies in the package; in a checkout it is the folder `docs/guide`. Pictures come in
pairs, `NAME_light.png` and `NAME_dark.png`; pages name the light one. Pictures of paper have one name alone.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from shaftscore.judge.findings.rules import RULES

LINK = re.compile(r"\]\([^)]*")
"""Where a link leads, which is not read."""

FIRST = "index.md"
"""The page that the guide opens at."""


def page_of(rule: str) -> str:
    """Return the page of a finding."""
    return f"findings/{rule}.md"


CHAPTERS = (
    ("", (FIRST, "first_machine.md", "installing.md")),
    (
        "The job",
        (
            "capture.md", "program.md", "time.md", "prove.md", "arrange.md", "shape.md", "special_lanes.md",
            "linkages.md", "drive.md", "stack.md", "counting.md", "export.md", "manual.md", "making.md",
            "running.md", "tune.md", "trouble.md", "bring_up.md",
        ),
    ),
    ("Findings", ("findings/index.md", *map(page_of, RULES))),
    (
        "Reference",
        (
            "reference/file_format.md", "reference/commands.md", "reference/shortcuts.md",
            "reference/materials.md", "reference/check_json.md", "reference/table.md",
            "reference/manifest.md", "glossary.md", "python.md", "formulas.md", "reliability.md",
            "fault_figures.md",
        ),
    ),
)  # fmt: skip
"""(heading, pages) in the order in which they are read."""


@dataclass(frozen=True)
class Page:
    """A page: its file within the guide, and its title."""

    file: str
    title: str


def guide_folder() -> Path:
    """Return the folder of the guide."""
    package = Path(__file__).resolve().parent.parent
    packed = package / "resources" / "guide"
    return packed if packed.is_dir() else package.parent.parent / "docs" / "guide"


def page_text(file: str) -> str:
    """Return a page's Markdown. Raises OSError where it is not there."""
    return (guide_folder() / file).read_text(encoding="utf-8")


def pages() -> list[tuple[str, list[Page]]]:
    """Return all chapters with their pages."""
    return [(heading, [Page(file, _title(file)) for file in files]) for heading, files in CHAPTERS]


def _title(file: str) -> str:
    return page_text(file).partition("\n")[0].removeprefix("# ").strip()


def pages_with(typed: str) -> frozenset[str]:
    """Return the pages that hold every word of a text, however it is written; all for no word."""
    words = typed.casefold().split()
    return frozenset(
        file for _, files in CHAPTERS for file in files if not words or _holds(page_text(file), words)
    )


def _holds(text: str, words: list[str]) -> bool:
    folded = LINK.sub("](", text).casefold()
    return all(word in folded for word in words)


def anchor_of(heading: str) -> str:
    """Return what a link to a heading ends in, after its #."""
    kept = re.sub(r"[^\w\s-]", "", heading.casefold())
    return re.sub(r"\s+", "-", kept.strip())


def shown_text(file: str, *, dark: bool) -> str:
    """Return a page's Markdown as the viewer shows it: comments left out, pictures of the theme."""
    text = re.sub(r"<!--.*?-->\s*", "", page_text(file), flags=re.DOTALL)
    return text.replace("_light.png", "_dark.png") if dark else text
