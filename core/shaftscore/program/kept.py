"""A draft of a program as plain values, so that it can be kept beside its project and read again."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

from pydantic import TypeAdapter, ValidationError

from shaftscore.base.errors import EditError
from shaftscore.model.project import Project
from shaftscore.program.frames import MOST_FRAMES
from shaftscore.program.meaning import ProgramDraft
from shaftscore.program.present import draft_for


@cache
def _adapter() -> TypeAdapter[ProgramDraft]:
    return TypeAdapter(ProgramDraft)


def plain_draft(draft: ProgramDraft) -> dict[str, Any]:
    """Return a draft as plain values, as JSON holds them."""
    made: dict[str, Any] = _adapter().dump_python(draft, mode="json", by_alias=True)
    return made


def draft_of_plain(project: Project, plain: object) -> ProgramDraft:
    """Read a draft, as far as it fits a project. Raises EditError where it is none."""
    try:
        draft = _adapter().validate_json(json.dumps(plain))  # which takes lists for tuples
    except ValidationError as error:
        why = error.errors(include_url=False)[0]["msg"]
        raise EditError(f"the draft of a program cannot be read: {why}") from error
    if not 0 < len(draft.frames) <= MOST_FRAMES:
        count = f"{len(draft.frames):,} frames; 1 to {MOST_FRAMES} are possible"
        raise EditError(f"the draft of a program has {count}")
    return draft_for(project, draft)
