"""Slides of followers: a bar from the roller's axle to the output, as parts.

What it is made of is in `shaftscore.layout.follower_bars`.
"""

from __future__ import annotations

from shaftscore.layout.follower_bars import slide_bar
from shaftscore.layout.followers import FollowerLayout
from shaftscore.make.solids.bars import bar_part
from shaftscore.make.solids.outlines import bar_path
from shaftscore.make.solids.part import MadePart
from shaftscore.model import Project


def slide_part(project: Project, layout: FollowerLayout) -> MadePart:
    """Make a lane's slide; raises FollowerLayoutError where its holes leave too little material."""
    bar = slide_bar(layout)
    contour = bar_path([(0.0, bar.half_mm), (layout.parts.arm_mm, bar.half_mm)])
    return bar_part(project, bar, "slide", contour, project.stack_of(layout.lane).id)
