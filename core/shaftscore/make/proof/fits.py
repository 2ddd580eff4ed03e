"""Proof of the fit: how far a part in a file can turn and shift on what it is put on, over all shifts.

The openings are read back from the file at the middle of their height, the corrections for a printer are
taken back, and the counterpart (rod, dogs, pins, in their nominal sizes) is fitted into them. The files
hold no rod: by how much a bought one is under its size is no part of what they could get wrong, and is
counted in the play of the built machine only (`shaftscore.built.fits.effective_clearance_mm`).

The program's play is the closed form of `shaftscore.built.fits`, and what its own outlines give by the
same search as the file's: for dogs the two differ by a few hundredths, because the long dog has farther
ends. A file may lie between them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal

import numpy as np

from shaftscore.base.tolerance import CHORD_MM, PROOF_PLAY_DEG, PROOF_SEAT_MM, over, under
from shaftscore.base.wording import degrees, millimetres
from shaftscore.built.fits import Mate
from shaftscore.make.proof.compare import ReadPart
from shaftscore.make.proof.convex import body_of, body_of_ring, hole_of, hole_of_ring
from shaftscore.make.proof.expected import ExpectedPart, Place
from shaftscore.make.proof.faults import FileFault, unreadable
from shaftscore.make.proof.rim import RimError
from shaftscore.make.proof.turning import ConvexBody, ConvexHole, HeldBody, Points, RigidFit
from shaftscore.stack import BulgePath
from shaftscore.stack.paths import circle

FitName = Literal["bore", "pockets", "dogs", "pin holes"]
"""Which openings, or pegs, of a part are fitted."""

DIRECTIONS: Points = np.exp(2j * np.pi * np.arange(72) / 72)
"""Directions in which shifts are compared."""

ON: Mapping[FitName, str] = MappingProxyType(
    {
        "bore": "on the shaft",
        "pockets": "on the dogs of its neighbour",
        "dogs": "in the pockets of its neighbour",
        "pin holes": "on the pins",
    }
)
"""What a part turns on, for sentences."""

FOUND_MM = 2.0
"""An opening whose middle is farther than this from its place is another one."""

SAME_MM = 1e-5
"""Openings whose corners are nearer than this are the same."""


@dataclass(frozen=True, eq=False)
class FitTask:
    """What the fit of a part in a file is held against.

    bodies: outlines of the counterparts, nominal. holes: the openings for them as the program has them,
    without corrections; one of the two is what a file holds, by name. The part turns about centre. mate:
    its closed form. clearance_mm: to each side. outward_mm: by how much a file's outlines are moved away
    from the material's middle for a printer. scale: by which they are larger in plan.
    """

    name: FitName
    bodies: tuple[BulgePath, ...]
    holes: tuple[BulgePath, ...]
    mate: Mate
    clearance_mm: float
    outward_mm: float = 0.0
    scale: float = 1.0
    centre: complex = 0j

    @property
    def reads_bodies(self) -> bool:
        """Whether the file holds the bodies and not the holes."""
        return self.name == "dogs"

    @cached_property
    def program(self) -> FitFigures:
        """What the program's own outlines give."""
        holes = [hole_of(self._centred(path)) for path in self.holes]
        return _figures(self, [HeldBody(b, h) for b, h in zip(self._bodies, holes, strict=True)])

    @cached_property
    def allowed_deg(self) -> tuple[float, float]:
        """Least and greatest play that a file may have, degrees.

        Where the part all but turns freely, a hair of clearance turns it far: the chord error is allowed.
        """
        near = np.array([self.clearance_mm - CHORD_MM, self.clearance_mm, self.clearance_mm + CHORD_MM])
        tight, closed, wide = (float(play) for play in self.mate.play_deg(near))
        own = min(self.program.plays_deg)
        least, most = min(own, closed) - PROOF_PLAY_DEG, max(own, closed) + PROOF_PLAY_DEG
        return min(least, tight), max(most, wide)

    @cached_property
    def turns_freely(self) -> bool:
        """Whether no clearance keeps it from turning: a round bore."""
        return bool(np.isinf(self.mate.play_deg(0.0)))

    def fitted(self, rings: Sequence[Points], chord_mm: float = CHORD_MM) -> FitFigures:
        """Fit rings (n,) read from a file, one for each outline; raises RimError where one is not convex.

        chord_mm: largest distance of their arcs from the chords in their place.
        """
        if self.reads_bodies:
            bodies, holes = self.read_bodies(rings, chord_mm), [hole_of(self._centred(p)) for p in self.holes]
        else:
            bodies, holes = list(self._bodies), self.read_holes(rings, chord_mm)
        return _figures(self, [HeldBody(b, h) for b, h in zip(bodies, holes, strict=True)])

    def read_bodies(self, rings: Sequence[Points], chord_mm: float) -> list[ConvexBody]:
        """Return rings (n,) read from a file as bodies, as they will be when they were printed.

        chord_mm: largest distance of their arcs from the chords in their place.
        """
        return [body_of_ring(ring, self.outward_mm, chord_mm) for ring in self._own(rings)]

    def read_holes(self, rings: Sequence[Points], chord_mm: float) -> list[ConvexHole]:
        """Return rings (n,) read from a file as holes, likewise; chord_mm: as there."""
        return [hole_of_ring(ring, self.outward_mm, chord_mm) for ring in self._own(rings)]

    def _own(self, rings: Sequence[Points]) -> list[Points]:
        return [(ring / self.scale) - self.centre for ring in rings]

    @cached_property
    def _bodies(self) -> tuple[ConvexBody, ...]:
        return tuple(body_of(self._centred(path)) for path in self.bodies)

    def _centred(self, path: BulgePath) -> BulgePath:
        return path.shifted(-self.centre)


