from __future__ import annotations

import json
import logging
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication

from shaftscore_app.runtime.effects import wants_less_motion
from shaftscore_app.runtime.settings import RECENT, Settings, Values


def test_values_come_back_in_the_next_run(tmp_path: Path) -> None:
    path = tmp_path / "config" / "settings.json"
    Settings(path).change(theme="dark", grid_deg=1.0, text_scale=1.25)
    values = Settings(path).values
    assert (values.theme, values.grid_deg, values.text_scale) == ("dark", 1.0, 1.25)


@pytest.mark.parametrize("text", ["", "{", "[]", '{"version": 2}', '{"theme": "pink"}', '{"text_scale": 40}'])
def test_a_file_that_cannot_be_read_is_set_aside(
    tmp_path: Path, text: str, caplog: pytest.LogCaptureFixture
) -> None:
    path = tmp_path / "settings.json"
    path.write_text(text)
    with caplog.at_level(logging.WARNING):
        settings = Settings(path)
    assert settings.values.theme == "system"
    assert "afresh" in caplog.text
    assert (tmp_path / "settings.json.old").read_text() == text


def test_a_value_that_cannot_be_is_refused_and_changes_nothing(tmp_path: Path) -> None:
    settings = Settings(tmp_path / "settings.json")
    with pytest.raises(ValueError, match="grid_deg"):
        settings.change(grid_deg=-1.0)
    assert settings.values.grid_deg == 0.5


def test_recent_files_are_the_last_ones_newest_first_each_once(tmp_path: Path) -> None:
    settings = Settings(tmp_path / "settings.json")
    paths = [tmp_path / f"{n}.shaft" for n in range(RECENT + 3)]
    for path in [*paths, paths[5]]:
        path.touch()
        settings.remember_file(path)
    recent = settings.recent_files()
    assert recent[:2] == [paths[5], paths[-1]]
    assert len(recent) == RECENT
    paths[5].unlink()
    assert settings.recent_files()[0] == paths[-1]
    settings.forget_file(paths[-1])
    assert paths[-1] not in settings.recent_files()


def test_a_folder_that_cannot_be_written_is_no_reason_to_stop(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / "config").write_text("a file where the folder should be")
    settings = Settings(tmp_path / "config" / "settings.json")
    with caplog.at_level(logging.WARNING):
        settings.change(theme="dark")
    assert settings.values.theme == "dark"
    assert "not written" in caplog.text


def test_the_file_holds_plain_names(tmp_path: Path) -> None:
    settings = Settings(tmp_path / "settings.json")
    settings.change(theme="light")
    assert json.loads((tmp_path / "settings.json").read_text())["theme"] == "light"


def test_only_what_was_chosen_is_written_so_that_the_rest_follows_the_system(tmp_path: Path) -> None:
    path = tmp_path / "settings.json"
    still = Settings(path, Values(reduce_motion=True))
    assert still.values.reduce_motion
    still.change(theme="dark")
    assert json.loads(path.read_text()) == {"version": 1, "theme": "dark"}
    moving = Settings(path, Values(reduce_motion=False))
    assert (moving.values.reduce_motion, moving.values.theme) == (False, "dark")
    moving.change(reduce_motion=False)  # now the person has chosen
    assert not Settings(path, Values(reduce_motion=True)).values.reduce_motion


@pytest.mark.gui
def test_less_motion_is_wanted_where_the_system_has_its_effects_off(qapp: QApplication) -> None:
    general, was = Qt.UIEffect.UI_General, QApplication.isEffectEnabled(Qt.UIEffect.UI_General)
    try:
        for on in (True, False):
            QApplication.setEffectEnabled(general, on)
            assert wants_less_motion("win32") is not on
            assert not wants_less_motion("linux")
            assert not wants_less_motion("darwin")
    finally:
        QApplication.setEffectEnabled(general, was)
