"""What several followers evaluated in one numpy pass have in common: the radii of the first one."""

from __future__ import annotations

from dataclasses import dataclass

from shaftscore.kinematics.followers.model import FollowerModel


@dataclass(frozen=True, eq=False)
class SeveralFollowers:
    """Followers with rollers of one radius."""

    models: tuple[FollowerModel, ...]

    @property
    def base_radius_mm(self) -> float:
        """The first disc's; the others differ."""
        return self.models[0].base_radius_mm

    @property
    def roller_radius_mm(self) -> float:
        """See `FollowerModel.roller_radius_mm`: of all."""
        return self.models[0].roller_radius_mm