@dataclass(frozen=True, eq=False)
class FitFigures:
    """Play and seat of a part.

    clockwise_deg, counterclockwise_deg: how far it can turn, seen from the top, over all shifts; `inf` if it
    turns freely, NaN if it does not fit as it should. shifts_mm: along DIRECTIONS, (72,).
    """

    clockwise_deg: float
    counterclockwise_deg: float
    shifts_mm: Any

    @property
    def plays_deg(self) -> tuple[float, float]:
        """Play clockwise and counterclockwise, degrees."""
        return self.clockwise_deg, self.counterclockwise_deg

    @property
    def seat_mm(self) -> float:
        """How far it can shift whatever the direction, mm."""
        return float(np.min(self.shifts_mm))


def _figures(task: FitTask, held: Sequence[HeldBody]) -> FitFigures:
    """Fit bodies into holes; one pair alone on a circle is kept near its place by the bore's own seat."""
    if task.name in ("dogs", "pockets") and len(held) == 1:
        middle = ConvexBody(np.zeros(1, np.complex128))
        held = [*held, HeldBody(middle, hole_of(circle(max(task.clearance_mm, SAME_MM))))]
    fit = RigidFit(held)
    if task.turns_freely:
        return FitFigures(np.inf, np.inf, fit.shifts_mm(DIRECTIONS))
    found = [fit.turn_deg(way) for way in ((-1, 1) if task.reads_bodies else (1, -1))]
    clockwise, counter = (np.nan if turn is None else turn for turn in found)
    return FitFigures(clockwise, counter, fit.shifts_mm(DIRECTIONS))


@dataclass(frozen=True)
class FitProof:
    """What was found of one fit of one part in one file.

    play_deg: how far the part can turn clockwise and counterclockwise. seat_mm: how far it can shift whatever
    the direction. shift_error_mm: the largest difference of a shift from the program's. program_deg: play by
    the program. allowed_deg: least and greatest play that is allowed.
    """

    file: str
    part: str
    name: FitName
    play_deg: tuple[float, float]
    seat_mm: float
    shift_error_mm: float
    program_deg: float
    allowed_deg: tuple[float, float]

    @property
    def found(self) -> tuple[FileFault, ...]:
        """What exceeds its limit; empty if the fit holds."""
        return tuple(self._faults())

    def _faults(self) -> Iterator[FileFault]:
        low, high = self.allowed_deg
        if any(np.isnan(self.play_deg)):
            yield FileFault(self.file, self.part, f"it does not fit {ON[self.name]} at its zero mark")
        elif any(under(play, low) or over(play, high) for play in self.play_deg):
            worst = max(self.play_deg, key=lambda play: abs(play - self.program_deg))
            by = abs(worst - self.program_deg) if np.isfinite(worst - self.program_deg) else 360.0
            lets = "lets" if self.name == "bore" else "let"
            what = (
                f"its {self.name} {lets} it turn {_way(self.play_deg)} {ON[self.name]}; by the program it is "
                f"{_play(self.program_deg)}, the limit is {degrees(PROOF_PLAY_DEG, 2)}"
            )
            yield FileFault(self.file, self.part, what, by, PROOF_PLAY_DEG, "deg")
        if not self.shift_error_mm <= PROOF_SEAT_MM:
            error = self.shift_error_mm
            what = (
                f"how far it can shift {ON[self.name]} is off by {millimetres(error, 3)}; "
                f"the limit is {millimetres(PROOF_SEAT_MM, 2)}"
            )
            yield FileFault(self.file, self.part, what, error, PROOF_SEAT_MM, "mm")


def _way(play_deg: tuple[float, float]) -> str:
    clockwise, counter = play_deg
    if np.isinf(clockwise) or np.isinf(counter):
        return "freely"
    return f"by {degrees(clockwise, 3)} clockwise and {degrees(counter, 3)} counterclockwise"


def _play(play_deg: float) -> str:
    return "free to turn" if np.isinf(play_deg) else f"±{degrees(play_deg, 3)}"


@dataclass(frozen=True, eq=False)
class ReadOutlines:
    """Outlines of a task as read, (n,) each; chord_mm: largest distance of their arcs from the chords."""

    task: FitTask
    rings: Sequence[Points]
    chord_mm: float


