"""Deflection of a rod that a lever turns on, where the lever presses on it, with a post about part of it.

By the unit load: the deflection under a force F is the integral of M² / (F E I) along the rod, M its bending
moment; any textbook of strength of materials. Rod and post bend together without sticking to one another,
so their stiffnesses E I add up. With a force at `at` from the foot and a post up to `post`:

    (1) free at its end:      F ((at³ - (at - post)³) / (3 both) + (at - post)³ / (3 rod))
    (2) held at both ends:    F b² / L² (post³ / (3 both) + (at³ - post³) / (3 rod)) + F at² b³ / (3 L² rod)

with b = L - at, and hinged ends in (2).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class PostRod:
    """A rod with a post: heights of the force and of the post over the foot, mm; stiffnesses E I, N mm².

    length_mm: between the plates that hold both its ends; None where its upper end is free.
    """

    at_mm: float
    post_mm: float
    rod_nmm2: float
    post_nmm2: float
    length_mm: float | None = None

    def deflection_mm(self, force_n: float) -> float:
        """Return how far the rod gives way under a force at the lever, N; in mm."""
        both, at = self.rod_nmm2 + self.post_nmm2, self.at_mm
        post = min(self.post_mm, at)
        if self.length_mm is None:
            return force_n * ((at**3 - (at - post) ** 3) / both + (at - post) ** 3 / self.rod_nmm2) / 3  # (1)
        rest = self.length_mm - at
        below = post**3 / both + (at**3 - post**3) / self.rod_nmm2
        above = at**2 * rest**3 / self.rod_nmm2
        return force_n * (rest**2 * below + above) / (3 * self.length_mm**2)  # (2)
