"""The one comparison of what was read of a part with what the part should be."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Protocol

import numpy as np

from shaftscore.base.wording import millimetres
from shaftscore.make.proof.expected import ExpectedArea, ExpectedEdge, ExpectedPart, Place
from shaftscore.make.proof.faults import FileFault
from shaftscore.make.proof.rim import ReadRim, RimError


class ReadPart(Protocol):
    """A part as a file holds it, whatever the format."""

    def structure(self, expected: ExpectedPart) -> list[FileFault]:
        """Return what is wrong with its heights, or with the number and kind of its lines.

        Raises RimError where it is no part at all.
        """
        ...

    def has(self, place: Place) -> bool:
        """Return whether there is anything of it at a place."""
        ...

    def area(self, place: Place, expected: ExpectedPart) -> Any:
        """Return the area at a place; raises RimError where its outline encloses none."""
        ...

    def rim(self, low_mm: float, high_mm: float, *, grooved: bool) -> ReadRim:
        """Return the edges on which a follower runs between two heights, mm."""
        ...

    @property
    def digest(self) -> bytes:
        """A hash of the geometry: equal ones hold the same part."""
        ...

    @property
    def chord_mm(self) -> float:
        """Largest distance of an arc from the chords in its place."""
        ...


def compare(file: str, code: str, read: ReadPart, expected: ExpectedPart) -> list[FileFault]:
    """Return everything in which a part differs from what it should be; raises RimError if unsound."""
    from shapely.errors import ShapelyError  # kept off the start-up path

    faults = [_of(file, code, fault) for fault in read.structure(expected)]
    try:
        return [*faults, *_differences(file, code, read, expected)]
    except ShapelyError as error:
        raise RimError(f"{file}: its outlines cannot be compared: {error}") from error


def _differences(file: str, code: str, read: ReadPart, expected: ExpectedPart) -> Iterator[FileFault]:
    """Yield the places at which the part is not what it should be."""
    for area in expected.areas:
        if isinstance(area.place, str) or read.has(area.place):
            found = read.area(area.place, expected)
            if not _holds(found, area):
                yield _difference(file, code, found, area)


def _of(file: str, code: str, fault: FileFault) -> FileFault:
    return FileFault(file, code, fault.what, fault.by, fault.limit, fault.unit)


def _holds(found: Any, area: ExpectedArea) -> bool:
    from shapely import prepare  # kept off the start-up path

    prepare(found)
    return bool(area.most.covers(found) and (area.least.is_empty or found.covers(area.least)))


def _difference(file: str, code: str, found: Any, area: ExpectedArea) -> FileFault:
    """Write at which edge the areas differ most."""
    if found.is_empty:
        return FileFault(file, code, f"there is nothing {area.title}")
    by, at, name = max(_farthest(found.boundary, area.edges), _missed(found.boundary, area.edges))
    x, y = at
    what = (
        f"its outline {area.title} is off by {millimetres(by, 3)} near its {name}, at x = {x:.2f}, "
        f"y = {y:.2f} mm; the limit is {millimetres(area.limit_mm, 2)}"
    )
    return FileFault(file, code, what, by, area.limit_mm, "mm")


def _farthest(boundary: Any, edges: tuple[ExpectedEdge, ...]) -> tuple[float, tuple[float, float], str]:
    """Find the point of what was read that is farthest from all edges of the part."""
    from shapely import distance, get_coordinates, points  # kept off the start-up path

    places = get_coordinates(boundary)
    apart = np.array([distance(points(places), edge.line) for edge in edges])
    worst = int(apart.min(axis=0).argmax())
    nearest = int(apart[:, worst].argmin())
    return (
        float(apart[nearest, worst]),
        (float(places[worst, 0]), float(places[worst, 1])),
        edges[nearest].name,
    )


def _missed(boundary: Any, edges: tuple[ExpectedEdge, ...]) -> tuple[float, tuple[float, float], str]:
    """Find the point of the part's edges that is farthest from what was read."""
    from shapely import distance, get_coordinates, points  # kept off the start-up path

    found = []
    for edge in edges:
        places = get_coordinates(edge.line)
        if len(places):
            apart = distance(points(places), boundary)
            worst = int(apart.argmax())
            at = (float(places[worst, 0]), float(places[worst, 1]))
            found.append((float(apart[worst]), at, edge.name))
    return max(found)
