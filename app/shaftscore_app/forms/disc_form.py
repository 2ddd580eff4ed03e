"""The form of a disc: the rows of a groove are there where a follower runs in one."""

from __future__ import annotations

from collections.abc import Sequence

from shaftscore.model import Lane, Record
from shaftscore_app.forms.context import Context
from shaftscore_app.forms.draft import Draft, Entry
from shaftscore_app.forms.record_form import RecordForm
from shaftscore_app.forms.specs import Spec
from shaftscore_app.theme import Theme

GROOVE = ("groove_depth_mm", "rim_mm")


class DiscForm(RecordForm):
    """Edits the draft of a disc."""

    def __init__(
        self, theme: Theme, context: Context, records: Sequence[type[Record]], lanes: Sequence[Lane]
    ) -> None:
        """Make the form for the discs of lanes."""
        self._has_groove = any(lane.follower.closure == "groove" for lane in lanes)
        super().__init__(theme, context, records)

    def set_value(self, value: Entry) -> None:
        """Show a draft with the rows that matter."""
        super().set_value(value)
        self.show_rows()

    def _matters(self, spec: Spec, draft: Draft) -> bool:  # noqa: ARG002 - the follower decides
        return spec.key not in GROOVE or self._has_groove
