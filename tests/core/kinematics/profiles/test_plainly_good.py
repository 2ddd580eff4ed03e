"""What is plainly within the limits is so at its exact extremes; near a limit nothing is said."""

from __future__ import annotations

import pytest

from shaftscore.kinematics.profiles import Profile
from shaftscore.model import Disc, TranslatingRoller, replaced
from shaftscore.solution import solve
from tests.machines import gate, machine

FOLLOWERS = (
    TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, offset_mm=3.0),
    TranslatingRoller(kind="translating-roller", roller_radius_mm=5.0, closure="groove"),
)


def profile_of(follower: object, base_mm: float) -> Profile:
    lane = replaced(gate("A", 20.0, 60.0), follower=follower, disc=Disc(base_radius_mm=base_mm))
    profile = solve(machine(lane)).lanes["a"].profile
    assert profile is not None
    return profile


def is_good(profile: Profile) -> bool:
    """Whether all limits are kept at the exact extremes, and nothing is undercut."""
    steep = all(place.value <= place.limit for place in profile.steep_places)
    curved = all(place.value >= place.limit for place in (*profile.crest_places, *profile.hollow_places))
    return steep and curved and not profile.undercuts()


@pytest.mark.parametrize("follower", FOLLOWERS, ids=lambda one: f"{one.kind}, {one.closure}")
def test_plainly_good_is_good(follower: object) -> None:
    """Small discs are steep and sharp, large ones are not: both answers are seen on either side."""
    said, near = set(), 0
    for base_mm in (20.0, 36.0, 50.0, 60.0, 66.0, 72.0, 80.0, 90.0):
        profile = profile_of(follower, base_mm)
        plainly, good = profile.is_plainly_good, is_good(profile)
        assert good or not plainly
        said.add(plainly)
        near += good and not plainly
    assert said == {True, False}
    assert near <= 3  # it is said of most that are good
