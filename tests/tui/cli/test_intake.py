"""``framecall intake``: from footage and a results list to claims."""

import shutil
from pathlib import Path

import pytest

from sessions.docket.claims import read_claims
from sessions.docket.docket import DocketFolder
from sessions.docket.settings import read_settings
from tests.tui.cli.conftest import Call

MAPPED = (
    "--column", "event=Discipline", "--column", "competitor=Stacker", "--column", "time=Best",
    "--always", "division=U10",
)  # fmt: skip


@pytest.fixture
def docket(tmp_path: Path, clip: Path, monkeypatch: pytest.MonkeyPatch) -> DocketFolder:
    """A docket with three files of footage, two of them the same, and a results list beside it."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    folder = DocketFolder(tmp_path / "season")
    footage = folder.path / "footage" / "saturday"
    footage.mkdir(parents=True)
    for name in ("S-204 final.mp4", "copy.mp4"):
        shutil.copy(clip, footage / name)
    (footage / "broken.mp4").write_bytes(b"no video")
    (footage / "notes.txt").touch()
    results(folder).write_text(
        "Discipline\tStacker\tBest\n03.03.2003\tS-204\t1,715\ncycle\tS-9\t7.065\n", encoding="utf-8"
    )
    return folder


def results(folder: DocketFolder) -> Path:
    return folder.path.parent / "results.tsv"


def ids(folder: DocketFolder) -> list[str]:
    return [claim.claim for claim in read_claims(folder.claims_file)]


def test_footage_is_told_with_what_is_the_same_and_what_is_none(
    framecall: Call, docket: DocketFolder
) -> None:
    told = framecall("intake", docket.path)
    assert told.code == 0
    heading, *lines = told.out.splitlines()
    assert heading.split() == ["footage", "seconds", "a", "second", "recorded", "fit", "claims"]
    assert "footage/saturday/S-204 final.mp4" in lines[0]
    assert "broken.mp4" in told.out
    assert "copy.mp4 is the same footage as footage/saturday/S-204 final.mp4, byte" in lines[-1]
    assert "notes.txt" not in told.out


def test_a_results_list_becomes_claims_and_what_is_left_is_named(
    framecall: Call, docket: DocketFolder
) -> None:
    told = framecall("intake", docket.path, "--results", results(docket), *MAPPED, "--yes")
    assert (told.code, told.err) == (1, "")
    assert 'Line 2: event "03.03.2003" is read as 3-3-3.' in told.out
    assert "Line 3: no footage is found for S-9, cycle, 7.065 s; give --pair 3=FOOTAGE." in told.out
    (claim,) = read_claims(docket.claims_file)
    assert (claim.claim, claim.event, claim.time, claim.footage) == (
        "C-001", "3-3-3", "1.715", "footage/saturday/S-204 final.mp4",
    )  # fmt: skip
    assert "always" in read_settings(docket.settings_file).results.model_dump()


def test_the_mapping_is_kept_and_lines_that_are_claims_already_stay(
    framecall: Call, docket: DocketFolder
) -> None:
    framecall("intake", docket.path, "--results", results(docket), *MAPPED, "--yes")
    before = docket.claims_file.read_bytes()
    by_hand = ("--pair", "3=footage/saturday/copy.mp4")
    told = framecall("intake", docket.path, "--results", results(docket), *by_hand, "--yes")
    assert told.code == 0
    assert "1 line of the list are claims already." in told.out
    assert docket.claims_file.read_bytes().startswith(before)
    assert ids(docket) == ["C-001", "C-002"]
    again = framecall("intake", docket.path, "--results", results(docket))
    assert (again.code, "Nothing is new." in again.out) == (0, True)


def test_nothing_is_written_without_consent(framecall: Call, docket: DocketFolder) -> None:
    told = framecall("intake", docket.path, "--results", results(docket), *MAPPED)
    assert told.code == 1
    assert told.out.endswith("Write 1 claim? Give --yes to do so.\nNothing was written.\n")
    assert not docket.claims_file.exists()
    assert not docket.settings_file.exists()


@pytest.fixture
def answers(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What a person types, in a terminal."""
    typed: list[str] = []

    def line(prompt: str = "") -> str:
        if not typed:
            raise EOFError
        return typed.pop(0)

    monkeypatch.setattr("builtins.input", line)
    monkeypatch.setattr("tui.cli.intake._can_ask", lambda: True)
    return typed


def test_columns_are_asked_for_by_their_numbers(
    framecall: Call, docket: DocketFolder, answers: list[str]
) -> None:
    # claim, event, division, competitor, time, record, footage, date, and the consent
    answers += ["", "1", "", "=U10", "2", "9", "3", "", "", "", "y"]
    told = framecall("intake", docket.path, "--results", results(docket))
    assert "Answer with a number from 1 to 3, or with = and a text." in told.out
    assert ids(docket) == ["C-001"]
    assert not answers


def test_answers_that_end_write_nothing(
    framecall: Call, docket: DocketFolder, answers: list[str]
) -> None:
    answers += ["", "1"]
    told = framecall("intake", docket.path, "--results", results(docket))
    assert told.code == 2
    assert told.err.endswith("The answers ended; nothing was written. Begin again.\n")
    assert not docket.claims_file.exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (MAPPED[:4], "has no column for division, time; it has Discipline, Stacker, Best"),
        ((*MAPPED, "--column", "speed=Best"), '--column "speed=Best" names no column of a claim'),
        ((*MAPPED, "--always", "date"), '--always "date" names no column of a claim'),
        ((*MAPPED, "--column", "time=Worst"), 'has no column "Worst"'),
        ((*MAPPED, "--pair", "9=a.mp4"), '--pair "9=a.mp4" names no line of the results list'),
        ((*MAPPED, "--pair", "2=a.mp4"), '--pair "2=a.mp4" names no footage that was found'),
    ],
)
def test_what_cannot_be_meant_is_refused(
    framecall: Call, docket: DocketFolder, options: tuple[str, ...], said: str
) -> None:
    told = framecall("intake", docket.path, "--results", results(docket), *options)
    assert told.code == 2
    assert said in told.err
    assert not docket.claims_file.exists()


def test_footage_outside_the_docket_is_refused(
    framecall: Call, docket: DocketFolder, clip: Path
) -> None:
    told = framecall("intake", docket.path, clip)
    assert told.code == 2
    assert "lies outside the docket" in told.err
    missing = framecall("intake", docket.path, docket.path / "none.mp4")
    assert "There is no footage at" in missing.err
