"""What the program remembers between two runs: one typed, versioned file.

A file that cannot be read, or is of another version, is set aside under the name `settings.json.old`
and the settings start afresh: preferences are never a reason not to start.
"""

from __future__ import annotations

import json
import logging
import os
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from shaftscore.base.whole_files import write_whole

log = logging.getLogger(__name__)

RECENT = 10
"""How many files File > Open recent keeps."""


EXPORTED = 50
"""Of how many projects the formats of their export are remembered, and whether the next step is shown."""

NextStepWish = Literal["shown", "hidden", "exported"]
"""Whether a project's next step is shown: as the person said, or hidden by its first export."""


class Values(BaseModel):
    """The remembered values.

    theme: View > Theme. text_scale: 1 = 100 %. layout and geometry: the window's, as base 64 text.
    layout_version: a layout of another version is not restored. recent: paths, the newest first.
    reduce_motion: play goes step by step. grid_deg: grid of the diagram; snap:
    whether it holds; moves_keep: whether the neighbours of a moved block give way; zones: whether a held
    block shows where it could stand. paper: what the diagram is printed on. exported: path of a project to
    the formats that it was exported in last, the newest last. next_step: whether the next step is shown until
    a project is first exported; next_steps: path of a project to what became of that since.
    """

    model_config = ConfigDict(extra="ignore", strict=True)

    version: Literal[1] = 1
    theme: Literal["system", "light", "dark"] = "system"
    text_scale: Annotated[float, Field(ge=0.8, le=2.0)] = 1.0
    reduce_motion: bool = False
    snap: bool = True
    moves_keep: bool = True
    zones: bool = True
    grid_deg: Annotated[float, Field(gt=0, le=360)] = 0.5
    paper: Literal["A4", "Letter"] = "A4"
    layout: str = ""
    layout_version: int = 0
    geometry: str = ""
    recent: list[str] = []
    exported: dict[str, list[str]] = {}
    next_step: bool = True
    next_steps: dict[str, NextStepWish] = {}


class Settings:
    """The remembered values and the file in which they live.

    usual: what holds where the person has chosen nothing. Only what was chosen is written down.
    """

    def __init__(self, path: Path, usual: Values | None = None) -> None:
        """Read the settings at `path`; what is not there is as `usual`, else as the program's defaults."""
        self._path = path
        self.usual = usual or Values()
        self._chosen = _read(path).model_dump(exclude_unset=True)
        self.values = self._with({})

    @staticmethod
    def of_the_person(usual: Values) -> Settings:
        """Open the settings of whoever runs the program."""
        import platformdirs  # only an editor needs it

        folder = Path(platformdirs.user_config_dir("shaftscore", appauthor=False))
        return Settings(folder / "settings.json", usual)

    @property
    def folder(self) -> Path:
        """The folder of the settings, in which other files of the person may be."""
        return self._path.parent

    def change(self, **values: object) -> None:
        """Change values and write them down. Raises ValueError for a value that cannot be."""
        self.values = self._with(values)
        self._chosen |= values
        self._write()

    def _with(self, values: Mapping[str, object]) -> Values:
        return Values(**{**self.usual.model_dump(), **self._chosen, **values})

    def remember_file(self, path: Path) -> None:
        """Put a file at the head of the recent ones."""
        name = str(path.resolve())
        rest = [other for other in self.values.recent if other != name]
        self.change(recent=[name, *rest][:RECENT])

    def forget_file(self, path: Path) -> None:
        """Take a file out of the recent ones."""
        name = str(path.resolve())
        self.change(recent=[other for other in self.values.recent if other != name])

    def recent_files(self) -> list[Path]:
        """Return the recent files that are still there, the newest first."""
        return [Path(name) for name in self.values.recent if Path(name).is_file()]

    def remember_formats(self, path: Path, formats: Sequence[str]) -> None:
        """Remember in which formats a project was exported; the longest unused are forgotten."""
        name = str(path.resolve())
        rest = {other: kept for other, kept in self.values.exported.items() if other != name}
        kept = [*rest.items(), (name, list(formats))][-EXPORTED:]
        self.change(exported=dict(kept))

    def formats_of(self, path: Path) -> tuple[str, ...] | None:
        """Return the formats in which a project was exported last, None if that is not remembered."""
        found = self.values.exported.get(str(path.resolve()))
        return None if found is None else tuple(found)

    def remember_next_step(self, path: Path, wish: NextStepWish) -> None:
        """Remember whether the next step of a project is shown; the longest unused are forgotten."""
        name = str(path.resolve())
        rest = {other: kept for other, kept in self.values.next_steps.items() if other != name}
        self.change(next_steps=dict([*rest.items(), (name, wish)][-EXPORTED:]))

    def next_step_of(self, path: Path) -> NextStepWish | None:
        """Return what is remembered of a project's next step, None if nothing is."""
        return self.values.next_steps.get(str(path.resolve()))

    def _write(self) -> None:
        text = (
            json.dumps({"version": self.values.version, **self._chosen}, indent=1, ensure_ascii=False) + "\n"
        )
        try:
            self._path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(self._path, text.encode())
        except OSError as error:
            log.warning("the settings were not written: %s", error)


def _read(path: Path) -> Values:
    try:
        return Values(**json.loads(path.read_text("utf-8")))
    except FileNotFoundError:
        return Values()
    except (OSError, ValueError, TypeError, ValidationError) as error:
        log.warning("the settings at %s start afresh: %s", path, error)
        _set_aside(path)
        return Values()


def _set_aside(path: Path) -> None:
    try:
        os.replace(path, path.with_name(path.name + ".old"))
    except OSError as error:
        log.warning("the old settings stay where they are: %s", error)
