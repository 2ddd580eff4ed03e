"""House rule: no cache of a function holds what belongs to a machine, which would outlive its project."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import shaftscore
import shaftscore_app

HELD = ("Solution", "LaneSolution", "Project", "Report", "Lane", "Stack", "MachineLoads", "LaneLoads")
"""Records and results that go with their machine."""


def _cached(tree: ast.AST) -> Iterator[ast.FunctionDef]:
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            parts = (part for deco in node.decorator_list for part in ast.walk(deco))
            words = {part.id for part in parts if isinstance(part, ast.Name)}
            if words & {"lru_cache", "cache"}:
                yield node


def _names(node: ast.FunctionDef) -> set[str]:
    found = [one.annotation for one in node.args.args if one.annotation is not None]
    return {word.id for one in found for word in ast.walk(one) if isinstance(word, ast.Name)}


def test_function_caches_hold_nothing_of_a_machine() -> None:
    """Else a session of hours grows by every machine that it has seen; what `once` keeps goes with it."""
    roots = [Path(str(package.__file__)).parent for package in (shaftscore, shaftscore_app)]
    seen, bad = 0, []
    for path in (path for root in roots for path in sorted(root.rglob("*.py"))):
        for node in _cached(ast.parse(path.read_text(encoding="utf-8"))):
            seen += 1
            bad += [f"{path.name}: {node.name} of {name}" for name in sorted(_names(node) & set(HELD))]
    assert seen > 10
    assert not bad
