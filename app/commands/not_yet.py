"""Items of the menus whose work is not in this version: greyed, and the status bar says so.

A command that is made leaves this table and gets its handler in the module of its subject.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial

from app.actions import Reason

NOT_YET: Mapping[str, str] = {
    "machine.fastest": "Finding the fastest safe speed",
    "prove.arrange": "Arranging the timing",
}
"""Command id to what it would do."""


def not_yet_handlers() -> Mapping[str, Callable[..., object]]:
    """Give handlers that are never called, since their items are greyed."""
    return dict.fromkeys(NOT_YET, lambda *_state: None)


def not_yet_reasons() -> Mapping[str, Reason]:
    """Give why each item is greyed."""
    return {key: partial(_reason, what) for key, what in NOT_YET.items()}


def _reason(what: str) -> str:
    return f"{what} is not in this version yet"
