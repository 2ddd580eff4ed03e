"""Names in the data folder for files of the person's own folders."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path


def name_for(path: Path) -> str:
    """Return a plain name that stands for a file, wherever it lies: its own, and a hash of where it is."""
    real = path.resolve()
    stem = re.sub(r"[^A-Za-z0-9]+", "-", real.stem)[:40].strip("-") or "file"
    return f"{stem}-{hashlib.sha256(str(real).encode('utf-8', 'surrogatepass')).hexdigest()[:16]}"
