"""Followers of many lanes over their own discs, evaluated in one numpy pass, one lane after another."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from shaftscore.kinematics.followers.model import FollowerModel, Points, Reals
from shaftscore.kinematics.followers.several import SeveralFollowers


@dataclass(frozen=True, eq=False)
class EndToEnd(SeveralFollowers):
    """Several followers, each over its own stretch of an array of lifts: (n,) as for one.

    models: none of them flat, with rollers of one radius. bounds: where the stretch of each begins, and the
    end of the last.
    """

    bounds: tuple[int, ...]

    kind = "end-to-end"
    is_flat = False

    def centre(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.centre`: (n,) -> (4, n)."""
        found = np.empty((4, len(lift_mm)), np.complex128)
        for model, here in self._stretches():
            found[:, here] = model.centre(lift_mm[here])
        return found

    def travel(self, lift_mm: Reals) -> Points:
        """See `FollowerModel.travel`: (n,) -> (n,)."""
        found = np.empty(len(lift_mm), np.complex128)
        for model, here in self._stretches():
            found[here] = model.travel(lift_mm[here])
        return found

    def _stretches(self) -> Iterator[tuple[FollowerModel, slice]]:
        for model, (first, stop) in zip(self.models, pairwise(self.bounds), strict=True):
            yield model, slice(first, stop)
