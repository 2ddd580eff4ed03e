"""The confidence interval of a chance that was counted."""

from __future__ import annotations

from math import sqrt

Z95 = 1.959963984540054
"""Standard deviations on either side that hold 95 % of a normal law."""


def wilson_interval(held: int, drawn: int, z: float = Z95) -> tuple[float, float]:
    """Return the interval in which the true chance lies when `held` of `drawn` trials held.

    The score interval of E. B. Wilson, "Probable inference, the law of succession, and statistical
    inference", J. Amer. Statist. Assoc. 22 (1927), p. 209: it stays within 0 to 1 and does not shrink to
    nothing where all trials held. Raises ValueError unless 0 <= held <= drawn and drawn > 0.
    """
    if drawn <= 0 or not 0 <= held <= drawn:
        raise ValueError(f"needs 0 <= held <= drawn and drawn > 0, got {held!r} of {drawn!r}")
    share, spread = held / drawn, z * z / drawn
    middle = share + spread / 2
    half = z * sqrt(share * (1 - share) / drawn + spread / (4 * drawn))
    low, high = (middle - half) / (1 + spread), (middle + half) / (1 + spread)
    return (0.0 if held == 0 else low), (1.0 if held == drawn else high)
