"""Compare what a file makes a follower do with what its lane's program says.

At every 0.1 degree of the stack's turn the lift read from the file is held against the program's; at
every end of a state the angle is found at which the file's lift passes it. Limits are in
`shaftscore.base.tolerance`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from shaftscore.base.angles import Arcs
from shaftscore.base.tolerance import PROOF_LIFT_MM, PROOF_STATE_DEG, PROOF_STATE_MM, over
from shaftscore.base.wording import degrees, millimetres
from shaftscore.kinematics.profiles import Profile
from shaftscore.make.proof.contact import Reals, Running, contact_lift
from shaftscore.make.proof.faults import FileFault
from shaftscore.make.proof.rim import ReadRim

STEP_DEG = 0.1
"""Angle between two places at which the lift is compared."""

SHIFT_ROUNDS = 4
"""Steps by which the angle of a state's end in the file is refined."""

REFINED_DEG = 0.5
"""Ends whose limit is wider are not refined: the program is almost at rest there."""


@dataclass(frozen=True)
class ProofTask:
    """What a file is held against.

    part: code of the disc. spans: stretches of the stack's turn in which the lane is in one of its states.
    contour_mm: by how much the file's contour was moved outward for a printer.
    """

    part: str
    profile: Profile
    spans: tuple[Arcs, ...]
    contour_mm: float = 0.0

    @property
    def runs_inside(self) -> bool:
        """Whether the file's contour lies outside the path of the roller's middle."""
        return self.contour_mm > abs(self.profile.distance_mm("inner"))


@dataclass(frozen=True)
class DiscProof:
    """What was found of one disc in one file.

    lift_error_mm, lift_at_deg: largest difference of the lift, with its sign, and where (NaN: the
    follower touches nothing there). state_shift_deg, state_at_deg, state_limit_deg: the shift of a
    state's end that uses most of its limit; 0 and None without states.
    """

    file: str
    part: str
    places: int
    lift_error_mm: float
    lift_at_deg: float
    state_ends: int
    state_shift_deg: float
    state_at_deg: float | None
    state_limit_deg: float

    @property
    def fault_at_deg(self) -> float:
        """Where the first of its faults is, degrees of the disc's own stack."""
        lift_holds = not np.isnan(self.lift_error_mm) and not over(abs(self.lift_error_mm), PROOF_LIFT_MM)
        at = self.state_at_deg if lift_holds else None
        return self.lift_at_deg if at is None else at

    @property
    def found(self) -> tuple[FileFault, ...]:
        """What exceeds its limit; empty if the file holds."""
        return tuple(self._faults())

    @property
    def faults(self) -> tuple[str, ...]:
        """What exceeds its limit, a sentence each; empty if the file holds."""
        return tuple(fault.text for fault in self.found)

    def _faults(self) -> Iterator[FileFault]:
        lift, shift = self.lift_error_mm, self.state_shift_deg
        if np.isnan(lift):
            yield FileFault(
                self.file, self.part, f"the follower does not run on its rim at {degrees(self.lift_at_deg)}"
            )
        elif over(abs(lift), PROOF_LIFT_MM):
            what = (
                f"its lift is {millimetres(lift, 3)} off the program at {degrees(self.lift_at_deg)}, "
                f"the limit is {millimetres(PROOF_LIFT_MM, 2)}"
            )
            yield FileFault(self.file, self.part, what, lift, PROOF_LIFT_MM, "mm")
        if self.state_at_deg is not None and over(abs(shift), self.state_limit_deg):
            what = (
                f"a state that ends at {degrees(self.state_at_deg)} is shifted by "
                f"{degrees(shift, 3)}, the limit is {degrees(self.state_limit_deg, 3)}"
            )
            yield FileFault(self.file, self.part, what, shift, self.state_limit_deg, "deg")


def prove(file: str, task: ProofTask, rim: ReadRim, step_deg: float = STEP_DEG) -> DiscProof:
    """Run the lane's follower over a rim read from `file`, step by step; a groove is run on both flanks."""
    found = [_one_flank(file, task, rim, flank, step_deg) for flank in task.profile.flanks]
    return max(found, key=_badness)


def _badness(proof: DiscProof) -> float:
    share = abs(proof.state_shift_deg) / proof.state_limit_deg
    return np.inf if np.isnan(proof.lift_error_mm) else max(abs(proof.lift_error_mm) / PROOF_LIFT_MM, share)


def _one_flank(file: str, task: ProofTask, rim: ReadRim, flank: str, step_deg: float) -> DiscProof:
    profile = task.profile
    outward = flank == "inner"
    own = abs(profile.distance_mm("inner" if outward else "outer")) - task.contour_mm
    running = Running(profile.model, profile.placement, own, outward)
    edges = rim.facing(outward) if len(profile.flanks) > 1 else rim

    def lift_in_file(theta_deg: Reals) -> tuple[Reals, Reals]:
        """Return what the file makes of the lift and what the program says, with its slope: (n,), (4, n)."""
        program = profile.at(theta_deg).lift
        return contact_lift(edges, running, theta_deg, program[0]), program

    theta = np.arange(0.0, 360.0 - step_deg / 2, step_deg)
    found, program = lift_in_file(theta)
    error = found - program[0]
    worst = int(np.argmax(np.where(np.isnan(error), np.inf, np.abs(error))))
    shift, at, limit = _worst_shift(_ends(task.spans), lift_in_file)
    return DiscProof(
        file=file,
        part=task.part,
        places=len(theta),
        lift_error_mm=float(error[worst]),
        lift_at_deg=float(theta[worst]),
        state_ends=len(_ends(task.spans)),
        state_shift_deg=shift,
        state_at_deg=at,
        state_limit_deg=limit,
    )


def _ends(spans: Sequence[Arcs]) -> Reals:
    """Return the ends of all stretches, each once, ascending."""
    ends = {end for span in spans if not span.is_full for end in (span.start, span.end)}
    return np.array(sorted(ends))


def _worst_shift(
    ends_deg: Reals, lift_in_file: Callable[[Reals], tuple[Reals, Reals]]
) -> tuple[float, float | None, float]:
    """Find the state's end that is shifted by most of its limit: (shift, end, limit), degrees.

    The angle at which the file passes the end's lift is found with the program's slope, and refined
    where that is steep. Where the program is almost at rest (a state that is only just reached) the
    height decides: it is kept as the shift at a slope at which both limits are equal.
    """
    if len(ends_deg) == 0:
        return 0.0, None, PROOF_STATE_DEG
    wanted, slopes = lift_in_file(ends_deg)[1][:2]
    least = PROOF_STATE_MM / np.radians(360.0)
    slope = np.where(np.abs(slopes) < least, least, slopes)
    limit = np.maximum(PROOF_STATE_DEG, np.degrees(PROOF_STATE_MM / np.abs(slope)))
    refined = limit <= REFINED_DEG
    shift = np.zeros_like(ends_deg)
    for number in range(SHIFT_ROUNDS):
        step = -np.degrees((lift_in_file(ends_deg + shift)[0] - wanted) / slope)
        shift = shift + np.where(refined | (number == 0), step, 0.0)
    share = np.where(np.isnan(shift), np.inf, np.abs(shift) / limit)
    worst = int(np.argmax(share))
    return float(np.nan_to_num(shift[worst], nan=360.0)), float(ends_deg[worst]), float(limit[worst])
