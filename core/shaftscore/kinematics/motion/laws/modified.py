"""Laws pieced together from quarter waves of acceleration: modified trapezoid, sine, constant velocity.

Half of the acceleration is a quarter sine over t1, constant over t2 and a quarter cosine over t3; then
the velocity is constant over p, and the second half mirrors the first: 2 (t1 + t2 + t3) + p = 1.
With p = 0 this is the sine-constant-cosine family of R. L. Norton, Design of Machinery, and H. A.
Rothbart, Cam Design Handbook (forms from memory, derived here by integration).
"""

from __future__ import annotations

from math import pi

from shaftscore.kinematics.motion.curve import CurvePiece, mirrored_pieces
from shaftscore.kinematics.motion.law import Law, law_of


def quarter_wave_law(name: str, title: str, t1: float, t2: float, t3: float) -> Law:
    """Make the law with these shares of x (see the module's text); t1 and t3 greater than 0.

    With unit acceleration, k = 2 t / pi: velocity and travel after each part are v1 = k1,
    v2 = v1 + t2, v3 = v2 + k3 and s1 = k1 (t1 - k1), s2 = s1 + v1 t2 + t2^2 / 2,
    s3 = s2 + v2 t3 + k3^2; the peak acceleration is then 1 / (2 s3 + p v3).
    """
    p = 1 - 2 * (t1 + t2 + t3)
    k1, k3 = 2 * t1 / pi, 2 * t3 / pi
    v2 = k1 + t2
    s1 = k1 * (t1 - k1)
    s2 = s1 + k1 * t2 + t2**2 / 2
    v3, s3 = v2 + k3, s2 + v2 * t3 + k3**2
    peak = 1 / (2 * s3 + p * v3)
    start = [CurvePiece(t1, (0.0, peak * k1), ((-peak * k1**2, 1 / k1, 0.0),))]
    if t2 > 0:
        start.append(CurvePiece(t2, (peak * s1, peak * k1, peak / 2)))
    wave = (peak * (s2 + k3**2), peak * v2), ((-peak * k3**2, 1 / k3, pi / 2),)
    if p > 0:
        start.append(CurvePiece(t3, *wave))
        middle = CurvePiece(p, (peak * s3, peak * v3))
    else:
        # The quarter cosine runs on through mid stroke: one half wave.
        middle = CurvePiece(2 * t3, *wave)
    return law_of(name, title, [*start, middle, *mirrored_pieces(start)], symmetric=True)


MODIFIED_TRAPEZOID = quarter_wave_law("modified-trapezoid", "modified trapezoid", 1 / 8, 1 / 4, 1 / 8)

MODIFIED_SINE = quarter_wave_law("modified-sine", "modified sine", 1 / 8, 0.0, 3 / 8)

MODIFIED_CONSTANT_VELOCITY = quarter_wave_law(
    "modified-constant-velocity", "modified constant velocity", 1 / 16, 0.0, 3 / 16
)
