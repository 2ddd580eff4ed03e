"""File names: the part's code and what ASCII can keep of its name; never a path, never two alike."""

from __future__ import annotations

import re
import unicodedata

LONGEST = 40
"""Characters of a name that a file's name keeps."""


def file_stem(code: str, label: str) -> str:
    """Return `A1_oolong-tea` for code A1 and the name "Oolong téa"; the code alone if nothing is left.

    Codes are unique in a project and hold A to Z, 0 to 9 and hyphens only, so stems are unique too, also
    where a disk may not distinguish capitals.
    """
    plain = unicodedata.normalize("NFKD", label).encode("ascii", "ignore").decode("ascii")
    words = re.sub(r"[^A-Za-z0-9]+", "-", plain).strip("-").lower()[:LONGEST].strip("-")
    return f"{code}_{words}" if words else code


_CODE = (
    r"(?:[A-Z]{1,2}[0-9]{1,2}(?:-[LSKG])?|(?:SPACER|FIT|HUB|PINION|DRIVER|GENEVA|STEPPED|PILLAR|KNOB)[0-9]{0,3}|PLATE-(?:BOTTOM|TOP))"
    r"(?:-[0-9]{1,2}){0,2}"
)
"""Codes of parts: up to two numbers at the end, of a link (A3-G-1) and of its piece (A3-G-1-2)."""
_WORDS = rf"(?:_[a-z0-9-]{{1,{LONGEST}}})?"

_EXPORT_NAME = re.compile(
    rf"(?:{_CODE}{_WORDS}\.(?:stl|step|dxf|svg|csv)|(?:plates|assembled){_WORDS}\.3mf|parts_list\.csv"
    r"|(?:build_manual|buildsheet)_(?:a4|letter)\.pdf|drill_template_(?:a4|letter)\.pdf|drill_template_(?:bottom|top)\.dxf)\Z"
)
"""Every name that a file of an export can have; each format's are held against it when they are planned.

`buildsheet` is what earlier versions called the manual: their folders are still theirs.
"""


def is_code(text: str) -> bool:
    """Return whether a text can be the code of a part."""
    return re.fullmatch(_CODE, text) is not None


def is_export_name(name: str) -> bool:
    """Return whether an export could have given a file this name."""
    return _EXPORT_NAME.match(name) is not None


def holds_parts(name: str) -> bool:
    """Return whether a file of an export holds parts: all formats do but the drilling templates."""
    return not name.startswith("drill_template_")


def is_plain_name(name: str) -> bool:
    """Return whether a name from a manifest is a file's own name, so that it cannot leave its folder."""
    return bool(re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9._-]{0,120}", name))
