"""Set-up of the whole test run: no network, hypothesis profiles, and Qt where Qt loads."""

from __future__ import annotations

import ctypes
import importlib
import os
import sys
from collections import Counter
from collections.abc import Iterator

import pytest
from hypothesis import settings

from tests import displays, no_network

no_network.block()

M_ARENA_MAX = -8
"""The C library's number for how many heaps threads share (mallopt, glibc's malloc.h)."""


def _c_library() -> ctypes.CDLL | None:
    """Return the C library where it is glibc: its heaps of threads keep what was freed in them."""
    library = ctypes.CDLL(None) if sys.platform == "linux" else None
    return library if hasattr(library, "malloc_trim") else None


GLIBC = _c_library()

if GLIBC is not None:
    # Each window of the tests has threads of its own: with a heap for each, a run held over 1.4 GB.
    GLIBC.mallopt(M_ARENA_MAX, 1)

APT_LINE = (
    "apt-get install libegl1 libgl1 libopengl0 libxkbcommon-x11-0 libxcb-cursor0 libxcb-icccm4 "
    "libxcb-keysyms1 libxcb-image0 libxcb-render-util0 libfontconfig1 libdbus-1-3"
)


def _why_no_qt() -> str:
    """Describe why Qt cannot be loaded; empty where it can."""
    displays.choose()
    try:
        for name in ("QtCore", "QtGui", "QtWidgets", "QtSvg"):
            importlib.import_module(f"PySide6.{name}")
    except ImportError as error:
        return str(error)
    return ""


NO_QT = _why_no_qt()

NEEDS_DISPLAY = "needs a display"

OFFSCREEN_SAYS = (r"This plugin does not support (raise\(\)|grabbing the keyboard)",)
"""Messages of the platform "offscreen", beside those that `qt_log_ignore` names."""

pytest_plugins = [] if NO_QT else ["pytestqt.plugin"]

EXAMPLES = 50
"""So many examples of each property are tried by default, as far as a test does not say so itself."""

settings.register_profile("default", deadline=None, max_examples=EXAMPLES)
settings.register_profile("ci", deadline=None, max_examples=EXAMPLES, derandomize=True)
settings.register_profile("few", deadline=None, max_examples=EXAMPLES // 5, derandomize=True)
settings.register_profile("thorough", deadline=None, max_examples=2 * EXAMPLES, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "default")


@pytest.fixture(autouse=True, scope="module")
def _freed_memory_given_back() -> Iterator[None]:
    """Return to the system what the tests of a file have freed."""
    yield
    if GLIBC is not None:
        GLIBC.malloc_trim(0)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Know the Qt plug-in's settings even where Qt, and so the plug-in, cannot be loaded."""
    if NO_QT:
        for name in ("qt_api", "qt_log_level_fail", "qt_log_ignore"):
            parser.addini(name, "a setting of the Qt plug-in, unused here")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave out what takes minutes, unless -m says what to run."""
    if not config.option.markexpr:
        long = [item for item in items if item.get_closest_marker("long")]
        items[:] = [item for item in items if item not in long]
        config.hook.pytest_deselected(items=long)
    if displays.is_offscreen() and not NO_QT:
        _suit_offscreen(items)


def _suit_offscreen(items: list[pytest.Item]) -> None:
    """Skip what needs a window system, and let the platform say what it cannot do."""
    for item in items:
        item.add_marker(pytest.mark.qt_log_ignore(*OFFSCREEN_SAYS, extend=True))
        needs = item.get_closest_marker("display")
        if needs is not None:
            item.add_marker(pytest.mark.skip(reason=f"{NEEDS_DISPLAY}: {needs.kwargs['reason']}"))


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Show how many tests were skipped since there is no display, and why."""
    reasons = Counter(
        report.longrepr[2].partition(NEEDS_DISPLAY)[2].removeprefix(": ")
        for report in terminalreporter.stats.get("skipped", [])
        if isinstance(report.longrepr, tuple) and NEEDS_DISPLAY in report.longrepr[2]
    )
    if reasons:
        terminalreporter.section("skipped for want of a display")
    for reason, count in reasons.items():
        terminalreporter.line(f"{count:4d}  {reason}")


def pytest_ignore_collect(collection_path: os.PathLike[str]) -> bool | None:
    """Leave the editor's tests out where Qt cannot be loaded (test_gui_available says so)."""
    parts = os.fspath(collection_path).split(os.sep)
    return True if NO_QT and "app" in parts[parts.index("tests") if "tests" in parts else 0 :] else None
