"""What the texts of `core` must say, as far as a machine can check it.

A public function says the shape of every array that it takes or gives, the unit of every float (or its name
does, as in `_mm`), and the errors that it raises itself; a public class says the shapes of its arrays.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent

ARRAYS = {"Reals", "Points", "Floats", "Angles", "Flags", "Ints", "Bools", "NDArray"}
"""Names of array types."""

SHAPE = re.compile(r"\((?:[\w .+*-]+|\.\.\.),(?: ?[\w .+*-]+,?)*\)")
"""As in (n,), (4, n), (..., m) and (lanes, machines)."""

NAMED = re.compile(r"(?:_(?:deg|mm|s|rad|n|nm|j|g|rpm|mpa|pt|per_\w+)|seconds|factor|ratio|share|fraction)$")
"""Ends of names that say the unit, or that there is none."""

UNIT = re.compile(
    r"degree|°|\bmm|\bs\b|second|µs|radian|\bN\b|N·m|MPa|rev/min|\bg\b|\bJ\b|\bmin\b|\bhours?\b"
    r"|\bpx\b|\bradians\b|\bsteps?\b|\bturns?\b|\bunits?\b|factor|share|fraction|0 to 1"
)
"""Words that say a unit, or that there is none."""

OF_THE_PROGRAM = {"AssertionError", "NotImplementedError"}
"""Errors of whoever wrote the call, not of the data."""


@dataclass(frozen=True)
class PublicText:
    """A public function or class with its text; around: the text of the class that it stands in."""

    name: str
    node: ast.FunctionDef | ast.ClassDef
    around: str = ""

    @property
    def text(self) -> str:
        return ast.get_docstring(self.node) or ""


def texts(tree: ast.Module) -> Iterator[PublicText]:
    """Yield what is public in a module."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and _is_public(node):
            yield PublicText(node.name, node)
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield PublicText(node.name, node)
            around = ast.get_docstring(node) or ""
            methods = (part for part in node.body if isinstance(part, ast.FunctionDef))
            yield from (
                PublicText(f"{node.name}.{one.name}", one, around) for one in methods if _is_public(one)
            )


def _is_public(node: ast.FunctionDef) -> bool:
    overloaded = any(isinstance(one, ast.Name) and one.id == "overload" for one in node.decorator_list)
    return not (node.name.startswith("_") or overloaded)


def _words(annotation: ast.expr | None) -> set[str]:
    return set() if annotation is None else set(re.findall(r"\w+", ast.unparse(annotation)))


def _arguments(node: ast.FunctionDef) -> list[ast.arg]:
    return [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]


def no_shape(text: PublicText) -> bool:
    """Return whether arrays come or go without a word of their shape."""
    node = text.node
    if isinstance(node, ast.ClassDef):
        types = [part.annotation for part in node.body if isinstance(part, ast.AnnAssign)]
    else:
        types = [*(one.annotation for one in _arguments(node)), node.returns]
    has_array = any(_words(one) & ARRAYS for one in types)
    return has_array and not SHAPE.search(text.text + text.around)


def no_unit(text: PublicText) -> bool:
    """Return whether a float comes or goes without a word of its unit."""
    node = text.node
    if isinstance(node, ast.ClassDef):
        return False
    named = [(one.arg, one.annotation) for one in _arguments(node)] + [(node.name, node.returns)]
    bare = [name for name, kind in named if _words(kind) in ({"float"}, {"float", "None"})]
    return any(not NAMED.search(name) for name in bare) and not UNIT.search(text.text)


def no_error(text: PublicText) -> bool:
    """Return whether an error is raised without a word of it."""
    if isinstance(text.node, ast.ClassDef):
        return False
    return any(name not in text.text for name in _raised(text.node) if name not in OF_THE_PROGRAM)


def _raised(node: ast.AST) -> Iterator[str]:
    """Yield the classes of errors that a function raises itself, functions within it left out."""
    for part in ast.iter_child_nodes(node):
        if isinstance(part, ast.FunctionDef | ast.Lambda | ast.ClassDef):
            continue
        if isinstance(part, ast.Raise) and part.exc is not None:
            called = part.exc.func if isinstance(part.exc, ast.Call) else part.exc
            name = ast.unparse(called).split(".")[-1]
            if name[0].isupper():  # a variable is an error that was caught
                yield name
        yield from _raised(part)


RULES: dict[str, tuple[Callable[[PublicText], bool], str, str]] = {
    "shape": (
        no_shape,
        'def f(x: Reals) -> None:\n    """Take lifts, mm."""',
        'def f(x: Reals) -> None:\n    """Take lifts, (n,) mm."""',
    ),
    "unit": (
        no_unit,
        'def f(x: float) -> int:\n    """Take a length."""',
        'def f(x: float) -> int:\n    """Take a length, mm."""',
    ),
    "error": (
        no_error,
        'def f() -> None:\n    """Do it."""\n    raise ValueError("no")',
        'def f() -> None:\n    """Do it. Raises ValueError."""\n    raise ValueError("no")',
    ),
}
"""Name: what tells a fault, a text that has it, and one that has not."""


@cache
def _texts_of_core() -> tuple[tuple[Path, tuple[PublicText, ...]], ...]:
    """Read every file of the library, once for all rules."""
    files = sorted((ROOT / "core").rglob("*.py"))
    return tuple((path, tuple(texts(ast.parse(path.read_text(encoding="utf-8"))))) for path in files)


@pytest.mark.parametrize("rule", RULES)
def test_texts_of_core_say_what_they_must(rule: str) -> None:
    is_wrong = RULES[rule][0]
    wrong = [
        f"{path.relative_to(ROOT)}:{text.node.lineno} {text.name}"
        for path, public in _texts_of_core()
        for text in public
        if is_wrong(text)
    ]
    assert not wrong, f"without {rule}:\n" + "\n".join(wrong)


@pytest.mark.parametrize("rule", RULES)
def test_a_planted_text_is_seen(rule: str) -> None:
    is_wrong, bad, good = RULES[rule]
    assert [is_wrong(text) for source in (bad, good) for text in texts(ast.parse(source))] == [True, False]
