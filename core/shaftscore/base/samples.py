"""Where the sample projects are: in the installed package, or beside it in a checkout."""

from __future__ import annotations

from pathlib import Path


def sample_folder() -> Path:
    """Return the folder of the sample projects, `*.shaft`."""
    package = Path(__file__).resolve().parent.parent
    packed = package / "sample_projects"
    return packed if packed.is_dir() else package.parent.parent / "sample_projects"
