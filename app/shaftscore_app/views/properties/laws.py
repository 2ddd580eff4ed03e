"""The motion laws as people choose them."""

from __future__ import annotations

from shaftscore.kinematics.motion.laws import LAWS
from shaftscore.model import LawName
from shaftscore_app.widgets.choice import Option

AS_THE_LANE = "as the lane"


def law_title(name: LawName | str) -> str:
    """Return a law's title ("Modified sine")."""
    title = LAWS[name].title if name in LAWS else str(name).replace("-", " ")
    return title[:1].upper() + title[1:]


def law_options(lane_law: str | None = None) -> list[Option]:
    """Return all laws; with the lane's law given, "as the lane" comes first (value None)."""
    own = [Option(name, law_title(name)) for name in LAWS]
    return own if lane_law is None else [Option(None, law_title(lane_law), AS_THE_LANE), *own]
