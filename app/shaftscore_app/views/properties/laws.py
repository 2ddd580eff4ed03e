"""The motion laws as people choose them."""

from __future__ import annotations

from typing import get_args

from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.model import LawName
from shaftscore_app.widgets.choice import Option

AS_THE_LANE = "same as lane"

NAMES: tuple[LawName, ...] = tuple(name for name in get_args(LawName) if name in LAWS)
"""The laws that a person can choose."""


def law_title(name: LawName | str) -> str:
    """Return a law's title ("Modified sine")."""
    title = LAWS[name].title if name in LAWS else str(name).replace("-", " ")
    return title[:1].upper() + title[1:]


def law_options(lane_law: str | None = None) -> list[Option[LawName | None]]:
    """Return all laws; with the lane's law given, "same as lane" comes first (value None)."""
    own: list[Option[LawName | None]] = [Option(name, law_title(name)) for name in NAMES]
    return own if lane_law is None else [Option(None, law_title(lane_law), AS_THE_LANE), *own]