@dataclass
class FitProver:
    """Proves fits; openings with the same corners are fitted once."""

    _found: dict[tuple[FitTask, float, bytes], FitFigures] = field(default_factory=dict)

    def prove(
        self, file: str, code: str, read: ReadPart, expected: ExpectedPart, tasks: Sequence[FitTask]
    ) -> tuple[tuple[FitProof, ...], list[FileFault]]:
        """Prove all fits of a part; return them with their faults, and those of openings that have no fit."""
        proofs: list[FitProof] = []
        faults: list[FileFault] = []
        for task in tasks:
            try:
                rings = read_rings(read, expected, task)
                if rings is not None:
                    proofs.append(self._proof(file, code, task, rings, read.chord_mm))
                    faults += proofs[-1].found
            except RimError as error:
                faults.append(unreadable(file, error, code))
        return tuple(proofs), faults

    def _proof(
        self, file: str, code: str, task: FitTask, rings: Sequence[Points], chord_mm: float
    ) -> FitProof:
        key = (task, chord_mm, np.round(np.concatenate(rings) / SAME_MM).tobytes())
        if key not in self._found:
            self._found[key] = task.fitted(rings, chord_mm)
        return _proof_of(file, code, task, self._found[key])


def joined(file: str, code: str, pegs: ReadOutlines, pockets: ReadOutlines) -> FitProof:
    """Prove the fit of the pegs of one part in the pockets of the next, both read from files.

    file, code: of the part with the pockets. Raises RimError where an outline is not convex.
    """
    bodies = pegs.task.read_bodies(pegs.rings, pegs.chord_mm)
    holes = pockets.task.read_holes(pockets.rings, pockets.chord_mm)
    figures = _figures(pockets.task, [HeldBody(b, h) for b, h in zip(bodies, holes, strict=True)])
    return _proof_of(file, code, pockets.task, figures)


def _proof_of(file: str, code: str, task: FitTask, figures: FitFigures) -> FitProof:
    apart = np.abs(figures.shifts_mm - task.program.shifts_mm)
    return FitProof(
        file=file,
        part=code,
        name=task.name,
        play_deg=figures.plays_deg,
        seat_mm=figures.seat_mm,
        shift_error_mm=float(apart.max()),
        program_deg=float(task.mate.play_deg(task.clearance_mm)),
        allowed_deg=task.allowed_deg,
    )


def read_rings(read: ReadPart, expected: ExpectedPart, task: FitTask) -> list[Points] | None:
    """Read the outlines (n,) of a task, each nearest to its place; None where no file of this kind has any.

    Raises RimError where one is missing.
    """
    place = _place(expected, task.name)
    if place is None:
        return None
    area = read.area(place, expected)
    found = _outer(area) if task.reads_bodies else _inner(area)
    return [_nearest(found, path, task) for path in (task.bodies if task.reads_bodies else task.holes)]


def _place(expected: ExpectedPart, name: FitName) -> Place | None:
    """Return where outlines are read: a layer, or the height looked at that is nearest to their middle."""
    shape = expected.shape
    if expected.drawn:
        layers: dict[FitName, str] = {"bore": "cut", "pin holes": "cut", "dogs": "dog"}
        return layers.get(name)
    heights = [area.place for area in expected.areas if not isinstance(area.place, str)]
    middle = {"pockets": shape.pocket_mm / 2, "dogs": shape.thickness_mm + shape.peg_mm / 2}
    return min(heights, key=lambda z: abs(z - middle.get(name, shape.thickness_mm / 2)))


def _nearest(found: Sequence[Points], path: BulgePath, task: FitTask) -> Points:
    """Return the outline whose middle is nearest to that of a path; raises RimError if none is near."""
    wanted = _middle(np.asarray(path.flattened(0.1) @ np.array([1, 1j]))) * task.scale

    def away_mm(ring: Points) -> float:
        return abs(_middle(ring) - wanted)

    nearest = min(found, key=away_mm, default=None)
    if nearest is None or away_mm(nearest) > FOUND_MM:
        at = f"x = {wanted.real:.2f}, y = {wanted.imag:.2f} mm"
        raise RimError(f"none of its {task.name} is at {at}" if task.name != "bore" else f"no bore at {at}")
    return nearest


def _middle(ring: Points) -> complex:
    """Return the middle of the box around a ring."""
    return complex(ring.real.min() + ring.real.max(), ring.imag.min() + ring.imag.max()) / 2


def _pieces(area: Any) -> list[Any]:
    import shapely  # kept off the start-up path

    return [piece for piece in shapely.get_parts(area) if piece.geom_type == "Polygon" and not piece.is_empty]


def _inner(area: Any) -> list[Points]:
    """Return the holes in an area."""
    return [_points(ring) for piece in _pieces(area) for ring in piece.interiors]


def _outer(area: Any) -> list[Points]:
    """Return the outlines of an area's pieces."""
    return [_points(piece.exterior) for piece in _pieces(area)]


def _points(ring: Any) -> Points:
    return np.asarray(np.asarray(ring.coords)[:-1] @ np.array([1, 1j]), dtype=np.complex128)
