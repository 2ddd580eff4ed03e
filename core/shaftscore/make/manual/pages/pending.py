"""Stand-ins while pictures are drawn elsewhere."""

from dataclasses import dataclass
import numpy as np
from shaftscore.make.drawing.scene import Path, Scene, Text, scene


def _frame(text, w, h):
    return scene(
        [
            Path(np.array([0, w, complex(w, h), 1j * h]), closed=True),
            Text(complex(w / 2, h / 2), text, anchor="middle"),
        ]
    )


def assembled_machine(machine, w, h):
    return _frame("assembled", w, h)


def coupon_picture(machine, part, w, h):
    return _frame("coupon", w, h)


@dataclass
class F:
    drawing: Scene
    title: str
    advice: str


def fit_pictures(stack, w, h):
    return [F(_frame(t, w, h), t, t) for t in ("tight", "right", "loose")]
