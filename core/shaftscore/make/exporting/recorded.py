"""What files are held against without a project: the shapes and places in the manifest of their export."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from shaftscore.base.errors import ExportError
from shaftscore.make.files.order import MADE
from shaftscore.make.proof import ExpectedCopies, ExpectedPart, PartShape, PartTask, read_shape
from shaftscore.make.proof.fits import FitTask
from shaftscore.make.proof.mates import FitInputs, read_inputs
from shaftscore.make.proof.placing import QUARTER_DEG, Place
from shaftscore.make.proof.shape import Made, without_rim
from shaftscore.make.solids.coupon import is_coupon
from shaftscore.make.solids.exact import FEET
from shaftscore.make.solids.part import WITH_FITS

Entry = Mapping[str, Any]
"""An object of a manifest."""


def _recorded_fits(manifest: Entry) -> dict[str, Entry] | None:
    """Return the fits of a manifest by stack, None if it records none."""
    found = manifest.get("fits")
    if not isinstance(found, list):
        return None
    return {str(entry["stack"]): entry for entry in found if isinstance(entry, dict) and "stack" in entry}


def _place(x: float, y: float, z: float, turn_deg: float = 0.0) -> Place:
    """Return a recorded place; raises ValueError where it is turned by anything but a quarter turn."""
    if turn_deg not in (0.0, QUARTER_DEG):
        raise ValueError(f"{turn_deg!r} is no quarter turn")
    at = (float(x), float(y), float(z))
    return (*at, QUARTER_DEG) if turn_deg else at


class RecordedParts:
    """The parts of a manifest."""

    def __init__(self, manifest: Entry) -> None:
        """Take the parts that have a code; what is none is left out, and missed where a file names it."""
        parts = manifest.get("parts")
        self._entries: dict[str, Entry] = {
            str(entry["code"]): entry
            for entry in (parts if isinstance(parts, list) else [])
            if isinstance(entry, dict) and "code" in entry
        }
        self._tasks: dict[tuple[str, Made], PartTask] = {}
        self._fits = _recorded_fits(manifest)
        self._inputs: dict[str, FitInputs] = {}

    def tasks(self, kind: str, file: str, codes: Sequence[str]) -> list[PartTask]:
        """Return what the parts in a file are held against; raises ExportError if it is not recorded."""
        if not codes:
            raise ExportError(f"{file}: the manifest names no part in it")
        return [self._task(code, MADE[kind], file) for code in codes]

    def _task(self, code: str, made: Made, file: str) -> PartTask:
        if (code, made) not in self._tasks:
            shape = self._shape(code, made, file)
            expected = ExpectedPart(shape, drawn=made == "drawn")
            self._tasks[code, made] = PartTask(code, expected, fits=self._of_part(code, made, file))
        return self._tasks[code, made]

    def _of_part(self, code: str, made: Made, file: str) -> tuple[FitTask, ...]:
        """Return the fits of a part; none where the export is from before fits were recorded.

        Raises ExportError if they are recorded and cannot be read.
        """
        if self._fits is None or self._entries[code].get("kind", "disc") not in WITH_FITS:
            return ()
        stack = str(self._entries[code].get("stack"))
        if stack not in self._fits:
            raise ExportError(f"{file}: the manifest records no fit of stack {stack}")
        if stack not in self._inputs:
            self._inputs[stack] = read_inputs(self._fits[stack], f"{file}: {code}")
        try:
            return self._inputs[stack].tasks(made, coupon=is_coupon(code))
        except ValueError as error:
            raise ExportError(f"{file}: the recorded fit of {stack} cannot be made: {error}") from error

    def _shape(self, code: str, made: Made, file: str) -> PartShape:
        entry = self._entries.get(code)
        if entry is None:
            raise ExportError(f"{file}: the manifest has no part {code}")
        record = entry.get("shape")
        if made == "printed" and entry.get("printed_shape") is not None:
            record = entry["printed_shape"]
        if not isinstance(record, dict):
            raise ExportError(
                f"{file}: the manifest records no shape of {code}: name the project, or export again"
            )
        shape = read_shape(record, f"{file}: {code}")
        without = entry.get("exact_without") if made == "exact" else ()
        without = without if isinstance(without, list) else ()
        return replace(
            shape,
            strokes=() if "its marks" in without else shape.strokes,
            chamfer_mm=0.0 if "its chamfers" in without else shape.chamfer_mm,
            foot_mm=0.0 if FEET in without else shape.foot_mm,
            tip_mm=0.0 if FEET in without else shape.tip_mm,
            sunk=without_rim(shape.sunk, without),
        )

    def copies(self, kind: str, entry: Entry) -> ExpectedCopies | None:
        """Return where the copies in a file are built, None for a format that does not say.

        Raises ExportError if a format that does has no places recorded.
        """
        if kind != "3mf":
            return None
        try:
            places = {
                str(code): tuple(_place(*place) for place in found) for code, found in entry["copies"].items()
            }
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            name = entry.get("name")
            raise ExportError(f"{name}: the places of its copies in the manifest cannot be read") from error
        if not places:
            raise ExportError(
                f"{entry.get('name')}: the manifest records no places of its copies: export again"
            )
        return ExpectedCopies({code: len(found) for code, found in places.items()}, places, fixed=True)
