"""The habits of the project that a machine can check, each with what it looks for and an example.

All rules look at the syntax tree, not at text. `RULES` is the table: add a row, an example that breaks
it and one that does not.
"""

from __future__ import annotations

import ast
import gc
import io
import re
import statistics
import tokenize
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TypeVar

import pytest

ROOT = Path(__file__).resolve().parent.parent

ROOMS = {
    "shaftscore": (
        "base",
        "built",
        "model",
        "edits",
        "program",
        "kinematics.motion",
        "kinematics.intermittent",
        "kinematics.course",
        "kinematics.followers",
        "kinematics.profiles",
        "solution",
        "stack",
        "layout",
        "rules",
        "judge.findings",
        "judge.bodies",
        "judge.checks",
        "judge.flow",
        "judge.loads",
        "judge.heights",
        "judge.fits",
        "judge.shaft",
        "judge.spread",
        "judge.report",
        "placing",
        "bringup",
        "make.table",
        "make.asbuilt",
        "make.solids",
        "make.proof",
        "make.drawing",
        "make.files",
        "make.assembly",
        "make.manual",
        "make.exporting",
    ),
    "shaftscore_app": (
        "resources",
        "runtime",
        "theme",
        "document",
        "keeping",
        "widgets",
        "timing",
        "forms",
        "views",
        "menus",
        "dialogs",
        "commands",
        "frame",
        "cli",
    ),
}
"""The rooms of both packages, in an order in which each imports only those before it (and the library)."""

FOLDERS = {"shaftscore": "core", "shaftscore_app": "app"}
"""The folder of the checkout that holds a package."""

DIVIDED = {room.split(".")[0] for room in ROOMS["shaftscore"] if "." in room}
"""Folders that are no room themselves but hold several."""


Node = TypeVar("Node", bound=ast.AST)

DEFINITIONS = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
IMPORTS = (ast.Import, ast.ImportFrom)
CALLS = (ast.Call,)
LOOKED_AT = (*DEFINITIONS, *IMPORTS, *CALLS, ast.BinOp, ast.ExceptHandler)
"""Classes of nodes that rules look at: no others are kept."""


@dataclass(frozen=True)
class ParsedFile:
    """A file of the repository, by its path within it: the nodes of its syntax tree, by their class."""

    path: Path
    nodes: Mapping[type[ast.AST], tuple[ast.AST, ...]]

    def of(self, *kinds: type[Node]) -> Iterator[Node]:
        """Yield the nodes of some classes."""
        for kind in kinds:
            yield from self.nodes[kind]  # type: ignore[misc]


@cache
def _parsed(folder: str) -> tuple[ParsedFile, ...]:
    """Parse every file of a folder, once for all rules."""
    gc.disable()  # hundreds of thousands of small objects, none of them garbage: three times as fast
    try:
        return tuple(_read(path) for path in sorted((ROOT / folder).rglob("*.py")))
    finally:
        gc.enable()


def _read(path: Path) -> ParsedFile:
    nodes: dict[type[ast.AST], list[ast.AST]] = {kind: [] for kind in LOOKED_AT}
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if type(node) in nodes:
            nodes[type(node)].append(node)
    return ParsedFile(path.relative_to(ROOT), {kind: tuple(some) for kind, some in nodes.items()})


def _files(*folders: str) -> Iterator[ParsedFile]:
    for folder in folders:
        yield from _parsed(folder)


def _dotted(node: ast.AST) -> str:
    """Return `a.b.c` for such an expression, else an empty text."""
    if isinstance(node, ast.Attribute):
        head = _dotted(node.value)
        return f"{head}.{node.attr}" if head else node.attr
    return node.id if isinstance(node, ast.Name) else ""


def _called(node: ast.AST) -> str:
    return _dotted(node.func) if isinstance(node, ast.Call) else ""


def _is_turn(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        return node.value in (360, 360.0)
    return _dotted(node).split(".")[-1].lower() in ("tau", "turn", "full_turn")


def _angle_modulo(node: ast.AST) -> bool:
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod):
        return _is_turn(node.right)
    return _called(node).split(".")[-1] in ("fmod", "mod", "remainder", "divmod")


def _swallows(node: ast.AST) -> bool:
    if not isinstance(node, ast.ExceptHandler):
        return False
    wide = node.type is None or _dotted(node.type) in ("Exception", "BaseException")
    return wide and not any(isinstance(n, ast.Raise | ast.Call) for n in ast.walk(ast.Module(node.body, [])))


def _imports_from(module: str) -> Callable[[ast.AST], bool]:
    def found(node: ast.AST) -> bool:
        if isinstance(node, ast.Import):
            return any(alias.name.split(".")[0] == module for alias in node.names)
        return isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == module

    return found


