"""What keeps the person's work safe beside the file: drafts, earlier versions, who has a file open.

All of it lives in the person's data folder and knows no Qt. A *draft* is the journal of one open
project since its last save; a *version* is what a file held before it was saved again.
"""

from shaftscore_app.keeping.drafts import Draft, Drafts, LeftDraft
from shaftscore_app.keeping.keeper import Keeper
from shaftscore_app.keeping.open_files import OpenFiles
from shaftscore_app.keeping.store import PersonStore
from shaftscore_app.keeping.versions import Version, Versions

__all__ = ["Draft", "Drafts", "Keeper", "LeftDraft", "OpenFiles", "PersonStore", "Version", "Versions"]
