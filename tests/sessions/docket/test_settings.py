"""The settings of a docket: read with their faults named, and kept with what people wrote."""

from pathlib import Path

import pytest

from sessions.docket.intake import Origin
from sessions.docket.settings import (
    DocketSettings,
    SettingsError,
    keep_results,
    read_settings,
)

ORIGINS = {"event": Origin(column="Discipline"), "division": Origin(always="U10")}


def test_a_docket_without_settings_has_those_of_every_docket(tmp_path: Path) -> None:
    assert read_settings(tmp_path / "docket.toml") == DocketSettings()


def test_what_is_kept_is_read_back(tmp_path: Path) -> None:
    path = tmp_path / "docket.toml"
    keep_results(path, ORIGINS)
    assert read_settings(path).results.origins == ORIGINS
    keep_results(path, {"event": Origin(column='Disz"iplin')})
    assert read_settings(path).results.origins == {"event": Origin(column='Disz"iplin')}


def test_what_people_wrote_stays(tmp_path: Path) -> None:
    path = tmp_path / "docket.toml"
    path.write_text('# ours\nformat = "framecall-docket"  # always\nversion = 1\n')
    keep_results(path, ORIGINS)
    assert path.read_text().startswith('# ours\nformat = "framecall-docket"  # always\n')


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (b"format = ", "are not TOML"),
        (b'version = 2\nformat = "framecall-docket"', "do not hold"),
        (b"surplus = 1", "do not hold"),
        (b'[results.columns]\nspeed = "x"', 'claims have no column "speed"'),
        (b'[results.always]\nevent = ""', "event needs a text of 1 to 80 characters"),
        (b'folders = ["footage"]', 'the folder "footage" must begin with /'),
        (b"\xff", "are not UTF-8 text"),
        (b"#" * 256_001, "cannot be read (it is longer than 0.256 MB)"),
    ],
)
def test_settings_that_do_not_hold_are_named(tmp_path: Path, text: bytes, said: str) -> None:
    path = tmp_path / "docket.toml"
    path.write_bytes(text)
    with pytest.raises(SettingsError) as caught:
        read_settings(path)
    assert said in str(caught.value)
    assert str(path) in str(caught.value)


def test_settings_that_cannot_be_read_or_written_are_named(tmp_path: Path) -> None:
    with pytest.raises(SettingsError, match="cannot be read"):
        read_settings(tmp_path)
    with pytest.raises(SettingsError, match="cannot be written"):
        keep_results(tmp_path / "none" / "docket.toml", ORIGINS)
