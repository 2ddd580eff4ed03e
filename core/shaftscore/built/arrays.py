"""Names of the number types of this package."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Reals = npt.NDArray[np.float64]
"""Real numbers, any shape."""

Flags = npt.NDArray[np.bool_]
"""Yes or no, any shape."""

Values = float | Reals
"""One number or an array of them, such as one of each machine drawn; they broadcast."""