def _speaks(node: ast.AST) -> bool:
    """Return whether the text of a function or class says that it gives, tells, hears or says something."""
    if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
        return False
    return re.match(r"(Give|Tell|Hear|Say)s?\b", ast.get_docstring(node) or "") is not None


def _calls(*names: str) -> Callable[[ast.AST], bool]:
    return lambda node: any(_called(node) == name or _called(node).endswith(f".{name}") for name in names)


def _edits_by_name(node: ast.AST) -> bool:
    if isinstance(node, ast.ImportFrom):
        by_name = {alias.name for alias in node.names} & {"apply_edit", "EDITS"}
        return (node.module or "").startswith("shaftscore.edits") and bool(by_name)
    return _calls("apply_edit")(node)


def _posts_what_nobody_holds(node: ast.AST) -> bool:
    """Return whether a call posts an event that is made within the call itself."""
    return _calls("postEvent")(node) and any(
        isinstance(argument, ast.Call) for argument in getattr(node, "args", ())
    )


@dataclass(frozen=True)
class HouseRule:
    """One habit: in which nodes it forbids what, where, where not, and an example of each."""

    name: str
    why: str
    kinds: tuple[type[ast.AST], ...]
    breaks: Callable[[ast.AST], bool]
    folders: tuple[str, ...]
    homes: tuple[str, ...]
    bad: str
    good: str


RULES = (
    HouseRule(
        "one-wrap",
        "angles wrap in base/angles.py alone",
        (ast.BinOp, *CALLS),
        _angle_modulo,
        ("core", "app"),
        ("core/shaftscore/base/angles.py",),
        "x = (a + b) % 360",
        "x = wrap(a + b)",
    ),
    HouseRule(
        "construct-records",
        "model_copy accepts NaN and unknown keys: use `replaced`",
        CALLS,
        _calls("model_copy", "model_construct"),
        ("core", "app"),
        (),
        "p = project.model_copy(update={})",
        "p = replaced(project, name='x')",
    ),
    HouseRule(
        "no-swallowed-errors",
        "an error that nobody hears of costs days",
        (ast.ExceptHandler,),
        _swallows,
        ("core", "app", "tests"),
        (),
        "try:\n    f()\nexcept Exception:\n    pass",
        "try:\n    f()\nexcept OSError:\n    pass",
    ),
    HouseRule(
        "core-without-qt",
        "the model never waits for a window",
        IMPORTS,
        _imports_from("PySide6"),
        ("core",),
        (),
        "from PySide6.QtCore import QObject",
        "from shaftscore.base.angles import Arcs",
    ),
    HouseRule(
        "core-without-app",
        "the model does not know the screen",
        IMPORTS,
        _imports_from("shaftscore_app"),
        ("core",),
        (),
        "import shaftscore_app.document",
        "import shaftscore.judge.report",
    ),
    HouseRule(
        "wiring-in-one-place",
        "a view that mutes signals itself goes round app/shaftscore_app/document/binding.py",
        CALLS,
        _calls("blockSignals"),
        ("app",),
        ("app/shaftscore_app/document/binding.py",),
        "w.blockSignals(True)",
        "bind(w)",
    ),
    HouseRule(
        "edits-by-function",
        "a checker sees the arguments of a function, not those of a name: only a cure goes by its name",
        (*IMPORTS, *CALLS),
        _edits_by_name,
        ("app",),
        ("app/shaftscore_app/views/findings.py", "app/shaftscore_app/document/cure_place.py"),
        "edited = apply_edit(project, 'set_shaft', speed_rpm=6.0)",
        "edited = set_shaft(project, speed_rpm=6.0)",
    ),
    HouseRule(
        "threads-in-one-place",
        "threads and processes live in app/shaftscore_app/runtime/jobs.py, those of the command line in "
        "interrupt.py and both_cores.py",
        IMPORTS,
        lambda node: any(
            _imports_from(name)(node) for name in ("threading", "multiprocessing", "concurrent")
        ),
        ("app", "core"),
        (
            "app/shaftscore_app/runtime/jobs.py",
            "app/shaftscore_app/runtime/interrupt.py",
            "app/shaftscore_app/runtime/both_cores.py",
        ),
        "import threading",
        "from shaftscore_app.runtime.jobs import Jobs",
    ),
    HouseRule(
        "no-event-override",
        "an error two overrides deep ends the process: watch events with runtime/watching.py",
        (ast.FunctionDef,),
        lambda node: isinstance(node, ast.FunctionDef) and node.name in ("event", "viewportEvent"),
        ("app",),
        (),
        "class W:\n    def event(self, event): return super().event(event)",
        "class W:\n    def keyPressEvent(self, event): pass",
    ),
    HouseRule(
        "posted-events-are-kept",
        "Qt deletes a posted event that Python made and nobody holds twice over: see runtime/turns.py",
        CALLS,
        _posts_what_nobody_holds,
        ("app", "tests"),
        (),
        "QCoreApplication.postEvent(window, QEvent(QEvent.Type.User))",
        "QCoreApplication.postEvent(window, self._event)",
    ),
    HouseRule(
        "no-device-of-a-painter",
        "PySide may return another object than what is painted on: see theme/pictures.py",
        CALLS,
        _calls("device"),
        ("app",),
        (),
        "ratio = painter.device().devicePixelRatioF()",
        "ratio = ratio_of(painter)",
    ),
    HouseRule(
        "no-sleep",
        "a test waits for a condition, never for a time",
        CALLS,
        _calls("time.sleep", "sleep", "qtbot.wait"),
        ("tests", "app", "core"),
        (),
        "sleep(1)",
        "qtbot.waitUntil(lambda: done)",
    ),
    HouseRule(
        "texts-say-what-is-done",
        "a function's text begins with Return, Compute, Yield, ..., not with Give, Tell, Hear or Say",
        DEFINITIONS,
        _speaks,
        ("core", "app", "tests", "docs", "benchmarks"),
        (),
        'def f():\n    """Give the lift, mm."""',
        'def f():\n    """Return the lift, mm."""',
    ),
)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_house_rule(rule: HouseRule) -> None:
    found = [
        f"{file.path}:{getattr(node, 'lineno', 0)}"
        for file in _files(*rule.folders)
        if file.path.as_posix() not in rule.homes
        for node in file.of(*rule.kinds)
        if rule.breaks(node)
    ]
    assert not found, f"{rule.why}: {', '.join(found)}"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_house_rule_sees_a_planted_violation(rule: HouseRule) -> None:
    bad, good = (
        [node for node in ast.walk(ast.parse(text)) if type(node) in rule.kinds]
        for text in (rule.bad, rule.good)
    )
    assert any(map(rule.breaks, bad))
    assert not any(map(rule.breaks, good))


