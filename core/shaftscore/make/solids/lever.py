"""Levers of followers, and the two links of a straight-line lever, as parts.

What they are made of is in `shaftscore.layout.follower_bars`.
"""

from __future__ import annotations

from shaftscore.layout.bars import FlatBar
from shaftscore.layout.follower_bars import coupler_bar, guide_link_bar, lever_bar
from shaftscore.layout.followers import FollowerLayout
from shaftscore.make.solids.bars import bar_part
from shaftscore.make.solids.outlines import bar_path
from shaftscore.make.solids.part import MadePart
from shaftscore.model import Project


def lever_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make a lane's lever; raises FollowerLayoutError where its holes leave too little material."""
    return _made(project, layout, lever_bar(layout))


def coupler_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the coupler of a straight-line lever; raises FollowerLayoutError as the lever does."""
    return _made(project, layout, coupler_bar(layout))


def guide_link_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make the guide link of a straight-line lever; raises FollowerLayoutError as the lever does."""
    return _made(project, layout, guide_link_bar(layout))


def _made(project: Project, layout: FollowerLayout, bar: FlatBar) -> MadePart:
    return bar_part(project, bar, "lever", bar_path(bar.bosses), project.stack_of(layout.lane).id)
