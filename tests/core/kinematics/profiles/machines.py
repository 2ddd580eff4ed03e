"""Small machines for the tests: one lane by its blocks, or by a motion in closed form."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from shaftscore.kinematics.motion.lane import LaneMotion, program
from shaftscore.kinematics.profiles import NoProfile, Profile, build_profile
from shaftscore.model import Project

ROLLER: dict[str, Any] = {"kind": "translating-roller", "roller_radius_mm": 8.0}
UP_AND_DOWN = [
    {"level": "high", "start_deg": 90.0, "end_deg": 180.0},
    {"level": "low", "start_deg": 270.0, "end_deg": 360.0},
]
"""Rise over 0 to 90 degrees, fall over 180 to 270."""


def project_of(turn: str = "counterclockwise", **lane: Any) -> Project:
    """One lane that goes 20 mm up and down, cycloidal, with changes to its fields.

    `limits`, `stack` and `print` go to the project.
    """
    outer = {name: lane.pop(name) for name in ("limits", "print") if name in lane}
    stacks = [{"id": "main", **lane.pop("stack", {})}]
    fields: dict[str, Any] = {
        "id": "a",
        "levels": {"low": 0.0, "high": 20.0},
        "law": "cycloidal",
        "blocks": UP_AND_DOWN,
        "follower": ROLLER,
        "disc": {"base_radius_mm": 40.0},
    }
    whole = {
        "format": "shaftscore-project",
        "version": 2,
        "shaft": {"turn": turn, "speed_rpm": 10.0},
        "stacks": stacks,
        "lanes": [{**fields, **lane}],
        **outer,
    }
    return Project.model_validate_json(json.dumps(whole))


def motion_of(project: Project) -> LaneMotion:
    """The motion of the project's first lane."""
    motion = program(project.lanes[0])
    assert isinstance(motion, LaneMotion)
    return motion


def profile_of(turn: str = "counterclockwise", **lane: Any) -> Profile:
    """The profile of the first lane of such a project."""
    project = project_of(turn, **lane)
    return built(project, motion_of(project))


def built(project: Project, motion: Any) -> Profile:
    """The profile of the project's first lane, which must be there."""
    profile = build_profile(project, project.lanes[0], motion)
    assert not isinstance(profile, NoProfile), profile
    return profile


@dataclass(frozen=True)
class WholeTurn:
    """A curve that is smooth over one stretch."""

    starts: np.ndarray = field(default_factory=lambda: np.zeros(1))


@dataclass(frozen=True)
class ClosedStretch:
    """A stretch of a motion in closed form."""

    start_deg: float = 0.0
    length_deg: float = 360.0
    rise_mm: float = 0.0
    curve: WholeTurn | None = WholeTurn()


@dataclass(frozen=True)
class ClosedForm:
    """A motion given by a function of theta (radian, n) to (4, n): output and derivatives."""

    form: Callable[[np.ndarray], np.ndarray]
    segments: tuple[ClosedStretch, ...] = (ClosedStretch(),)

    def at(self, theta_deg: np.ndarray, side: str = "right") -> np.ndarray:
        return self.form(np.radians(theta_deg))

    @property
    def run_ends_mm(self) -> np.ndarray:
        raise AssertionError("no link here")

    def reached(self, run: np.ndarray, output_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        raise AssertionError("no link here")


def still(output_mm: float) -> ClosedForm:
    """A rest over the whole turn."""
    return ClosedForm(
        lambda theta: np.stack([np.full_like(theta, output_mm), *np.zeros((3, len(theta)))]),
        (ClosedStretch(curve=None),),
    )


def eccentric_roller(radius: float, eccentricity: float, roller: float) -> ClosedForm:
    """The motion of an in-line roller on a circular disc that turns about a point beside its middle."""

    def form(theta: np.ndarray) -> np.ndarray:
        # y = -e cos t + sqrt(R² - e² sin² t), R = disc and roller; lift from the lowest place.
        reach, e, c, s = radius + roller, eccentricity, np.cos(theta), np.sin(theta)
        u = np.sqrt(reach**2 - (e * s) ** 2)
        g, g1, g2 = e**2 * s * c, e**2 * (c**2 - s**2), -4 * e**2 * s * c
        u1 = -g / u
        u2 = -(g1 + u1**2) / u
        u3 = -(g2 + 3 * u1 * u2) / u
        return np.stack([-e * c + u - (reach - e), e * s + u1, e * c + u2, -e * s + u3])

    return ClosedForm(form)


def harmonic(travel: float) -> ClosedForm:
    """Simple harmonic motion over the whole turn, from 0 at theta = 0 to `travel` at 180 degrees."""
    half = travel / 2
    return ClosedForm(
        lambda t: np.stack([half * (1 - np.cos(t)), half * np.sin(t), half * np.cos(t), -half * np.sin(t)])
    )