def _reasons(source: str) -> set[int]:
    """Return the lines with a comment that says something; marks for tools say nothing."""
    tokens = tokenize.generate_tokens(io.StringIO(source).readline)
    comments = {token.start[0]: token.string for token in tokens if token.type == tokenize.COMMENT}
    marks = re.compile(r"#\s*(noqa|type:\s*ignore)(:\s*[A-Z0-9, ]+|\[[^]]*\])?")
    return {line for line, text in comments.items() if marks.sub("", text).strip("# ")}


def _told_aliases(tree: ast.Module) -> set[int]:
    """Return the lines of the aliases and constants of a module whose text says why they are of Any."""
    return {
        line
        for first, second in pairwise(tree.body)
        if isinstance(first, ast.Assign | ast.AnnAssign)
        and isinstance(second, ast.Expr)
        and isinstance(second.value, ast.Constant)
        and re.search(r"\bAny\b", str(second.value.value))
        for line in range(first.lineno, (first.end_lineno or first.lineno) + 1)
    }


def _loose_any(source: str) -> list[int]:
    """List the lines on which `Any` stands without a reason, neither beside it nor in its alias's text."""
    tree = ast.parse(source)
    used = {
        node.lineno
        for node in ast.walk(tree)
        if (isinstance(node, ast.Name | ast.Attribute) and _dotted(node) in ("Any", "typing.Any"))
    }
    return sorted(used - _reasons(source) - _told_aliases(tree))


def test_any_stands_in_the_app_only_with_a_reason() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{line}"
        for path in sorted((ROOT / "app").rglob("*.py"))
        if re.search(r"\bAny\b", source := path.read_text(encoding="utf-8"))
        for line in _loose_any(source)
    ]
    assert not found, f"Any without a reason: {', '.join(found)}"


@pytest.mark.parametrize(
    "planted",
    [
        "def shown(self) -> Any: ...",
        "values: list[typing.Any] = []",
        "def f(x: Any) -> None: ...  # noqa: ARG001",
        "plot: Any = None  # type: ignore[misc]",
        'Plain = dict[str, Any]\n"""A JSON object."""',
    ],
)
def test_a_planted_any_without_a_reason_is_seen(planted: str) -> None:
    assert _loose_any(f"import typing\nfrom typing import Any\n{planted}\n") == [3]


@pytest.mark.parametrize(
    "planted",
    [
        "plot: Any = None  # the library has no types",
        'Plain = dict[str, Any]\n"""A JSON object; Any, since a file may hold anything."""',
        "x: object = None",
    ],
)
def test_any_with_a_reason_may_stand(planted: str) -> None:
    assert _loose_any(f"from typing import Any\n{planted}\n") == []


