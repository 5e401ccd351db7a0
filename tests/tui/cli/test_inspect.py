"""``framecall inspect`` says what was found, as text and as JSON, and refuses in one sentence."""

import json
from pathlib import Path

import pytest

from tui.__main__ import main


@pytest.fixture(autouse=True)
def own_cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))


def test_footage_is_told_of_in_words(clip: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["inspect", str(clip)]) == 0
    told = capsys.readouterr().out
    assert told.startswith(f"{clip.name}: ")
    assert "two things closer than that cannot be told apart" in told
    assert "Rate by the time stamps" in told
    assert "Not every frame was decoded" not in told


def test_a_quick_look_says_that_not_all_was_decoded(
    clip: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["inspect", "--quick", str(clip)]) == 0
    assert "Not every frame was decoded" in capsys.readouterr().out


def test_json_has_an_object_for_each_file_that_can_be_read(
    clip: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "missing.mp4"
    assert main(["inspect", "--json", str(clip), str(missing), str(clip)]) == 2
    captured = capsys.readouterr()
    first, second = json.loads(captured.out)
    assert first == second
    assert (first["format"], first["version"], first["name"]) == ("framecall-footage", 1, clip.name)
    assert first["checked"]
    assert captured.err == f"framecall: {missing} does not exist; check the path.\n"


def test_a_track_that_is_not_there_is_refused(
    clip: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["inspect", "--track", "2", str(clip)]) == 2
    assert "has 1 picture track, and none is number 2" in capsys.readouterr().err
