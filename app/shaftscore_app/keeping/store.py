"""The person's data folder with all that is kept in it."""

from __future__ import annotations

from pathlib import Path

from shaftscore_app.keeping.drafts import Drafts
from shaftscore_app.keeping.open_files import OpenFiles
from shaftscore_app.keeping.versions import Versions


class PersonStore:
    """Drafts, versions, locks of open files and reports of errors, each in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        """Name the data folder; nothing is made yet."""
        self.folder = folder
        self.drafts = Drafts(folder / "drafts")
        self.versions = Versions(folder / "versions")
        self.open_files = OpenFiles(folder / "open")
        self.reports = folder / "reports"

    @staticmethod
    def of_the_person() -> PersonStore:
        """Open the store of whoever runs the program."""
        import platformdirs  # only an editor needs it

        return PersonStore(Path(platformdirs.user_data_dir("shaftscore", appauthor=False)))
