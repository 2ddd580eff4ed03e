"""Python's collector of cyclic garbage, kept from stopping a drag.

A full pass looks at every object there is: with the libraries and a large machine loaded that takes over
50 ms, several times in a drag. What is there once the program has started stays to its end, so it is set
aside, and passes after that are short.
"""

from __future__ import annotations

import gc

SETTLE_MS = 2000
"""So long after the start everything is loaded."""


def settle() -> None:
    """Make one full pass, then set aside what is there."""
    gc.collect()
    gc.freeze()
