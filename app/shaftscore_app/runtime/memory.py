"""Python's collector of cyclic garbage, kept from slowing the start and stopping a drag.

A full pass looks at every object there is: with the libraries and a large machine loaded that takes over
50 ms, several times in a start or a drag. Starting makes hardly any garbage, so passes are rare until it is
over. What is there once the editor has started stays to its end, so it is set aside, and passes after that
are short.
"""

from __future__ import annotations

import gc

SETTLE_MS = 2000
"""So long after the start everything is loaded."""


_RARE = 500_000
"""So many objects more than were freed come to be before a pass, while the program starts."""

_USUAL = gc.get_threshold()


def start() -> None:
    """Make passes rare; they stay so in a command, which ends soon."""
    gc.set_threshold(_RARE, *_USUAL[1:])


def settle() -> None:
    """Make one full pass, set aside what is there, and make passes as frequent as usual."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(*_USUAL)


def set_aside() -> None:
    """Set aside what is there: it stays to the end, or the process is about to end."""
    gc.freeze()
