"""What a form's dialog says about the part it edits."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Titles:
    """What a dialog says: title, heading, a caution below the form.

    Where the part may be absent, `absent` says so while it is, and the form then starts with first values;
    `removal` is the text of the button that removes it.
    """

    title: str
    heading: str
    caution: str = ""
    absent: str = ""
    removal: str = ""
    size: tuple[int, int] = (560, 420)
