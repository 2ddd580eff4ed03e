"""One visible line where the editor's tests cannot run."""

from __future__ import annotations

import os

import pytest

from tests.conftest import APT_LINE, NO_QT


def test_gui_available() -> None:
    if NO_QT and os.environ.get("SHAFTSCORE_REQUIRE_GUI") != "1":
        pytest.skip(f"the editor's tests were left out, Qt cannot be loaded ({NO_QT}); try: {APT_LINE}")
    assert not NO_QT, f"Qt cannot be loaded: {NO_QT}; try: {APT_LINE}"
