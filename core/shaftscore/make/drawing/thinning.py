"""Lines without the corners that nobody would miss: what is drawn takes as long as it has corners."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Places = npt.NDArray[np.float64]

WITHIN_PX = 0.04
"""So far may a curve run from its true course where corners are left out, px: a tenth of what is seen."""

_STRIDES = (32, 16, 8, 4, 2)
"""So many stretches between two corners are tried as one."""


def thinned(x: npt.ArrayLike, y: npt.ArrayLike, within: float = WITHIN_PX) -> tuple[Places, Places]:
    """Leave out the corners of a line that nobody would miss; its two ends stay.

    x, y: the n corners, px, shape (n,) each. within: how far at most a corner left out may lie from the line
    that is left, px; so far at most is any place of one line from the other. Gives x and y of what is left.
    """
    corners = np.stack([np.asarray(x, float), np.asarray(y, float)])
    last = corners.shape[1] - 1
    if last < 2:
        return corners[0], corners[1]
    corners = np.pad(corners, ((0, 0), (0, -last % _STRIDES[0])), mode="edge")
    kept = np.zeros(corners.shape[1], bool)
    begins = np.arange(0, corners.shape[1] - 1, _STRIDES[0])
    for stride in _STRIDES:
        straight = _furthest(corners, begins, stride) <= within
        kept[begins[straight]] = True
        bent = begins[~straight]
        begins = np.concatenate([bent, bent + stride // 2])
    kept[begins] = True
    kept = kept[: last + 1]
    kept[last] = True
    return corners[0, : last + 1][kept], corners[1, : last + 1][kept]


def _furthest(corners: Places, begins: npt.NDArray[np.intp], stride: int) -> Places:
    """Return how far the corners between a begin and `stride` corners later lie from the straight way, px.

    corners: shape (2, n). begins: shape (k,). Gives shape (k,).
    """
    start = corners[:, begins, np.newaxis]
    way = corners[:, begins + stride, np.newaxis] - start
    inner = corners[:, begins[:, np.newaxis] + np.arange(1, stride)] - start
    square = np.maximum((way * way).sum(axis=0), np.finfo(float).tiny)
    share = np.clip((inner * way).sum(axis=0) / square, 0.0, 1.0)
    off: Places = np.hypot(*(inner - share * way))
    furthest: Places = off.max(axis=1)
    return furthest
