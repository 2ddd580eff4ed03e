"""What becomes of the play: loose flanks, parts lined up by their marks, clamp friction.

A *joint* is where a part is turned by the one before it. An angle is positive where the part comes later
(lags). Formulas are rigid-body geometry; a clamp's friction
acts on an annulus at an even pressure: T = μ F (2/3) (R³ - r³) / (R² - r²) (the disc clutch of machine
design texts, from memory), with μ = 0.2.
"""

from __future__ import annotations

import numpy as np

from shaftscore.built.arrays import Flags, Reals, Values

CLAMP_FRICTION = 0.2
"""Friction of clamped faces (common practice, no source)."""

CLAMP_RESERVE = 1.5
"""How many times its peak torque a clamp must carry alone before a free part counts as held."""


def lined_up_deg(lined_up_mm: float, mark_radius_mm: float, play_deg: Values) -> Reals:
    """Compute ± limits (...,) of parts lined up by marks on a rim, degrees: three standard deviations.

    mark_radius_mm: the smallest rim radius of the stack. Never more than the play (...,) in degrees.
    """
    return np.minimum(np.degrees(np.arcsin(min(lined_up_mm / mark_radius_mm, 1.0))), play_deg)


def flank_signs(torque_nm: Reals) -> Reals:
    """Compute on which flank a loose joint is at n angles of a cycle, (n,): +1 lagging, -1 leading.

    torque_nm: (n,) that the joint carries. At a torque of 0 it stays where it was, also across the cycle's
    end; without any torque all are 0, as nothing decides.
    """
    signs = np.sign(torque_nm)
    known = np.flatnonzero(signs)
    if len(known) == 0:
        return signs
    before = np.searchsorted(known, np.arange(len(signs)), side="right") - 1
    return np.asarray(signs[known[before]])  # index -1: the last of the cycle before


def clamp_torque_nm(
    force_n: Values, outer_radius_mm: float, inner_radius_mm: float, friction: float = CLAMP_FRICTION
) -> Reals:
    """Compute the torque that a clamped ring carries by friction, (...,) N·m.

    force_n: (...,) clamping force. friction: factor of friction. Raises ValueError for a ring without width.
    """
    if not 0 <= inner_radius_mm < outer_radius_mm:
        raise ValueError(f"no ring between the radii {inner_radius_mm} and {outer_radius_mm} mm")
    outer, inner = outer_radius_mm, inner_radius_mm
    arm = (outer**2 + outer * inner + inner**2) / (outer + inner)  # (R³ - r³) / (R² - r²)
    return np.asarray(friction * force_n * 2 / 3 * arm / 1000)


def clamp_force_for_n(
    torque_nm: float, outer_radius_mm: float, inner_radius_mm: float, friction: float = CLAMP_FRICTION
) -> float:
    """Return the clamping force whose friction carries a torque, N; friction is a factor."""
    return torque_nm / float(clamp_torque_nm(1.0, outer_radius_mm, inner_radius_mm, friction))


def joint_slips(capacity_nm: Values, peak_torque_nm: Values) -> Flags:
    """Return where a clamp does not carry a joint's peak torque, (...,), so that its play comes back."""
    return np.asarray(np.asarray(capacity_nm) < np.abs(peak_torque_nm))


def free_part(play_deg: Values, capacity_nm: Values, peak_torque_nm: Values) -> Flags:
    """Return where a part that no screw or glue holds turns freely and no clamp carries it, (...,).

    Its clamp must carry 1.5 times the peak torque.
    """
    held = np.asarray(capacity_nm) >= CLAMP_RESERVE * np.abs(peak_torque_nm)
    return np.isinf(play_deg) & ~held
