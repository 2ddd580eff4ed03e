"""Memory: the collector of cyclic garbage kept from stopping a drag, and freed memory given back.

A full pass looks at every object there is: with the libraries and a large machine loaded that takes over
50 ms, several times in a start or a drag. Starting makes hardly any garbage, so passes are rare until it is
over. What is there once the editor has started stays to its end, so it is set aside, and passes after that
are short. Nothing is set aside later: solved machines hold one another in circles, and what is set aside
while steps can be undone would never be freed.

What a whole examination takes for a moment is freed in pieces, between others that stay. The C library of
Linux keeps such pieces, apart for every thread that ever asked, and a session that goes on for hours would
grow by them. So threads share two heaps, a large array is a piece of its own that goes at once, and the rest
is given back once the program rests (mallopt(3), malloc_trim(3)). Elsewhere the system sees to it.
"""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable

SETTLE_MS = 2000
"""So long after the start everything is loaded."""


_RARE = 500_000
"""So many objects more than were freed come to be before a pass, while the program starts."""

_USUAL = gc.get_threshold()


_MMAP_THRESHOLD, _TRIM_THRESHOLD, _ARENA_MAX = -3, -1, -8
"""Options of mallopt, as malloc.h names them."""

_LARGE_ARRAY, _KEPT_AT_END, _HEAPS = 2**20, 16 * 2**20, 2
"""Bytes from which on a piece is mapped by itself; bytes that a heap keeps at its end; heaps."""


def start() -> None:
    """Make passes rare; they stay so in a command, which ends soon."""
    gc.set_threshold(_RARE, *_USUAL[1:])


def share_heaps() -> None:
    """Let all threads of an editor share heaps, and large arrays be given back at once; Linux alone."""
    adjust = _of_c("mallopt")
    if adjust is not None:
        for option, value in (
            (_MMAP_THRESHOLD, _LARGE_ARRAY), (_TRIM_THRESHOLD, _KEPT_AT_END), (_ARENA_MAX, _HEAPS)
        ):  # fmt: skip
            adjust(option, value)


def give_back() -> None:
    """Return freed memory to the system; takes some ms, so for when nothing is done. Linux alone."""
    trim = _of_c("malloc_trim")
    if trim is not None:
        trim(0)


def _of_c(name: str) -> Callable[..., int] | None:
    """Return a function of the C library; None where it has none of that name."""
    if not sys.platform.startswith("linux"):
        return None
    import ctypes

    found: Callable[..., int] | None = getattr(ctypes.CDLL(None), name, None)
    return found


def settle() -> None:
    """Make one full pass, set aside what is there, and make passes as frequent as usual."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*_USUAL)


def set_aside() -> None:
    """Set aside what is there, for a command: its process is about to end."""
    gc.freeze()
