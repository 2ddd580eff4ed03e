"""Several discs under one kind of follower, evaluated in one numpy pass while a disc is being sized."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from shaftscore.kinematics.followers.model import Points, Reals
from shaftscore.kinematics.followers.several import SeveralFollowers


@dataclass(frozen=True, eq=False)
class SideBySide(SeveralFollowers):
    """Several followers of one kind and roller over different discs, evaluated together.

    Arrays gain an axis before the last: (4, n) becomes (4, r, n).
    """

    @property
    def kind(self) -> str:
        """See `FollowerModel.kind`."""
        return self.models[0].kind

    @property
    def is_flat(self) -> bool:
        """See `FollowerModel.is_flat`."""
        return self.models[0].is_flat

    def centre(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.centre`: (n,) -> (4, r, n)."""
        return np.stack([model.centre(lift_mm) for model in self.models], axis=1)

    def travel(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.travel`: (n,) -> (r, n)."""
        return np.stack([model.travel(lift_mm) for model in self.models])
