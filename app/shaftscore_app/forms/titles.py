"""What a form's dialog says about the part it edits."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Titles:
    """What a dialog says: title, heading, the button that applies, a caution below the form.

    Where the part may be absent, `absent` says so while it is: the form then begins with first values.
    """

    title: str
    heading: str
    apply: str
    caution: str = ""
    absent: str = ""
    size: tuple[int, int] = (560, 420)
