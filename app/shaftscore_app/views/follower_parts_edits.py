"""What the Follower parts view changes: every choice, length, copy and drag is one step of Undo."""

from __future__ import annotations

from collections.abc import Callable

from shaftscore.base import wording
from shaftscore.base.errors import EditError
from shaftscore.edits import Edited, copy_parts, move_by, remove_parts, set_follower, set_length
from shaftscore.edits.followers import MoveKind, copy_differs
from shaftscore.layout.bearing_choice import BearingChoice, bearing_fields
from shaftscore.layout.followers import FollowerLayout
from shaftscore.make.drawing.follower import PointName, dragged
from shaftscore.model import Lane, Project
from shaftscore_app.document import Document
from shaftscore_app.document.binding import commit
from shaftscore_app.document.words import lane_name


class FollowerEdits:
    """The edits of the selected lane's follower; say: hears why one cannot be made."""

    def __init__(self, document: Document, say: Callable[[str], None]) -> None:
        """Edit a document."""
        self._document, self._say = document, say
        self._moved: Edited | None = None

    @property
    def lane(self) -> Lane | None:
        """The selected lane as it is committed; None where none is."""
        return self._document.selection.lane_in(self._document.committed)

    def move_by(self, kind: MoveKind, base_mm: float | None) -> str:
        """Let the lane be moved in a way; returns why not. base_mm: of its disc, if that is known."""
        lane = self.lane
        if lane is None or (lane.parts is not None and lane.parts.kind == kind):
            return ""
        return self._do(lambda project, own: move_by(project, own, kind, base_mm))

    def set_length(self, path: str, value_mm: object) -> str:
        """Change a length; returns why not. None: none given."""
        length = float(value_mm) if isinstance(value_mm, float | int) else None
        return self._do(lambda project, own: set_length(project, own, path, length))

    def set_bearing(self, choice: BearingChoice) -> str:
        """Let a bearing be the lane's roller; returns why not."""
        fields = bearing_fields(choice.name, choice.size)
        return self._do(lambda project, own: set_follower(project, own, **fields))

    def set_side(self, side: object) -> str:
        """Put the pivot on a side of the station line; returns why not."""
        return self._do(lambda project, own: set_follower(project, own, pivot_side=side))

    def remove(self) -> str:
        """Let the follower not be described as parts; returns why not."""
        return self._do(remove_parts)

    def copy_to(self, others: tuple[str, ...]) -> str:
        """Copy follower and parts to other lanes, as one step; returns why not."""
        return self._do(lambda project, own: copy_parts(project, own, others))

    def copy_choices(self) -> list[tuple[str, str, bool]]:
        """Return where parts may be copied to: id, label with what differs there, whether nothing does."""
        lane, project = self.lane, self._document.committed
        others = [one for one in project.lanes if one.has_disc and lane is not None and one.id != lane.id]
        found = []
        for other in others:
            assert lane is not None
            differs = copy_differs(project, lane.id, other.id)
            verb = "differs" if len(differs) == 1 else "differ"
            told = f" ({wording.listed(list(differs))} {verb})" if differs else ""
            found.append((other.id, f"{lane_name(other)}{told}", not differs))
        return found

    # Dragging

    def drag(self, layout: FollowerLayout, name: PointName, point: complex, step_mm: float) -> None:
        """Show the lane with a point where it is dragged, mm; lengths are rounded to the step."""
        document, lane_id = self._document, layout.lane.id
        if document.is_read_only:
            return
        lengths = dragged(layout, document.cursor_deg, name, point, step_mm)
        try:
            if name == "pivot":
                fields = {path.partition(".")[2]: value for path, value in lengths.items()}
                self._moved = set_follower(document.committed, lane_id, **fields)
            else:
                ((path, value),) = lengths.items()
                self._moved = set_length(document.committed, lane_id, path, value)
        except EditError as error:
            self._say(str(error))
            return
        document.preview(self._moved)

    def drop(self) -> None:
        """Make what was dragged one step."""
        moved, self._moved = self._moved, None
        if moved is not None:
            self._document.preview(None)
            commit(self._document, lambda: moved)

    def cancel(self) -> None:
        """Take back what was dragged."""
        self._moved = None
        self._document.preview(None)

    def _do(self, make: Callable[[Project, str], Edited]) -> str:
        document, lane = self._document, self.lane
        if document.is_read_only or lane is None:
            return ""
        why = commit(document, lambda: make(document.committed, lane.id))
        if why:
            self._say(why)
        return why
