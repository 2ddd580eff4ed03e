"""What was kept: drafts of a program that stopped, earlier versions, and files that others wrote.

All of it is offered in a bar over the diagram; nothing here stops the work or takes a step by itself.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QMenu

from shaftscore.base.errors import ProjectError
from shaftscore.base.wording import counted, time_of_day
from shaftscore.edits import Edited
from shaftscore.model.loader import load_project
from shaftscore.model.project import Project
from shaftscore_app.commands.files import FileCommands
from shaftscore_app.commands.services import CommandGroup, Services
from shaftscore_app.dialogs.drafts import DiscardDialog, LookDialog
from shaftscore_app.dialogs.files import RefusedDialog, RevertDialog
from shaftscore_app.keeping import LeftDraft, Version
from shaftscore_app.menus.actions import Reason
from shaftscore_app.runtime.files import Stamp
from shaftscore_app.widgets.notice_bar import NoticeBar


class KeepingCommands(CommandGroup):
    """Offers what was kept.

    Signals: aside_wanted(work) when work that is no part of the project is to be shown again; draft_decided()
    when a draft was restored or discarded.
    """

    aside_wanted = Signal(object)
    draft_decided = Signal()

    def __init__(self, services: Services, *, files: FileCommands, keep_now: Callable[[], bool]) -> None:
        """Serve a window; keep_now: writes the draft of what is open, and returns whether there is one."""
        super().__init__(services)
        self._files, self._keep_now = files, keep_now
        self.draft_bar = NoticeBar(self._theme, "draft")
        self.disk_bar = NoticeBar(self._theme, "disk")
        self._left: list[LeftDraft] = []
        self._told: Stamp | str | None = None
        self._document.file_changed.connect(self._look_again)

    def handlers(self) -> Mapping[str, Callable[..., object]]:
        """Return what each command does."""
        return {"file.versions": self.fill_versions}

    def reasons(self) -> Mapping[str, Reason]:
        """Return why a command cannot be done now."""
        return {"file.versions": lambda: "" if self._versions() else "No earlier version of this file yet"}

    # Drafts

    def look_for_drafts(self) -> None:
        """Offer what a program that stopped left behind."""
        self._left = self._store.drafts.left()
        self._offer()

    def leave(self) -> None:
        """Leave the drafts that were not decided on for the next start."""
        for draft in self._left:
            draft.release()
        self._left = []

    def _offer(self) -> None:
        if not self._left:
            self.draft_bar.end()
            return
        draft = self._left[0]
        ask = partial(self._ask_to_use, draft)
        use = ("Restore", "open the file with the changes of the draft, as one step", ask)
        look = ("Preview", "compare it with the saved file", partial(self._look, draft))
        discard = ("Discard…", "discard the draft", partial(self._ask_to_discard, draft))
        whole = (look, use, discard) if draft.kept.project is not None else (discard,)
        self.draft_bar.tell(draft_text(draft, len(self._left)), whole)

    def _look(self, draft: LeftDraft) -> None:
        saved, why = _saved(draft)
        use = partial(self._ask_to_use, draft)
        LookDialog(self._window, self._theme, draft, saved, why, use=use).show()

    def _ask_to_use(self, draft: LeftDraft) -> None:
        self._files.when_kept(partial(self._use, draft))

    def _use(self, draft: LeftDraft) -> None:
        project, path = draft.kept.project, draft.kept.head.path
        if draft not in self._left or project is None:
            return  # decided on meanwhile
        if path is not None and self._files.open_if_free(path):
            if project != self._document.committed:
                self._document.perform(Edited(project, f"Use the draft from {_moment(draft.kept.when)}"))
        else:
            self._document.open_unsaved(project, None if path is None or path.exists() else path)
        self._left.remove(draft)
        if draft.kept.aside is not None:
            self.aside_wanted.emit(draft.kept.aside)
        if self._keep_now() or not (self._document.is_modified or draft.kept.aside):
            draft.remove()
        else:
            draft.release()  # the disk is full: the old draft is all that is on it
        self._offer()
        self.draft_decided.emit()

    def _ask_to_discard(self, draft: LeftDraft) -> None:
        kept = draft.kept
        drop = partial(self._discard, draft)
        DiscardDialog(self._window, self._theme, kept.head.name, kept.steps, drop).open()

    def _discard(self, draft: LeftDraft) -> None:
        if draft in self._left:
            self._left.remove(draft)
            draft.remove()
        self._offer()
        self.draft_decided.emit()

    # Files that others wrote

    def look_at_disk(self) -> None:
        """Report once where the open file was changed or removed by somebody else."""
        document = self._document
        state, path = document.disk_state(), document.path
        now = Stamp.of(path) if path is not None and state == "changed" else state
        if path is None or state == "same" or now == self._told:
            return
        self._told = now
        if state == "gone":
            text = f"{path.name} is no longer where it was. Only the copy open here is left."
            self.disk_bar.tell(text, [("Save", "write the file again", self._files.save), self._dismissed()])
            return
        mine = " The changes made here are not in it." if document.is_modified else ""
        text = f"{path.name} was changed on disk by another program.{mine}"
        again = ("Reload", "show the file as it is on disk now", partial(self._read_again, path))
        self.disk_bar.tell(text, [again, self._dismissed()])

    def _dismissed(self) -> tuple[str, str, Callable[[], object]]:
        return ("Keep what is open", "keep working on what is shown; saving asks again", self.disk_bar.end)

    def _read_again(self, path: Path) -> None:
        if self._document.is_modified:
            steps = self._document.steps_since_save
            read = partial(self._files.open_again, path)
            RevertDialog(self._window, self._theme, path.name, steps, read).open()
        else:
            self._files.open_again(path)

    def _look_again(self) -> None:
        if self._document.disk_state() == "same":
            self._told = None
            self.disk_bar.end()

    # Earlier versions

    def fill_versions(self, menu: QMenu) -> None:
        """List the versions of the open file, the newest first."""
        for version in self._versions():
            action = menu.addAction(f"Until {_moment(version.when)}")
            action.setStatusTip("Restore this version, as one step that can be undone")
            action.triggered.connect(lambda _checked=False, chosen=version: self._take(chosen))

    def _versions(self) -> list[Version]:
        path = self._document.path
        return [] if path is None else self._store.versions.of(path)

    def _take(self, version: Version) -> None:
        name = f"Restore the version until {_moment(version.when)}"
        try:
            self._document.perform(Edited(load_project(version.path), name))
        except ProjectError as error:
            RefusedDialog(self._window, self._theme, version.path.name, error, self.look_at_disk).open()


def draft_text(draft: LeftDraft, count: int) -> str:
    """Describe what was kept; count: how many drafts there are in all."""
    kept = draft.kept
    name = f" of {kept.head.name}" if kept.head.path is not None else ""
    text = f"A draft{name} from {_moment(kept.when)} was kept after Shaftscore stopped unexpectedly."
    newer = "the saved file" if kept.head.path is not None else "an empty machine"
    steps = f" {counted(kept.steps, 'step')} newer than {newer}." if kept.steps or not kept.aside else ""
    if kept.aside:
        steps += " It has work of the Program maker that was not applied."
    if kept.project is None:
        steps = " It cannot be read any more."
    elif kept.trouble:
        steps += " Its last change cannot be read."
    more = f" {counted(count - 1, 'more draft')} after this one." if count > 1 else ""
    return text + steps + more


def _saved(draft: LeftDraft) -> tuple[Project | None, str]:
    """Read the file of a draft; where it cannot be, say why. A file that changed since is told too."""
    head = draft.kept.head
    if head.path is None:
        return None, "There is no saved file: it was never saved."
    stamp = Stamp.of(head.path)
    if stamp is None:
        return None, f"The saved file {head.name} is not there any more."
    changed = "The saved file was changed since the draft was made." if stamp.digest != head.digest else ""
    try:
        return load_project(head.path), changed
    except ProjectError as error:
        return None, f"The saved file cannot be read: {error.faults[0]}"


def _moment(when: datetime) -> str:
    return time_of_day(when.astimezone(), datetime.now().astimezone())