def _room(module: str) -> tuple[str, str]:
    """Return package and room of a dotted module; an empty room for the package itself, or for others."""
    package, *parts = module.split(".")
    if package not in ROOMS or not parts:
        return package, ""
    return package, ".".join(parts[:2] if parts[0] in DIVIDED else parts[:1])


def _module(path: Path) -> str:
    """Return the dotted module of a file of `core` or `app`, as it is imported."""
    parts = path.with_suffix("").parts[1:]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def _imported(nodes: Iterable[ast.AST]) -> set[str]:
    """Return the dotted modules that a file imports, and of `from a import b` also a.b."""
    found: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def _layer_faults(module: str, imported: set[str]) -> list[str]:
    """List the rooms that a module imports although they come after its own."""
    package, room = _room(module)
    order = ROOMS[package]
    others = {_room(name)[1] for name in imported if _room(name)[0] == package}
    return [
        f"{module} imports {other}"
        for other in sorted(others)
        if other in order and order.index(other) > order.index(room)
    ]


def _modules(package: str) -> Iterator[tuple[str, ParsedFile]]:
    """Yield the modules of a package that are in a room: not its own __init__ and __main__."""
    for file in _files(FOLDERS[package]):
        module = _module(file.path)
        if _room(module)[1] not in ("", "__main__", *DIVIDED):
            yield module, file


@pytest.mark.parametrize("package", ROOMS)
def test_every_module_is_in_a_room_and_every_room_is_there(package: str) -> None:
    assert {_room(module)[1] for module, _ in _modules(package)} == set(ROOMS[package])


@pytest.mark.parametrize("package", ROOMS)
def test_rooms_import_only_those_before_them(package: str) -> None:
    faults = [
        fault
        for module, file in _modules(package)
        for fault in _layer_faults(module, _imported(file.of(*IMPORTS)))
    ]
    assert not faults, "\n".join(faults)


def test_a_planted_import_of_a_later_room_is_seen() -> None:
    tree = ast.parse("from shaftscore.judge.report import examine")
    module = _module(Path("core/shaftscore/kinematics/motion/lane.py"))
    assert _layer_faults(module, _imported(ast.walk(tree))) == [f"{module} imports judge.report"]
    module = _module(Path("app/shaftscore_app/widgets/field.py"))
    tree = ast.parse("from shaftscore_app import frame")
    assert _layer_faults(module, _imported(ast.walk(tree))) == [f"{module} imports frame"]


BARE = {"Row", "Part", "Piece", "Place", "Held", "Kept", "Ways"}
"""Names that say nothing of what they name."""


def _doubled(classes: Iterable[tuple[str, str]]) -> list[str]:
    """List the public classes, (place, name), whose name another one has, or that say nothing."""
    homes: dict[str, list[str]] = {}
    for place, name in classes:
        if not name.startswith("_"):
            homes.setdefault(name, []).append(place)
    return sorted(f"{name}: {', '.join(there)}" for name, there in homes.items() if there[1:] or name in BARE)


def test_public_class_names_are_unique_and_say_what_they_are() -> None:
    classes = [
        (str(file.path), node.name)
        for file in _files("core", "app", "tests", "benchmarks", "docs")
        for node in file.of(ast.ClassDef)
    ]
    assert not _doubled(classes), "\n".join(_doubled(classes))


def test_a_planted_double_name_is_seen() -> None:
    assert _doubled([("a.py", "Lane"), ("b.py", "Lane")]) == ["Lane: a.py, b.py"]
    assert _doubled([("a.py", "Row")]) == ["Row: a.py"]
    assert not _doubled([("a.py", "_Row"), ("b.py", "_Row"), ("a.py", "FormRow")])


def test_a_class_over_300_lines_says_why() -> None:
    silent = [
        f"{file.path}: {node.name}"
        for file in _files("core", "app")
        for node in file.of(ast.ClassDef)
        if (node.end_lineno or 0) - node.lineno > 300
        and "Over 300 lines, since" not in (ast.get_docstring(node) or "")
    ]
    assert not silent, silent


def _functions(*folders: str) -> Iterator[ast.FunctionDef]:
    for file in _files(*folders):
        yield from file.of(ast.FunctionDef)


def _code_lines(function: ast.FunctionDef) -> int:
    """Count the lines of a function after its head and its docstring."""
    body = function.body[1:] if ast.get_docstring(function) is not None else function.body
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 1


def test_functions_are_short_enough_to_read_at_once() -> None:
    sizes = sorted(map(_code_lines, _functions("core", "app")))
    assert statistics.median(sizes) < 10
    assert sizes[int(len(sizes) * 0.9)] < 30
