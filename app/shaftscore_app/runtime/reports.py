"""Reports of errors of the program itself: what happened and where in the code, and nothing private.

Folders, file names and the person's name are not in a report, nor does anything of the project.
"""

from __future__ import annotations

import platform
import re
import traceback
from collections.abc import Iterator, Sequence
from datetime import datetime
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

import shaftscore
import shaftscore_app
from shaftscore.base.whole_files import private_folder, write_whole

PACKAGES = tuple(Path(package.__path__[0]).resolve() for package in (shaftscore, shaftscore_app))
"""The folders of the program's own two packages."""

MOST = 20
"""As many reports are kept."""

MOST_FRAMES = 60
LIBRARIES = ("PySide6", "numpy", "pydantic", "scipy", "shapely")
_PATH = re.compile(r"(?<!\w)(?:[A-Za-z]:[\\/]|\\\\|~?/)[^\s'\"<>|:*?,;]+")


def report_text(error: BaseException, when: datetime, private: Sequence[str] = ()) -> str:
    """Write a report about an error and what led to it; private: texts that must not be in it."""
    lines = [f"Shaftscore report, {when:%Y-%m-%d %H:%M} UTC", *_versions(), ""]
    for cause in _causes(error):
        lines.append(f"{type(cause).__name__}: {without_private(str(cause), private)}")
        lines += _places(cause)
        lines.append("")
    return "\n".join(lines)


def first_line(error: BaseException) -> str:
    """Write in a line what happened and where: "ValueError in shaftscore/base/angles.py, line 40"."""
    frames = traceback.extract_tb(error.__traceback__)
    if not frames:
        return type(error).__name__
    ours = [frame for frame in frames if _own_package(Path(frame.filename)) is not None]
    last = (ours or frames)[-1]
    return f"{type(error).__name__} in {_place(last.filename)}, line {last.lineno}"


def without_private(text: str, private: Sequence[str] = ()) -> str:
    """Take folders, files and other private texts out of a message."""
    for word in sorted(filter(None, private), key=len, reverse=True):
        text = text.replace(word, "<private>")
    return _PATH.sub("<path>", text)


def write_report(folder: Path, text: str, when: datetime) -> Path:
    """Write a report, and drop the oldest beyond `MOST`. Raises OSError."""
    private_folder(folder)
    path = folder / f"report-{when:%Y%m%dT%H%M%S.%f}.txt"
    write_whole(path, text.encode("utf-8", "replace"))
    for old in sorted(folder.glob("report-*.txt"))[:-MOST]:
        old.unlink(missing_ok=True)
    return path


def _versions() -> Iterator[str]:
    yield f"Shaftscore {_version('shaftscore')}, Python {platform.python_version()}"
    yield f"{platform.system()} {platform.release()}, {platform.machine()}"
    yield ", ".join(
        f"{name} {_version('PySide6-Essentials' if name == 'PySide6' else name)}" for name in LIBRARIES
    )


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "of a checkout" if name == "shaftscore" else "unknown"


def _causes(error: BaseException) -> Iterator[BaseException]:
    """Yield an error and what it came of, the last one first."""
    seen: set[int] = set()
    here: BaseException | None = error
    while here is not None and id(here) not in seen:
        seen.add(id(here))
        yield here
        here = here.__cause__ or (None if here.__suppress_context__ else here.__context__)


def _places(error: BaseException) -> Iterator[str]:
    frames = traceback.extract_tb(error.__traceback__)
    for frame in frames[-MOST_FRAMES:]:
        yield f"  {_place(frame.filename)}, line {frame.lineno}, in {frame.name}"


def _place(filename: str) -> str:
    """Write where code stands without the folders above the program or the library."""
    path = Path(filename)
    own = _own_package(path)
    if own is not None:
        return path.relative_to(own.parent).as_posix()
    parts = path.parts
    if "site-packages" in parts:
        return "/".join(parts[parts.index("site-packages") + 1 :])
    return "/".join(parts[-2:]) if "lib" in str(path.parent).lower() else path.name


def _own_package(path: Path) -> Path | None:
    return next((package for package in PACKAGES if path.is_relative_to(package)), None)
