"""Many points handed to Qt at once: one call a point would take longer than drawing them."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import shiboken6
from PySide6.QtGui import QPolygonF

Places = npt.NDArray[np.float64]

_POINT_BYTES = 16
"""A QPointF holds two of Qt's reals, which are doubles on every platform that the program runs on."""

_VOID: Any = shiboken6.VoidPtr
"""Any, since its stub knows neither the length that it takes nor that it is a buffer."""


def polygon_of(x: npt.ArrayLike, y: npt.ArrayLike) -> QPolygonF:
    """Return the polygon, open or closed, of places on the screen.

    x, y: the coordinates of its n corners, px, shape (n,) each. Raises ValueError where their numbers differ.
    """
    corners = np.stack([np.asarray(x, float), np.asarray(y, float)], axis=1)
    polygon = QPolygonF()
    if len(corners):
        polygon.resize(len(corners))
        room = _VOID(polygon.data(), len(corners) * _POINT_BYTES, True)
        np.frombuffer(room, float)[:] = corners.ravel()
    return polygon


def places_of(polygon: QPolygonF) -> tuple[Places, Places]:
    """Return x and y of the n corners of a polygon, px, shape (n,) each."""
    if polygon.isEmpty():
        return np.empty(0), np.empty(0)
    room = _VOID(polygon.data(), polygon.size() * _POINT_BYTES, False)
    corners = np.frombuffer(room, float).reshape(-1, 2)
    return corners[:, 0].copy(), corners[:, 1].copy()
