"""The record that a lane without a motion has in its place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from shaftscore.base.angles import Arcs


@dataclass(frozen=True)
class Clash:
    """Two blocks of different levels that overlap or touch.

    first, second: their indices; the second begins within the first or at its end. span: the one
    stretch where both hold. short_deg: how far the first runs past the begin of the second (0: they
    touch).
    """

    first: int
    second: int
    span: Arcs
    short_deg: float


@dataclass(frozen=True)
class NoMotion:
    """Why a lane has no motion.

    reason: "clash" (see `clashes`), "law" or "kind" (`what` says what cannot be computed and why), or
    "empty" (the lane has no block), or "waiting" (it was not solved yet).
    """

    reason: Literal["clash", "law", "kind", "empty", "waiting"]
    clashes: tuple[Clash, ...] = ()
    what: str = ""
