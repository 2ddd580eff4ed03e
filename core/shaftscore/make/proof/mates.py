"""What each part of a stack is put on, as the proof of the fit needs it: outlines, clearance, closed form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from shaftscore.base.errors import ExportError
from shaftscore.make.proof.fits import FitTask
from shaftscore.make.proof.shape import Made
from shaftscore.make.solids.coupon import CLEARANCES_MM, coupon_places
from shaftscore.make.solids.part import scale_of
from shaftscore.model import Project, Stack
from shaftscore.stack import bore_path, dog_paths, pin_paths
from shaftscore.stack.mates import bore_mate, dog_mate, pin_mate


@dataclass(frozen=True)
class FitInputs:
    """What the fits of a stack's parts are made from.

    hole_mm, contour_mm, shrinkage_percent: corrections in files for a printer. coupon_at: middles of the
    coupon's holes, mm.
    """

    stack: Stack
    hole_mm: float
    contour_mm: float
    shrinkage_percent: float
    coupon_at: tuple[complex, ...]

    @cached_property
    def _tasks(self) -> dict[tuple[bool, bool], tuple[FitTask, ...]]:
        """What was made by `tasks`."""
        return {}

    def tasks(self, made: Made, *, coupon: bool = False) -> tuple[FitTask, ...]:
        """Return the fits of every disc and spacer, or of the coupon, in a file of a kind: always the same.

        Raises ValueError where an outline cannot be made, as in the parts themselves.
        """
        corrected = made == "printed"
        key = (coupon, corrected)
        if key not in self._tasks:
            self._tasks[key] = tuple(self._of_coupon(corrected) if coupon else self._of_parts(corrected))
        return self._tasks[key]

    def _of_parts(self, corrected: bool) -> Iterator[FitTask]:
        hole_mm, contour_mm, scale = self._corrections(corrected)
        stack, clearance = self.stack, self.stack.fit_clearance_mm
        rod, bore = bore_path(stack.bore, 0.0), bore_path(stack.bore, clearance)
        yield FitTask("bore", (rod,), (bore,), bore_mate(stack.bore), clearance, hole_mm, scale)
        if stack.dogs is not None:
            wide = stack.pocket_clearance_mm
            pegs, pockets = dog_paths(stack.dogs, 0.0), dog_paths(stack.dogs, wide)
            mate = dog_mate(stack.dogs)
            yield FitTask("pockets", pegs, pockets, mate, wide, hole_mm, scale)
            yield FitTask("dogs", pegs, pockets, mate, wide, contour_mm, scale)
        if stack.pins is not None:
            rods, gap = pin_paths(stack.pins, 0.0), stack.pins.clearance_mm
            holes = pin_paths(stack.pins, gap)
            yield FitTask("pin holes", rods, holes, pin_mate(stack.pins), gap, hole_mm, scale)

    def _of_coupon(self, corrected: bool) -> Iterator[FitTask]:
        hole_mm, _, scale = self._corrections(corrected)
        bore, mate = self.stack.bore, bore_mate(self.stack.bore)
        for clearance, at in zip(CLEARANCES_MM, self.coupon_at, strict=True):
            rod, hole = (bore_path(bore, grow).shifted(at) for grow in (0.0, clearance))
            yield FitTask("bore", (rod,), (hole,), mate, clearance, hole_mm, scale, at)

    def _corrections(self, corrected: bool) -> tuple[float, float, float]:
        """Return by how much holes and contours are larger in a file, mm, and its scale in plan."""
        if not corrected:
            return 0.0, 0.0, 1.0
        return self.hole_mm, self.contour_mm, scale_of(self.shrinkage_percent)

    def recorded(self) -> dict[str, object]:
        """Return this in short form for a manifest, with the figures that follow from it."""
        tasks, dogs, pins = self.tasks("drawn"), self.stack.dogs, self.stack.pins
        return {
            "stack": self.stack.id,
            "bore": self.stack.bore.model_dump(mode="json", exclude_none=True),
            "dogs": dogs.model_dump(mode="json", exclude_none=True) if dogs else None,
            "pins": pins.model_dump(mode="json", exclude_none=True) if pins else None,
            "fit_clearance_mm": self.stack.fit_clearance_mm,
            "hole_mm": self.hole_mm,
            "contour_mm": self.contour_mm,
            "shrinkage_percent": self.shrinkage_percent,
            "coupon_at": [[round(at.real, 6), round(at.imag, 6)] for at in self.coupon_at],
            "play_deg": {task.name: _finite(float(task.mate.play_deg(task.clearance_mm))) for task in tasks},
            "seat_mm": {task.name: round(task.clearance_mm, 6) for task in tasks},
        }


def fit_inputs(project: Project, stack: Stack, *, coupon: bool = True) -> FitInputs:
    """Return what the fits of a project's stack are made from, with those of its coupon.

    Raises ValueError if a hole of the coupon cannot be made.
    """
    printer = project.print
    places = coupon_places(project, stack) if coupon else ()
    return FitInputs(stack, printer.hole_mm, printer.contour_mm, printer.shrinkage_percent, places)


def read_inputs(record: Mapping[str, Any], where: str) -> FitInputs:
    """Read what `FitInputs.recorded` wrote; raises ExportError, with `where` in it, for anything else."""
    try:
        shapes = {key: record[key] for key in ("bore", "dogs", "pins", "fit_clearance_mm")}
        return FitInputs(
            Stack.model_validate({"id": record["stack"], **shapes}),
            float(record["hole_mm"]),
            float(record["contour_mm"]),
            float(record["shrinkage_percent"]),
            tuple(complex(float(x), float(y)) for x, y in record["coupon_at"]),
        )
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        raise ExportError(f"{where}: the recorded fit cannot be read: {error!r}") from error


def _finite(play_deg: float) -> float | None:
    """Return a play for the manifest, None where the part turns freely."""
    return round(play_deg, 6) if play_deg < float("inf") else None
