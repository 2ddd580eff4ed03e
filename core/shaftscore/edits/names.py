"""Ids made of names."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection

LONGEST = 30
"""Most letters that an id takes of a name."""


def free_id(name: str, taken: Collection[str], otherwise: str = "lane") -> str:
    """Return an id made of a name: its letters without accents, numbered where that is taken.

    otherwise: what it is made of where the name has no letters.
    """
    bare = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    stem = re.sub(r"[^a-z0-9]+", "_", bare).strip("_")[:LONGEST] or otherwise
    return next(own for own in (stem, *(f"{stem}_{n}" for n in range(2, len(taken) + 3))) if own not in taken)
