"""One thing, one name: no label or message uses a wording that the glossary of the house replaces.

A phrase counts wherever it stands in a text that a person sees; a single word only where it is the whole
label, since "later" or "touches" is right in many sentences.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

PHRASES = {
    "Do this": "Apply fix",
    "Do the cure": "Apply fix",
    "What must be made again": "Parts to reprint",
    "Moves keep their length": "Keep move lengths",
    "Go back to saved": "Revert to saved…",
    "open to look only": "Opened read-only",
    "Look at it": "Preview",
    "Use it": "Restore",
    "Quickness of play": "Playback speed",
    "Untangle": "Find stack order…",
    "Fit from the coupon": "Set fit clearance…",
    "Correct as built": "Correct from measurements…",
    "Never together": "Mutually exclusive",
    "One needs another": "Requires",
    "One after another": "Sequence",
    "From before": "Lead",
    "Until after": "Lag",
    "Straight, with a": "Translating roller",
    "On an arm": "Swinging roller",
    "Held to the disc by": "Closure",
    "Turns, from the top": "Rotation (seen from top)",
    "Lets by while": "Open while",
    "Items meant": "Items per opening",
    "One is called": "Item name",
    "In it at the start": "Initial count",
    "Travel to it": "Travel time",
    "Time for one": "Time per item",
    "Shares its base with": "Base-circle group",
    "On returns": "Pressure angle, return stroke",
    "On swinging followers": "Pressure angle, swinging follower",
    "Outlines larger by": "Contour offset",
    "Holes larger by": "Hole offset",
    "as the disc": "same as disc",
    "as by default": "default",
    "Set drive": "OK",
    "Take away": "Remove drive",
    "Use settings": "OK",
    "Back to the usual": "Restore defaults",
    "Make the machine": "Create machine",
    "of what was before": "updating…",
    "Opens empty": "Runs empty",
    "costs most": "contributes most",
    "Something went wrong in the program": "Shaftscore hit an unexpected error",
    "stands here as soon as": "Add blocks to a lane to see its disc.",
}
"""What is not said, and what is said instead."""

LABELS = {"Prove", "Later", "Earlier", "Shortest", "Protected", "Go on", "Out of", "asked", "begin"}
"""What no whole label is."""


def _texts(source: str) -> Iterator[tuple[int, str]]:
    """Yield line and text of every string that is not the text of a definition or of a value."""
    tree = ast.parse(source)
    unseen = {
        id(child.value)
        for node in ast.walk(tree)
        for child in (node.body if isinstance(getattr(node, "body", None), list) else ())
        if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in unseen:
            yield node.lineno, node.value


def _replaced(text: str) -> list[str]:
    """Return what of the glossary a text uses although it is replaced."""
    said = text.replace("&", "").removesuffix("…").strip()
    found = [phrase for phrase in PHRASES if re.search(rf"(?<!\w){re.escape(phrase)}(?!\w)", said)]
    return found + ([said] if said in LABELS and said[:1].isupper() else [])


@pytest.mark.parametrize("package", ["core/shaftscore", "app/shaftscore_app"])
def test_visible_texts_keep_to_the_glossary(package: str) -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}: {phrase!r}, say {PHRASES.get(phrase, 'the usual word')!r}"
        for path in sorted((ROOT / package).rglob("*.py"))
        for line, text in _texts(path.read_text(encoding="utf-8"))
        for phrase in _replaced(text)
    ]
    assert not found, "\n".join(found)


def test_the_guide_keeps_to_the_glossary() -> None:
    pages = [ROOT / "README.md", *sorted((ROOT / "docs" / "guide").rglob("*.md"))]
    found = [
        f"{page.relative_to(ROOT)}: {phrase!r}"
        for page in pages
        for phrase in PHRASES
        if phrase[0].isupper() and f"*{phrase}" in page.read_text(encoding="utf-8")
    ]
    assert not found, "\n".join(found)


@pytest.mark.parametrize("planted", ["&Quickness of play…", "Prove", "same radius as the disc", "Go on"])
def test_a_planted_wording_is_seen(planted: str) -> None:
    assert [text for _, text in _texts(f"label = {planted!r}")] == [planted]
    assert _replaced(planted)
    assert not _replaced("Shows later findings")
