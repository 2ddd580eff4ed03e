"""The motion laws as people choose them."""

from __future__ import annotations

from app.widgets.choice import Option
from core.model import LawName
from core.motion.laws import LAWS

AS_THE_LANE = "as the lane"


def law_title(name: LawName | str) -> str:
    """Give a law's title ("Modified sine")."""
    title = LAWS[name].title if name in LAWS else str(name).replace("-", " ")
    return title[:1].upper() + title[1:]


def law_options(lane_law: str | None = None) -> list[Option]:
    """Give all laws; with the lane's law given, "as the lane" comes first (value None)."""
    own = [Option(name, law_title(name)) for name in LAWS]
    return own if lane_law is None else [Option(None, law_title(lane_law), AS_THE_LANE), *own]
