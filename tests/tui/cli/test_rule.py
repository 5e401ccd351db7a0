"""``framecall rule``: the ruling of a saved session."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sessions.record.journal import Journal
from sessions.record.recording import read_session
from sessions.record.session import fold
from sessions.ruling.judge import rule
from sessions.ruling.report import report
from sessions.ruling.ruling import Ruling
from tests.tui.cli.conftest import Call
from tests.tui.conftest import header, ticking
from tests.tui.footage.clips import packets
from tui.bench.opening import footage_facts
from tui.footage.footage import Footage


def ruling_of(path: Path) -> Ruling:
    recording = read_session(path)
    return rule(fold(recording.header, recording.lines))


def test_a_ruling_that_is_made_is_printed_with_exit_code_0(framecall: Call, ruled: Path) -> None:
    result = framecall("rule", ruled)
    assert (result.code, result.err) == (0, "")
    assert result.out == report(ruling_of(ruled))
    assert result.out.startswith("RULING: ")


def test_a_ruling_that_is_open_is_printed_with_exit_code_1(
    framecall: Call, still_open: Path
) -> None:
    result = framecall("rule", still_open)
    assert (result.code, result.err) == (1, "")
    assert result.out.startswith("NOT YET RULED: Open: run 1 must be looked at")


@pytest.mark.parametrize("kind", ["ruled", "still_open"])
def test_json_says_all_of_the_ruling(
    framecall: Call, kind: str, request: pytest.FixtureRequest
) -> None:
    path: Path = request.getfixturevalue(kind)
    result = framecall("rule", path, "--json")
    said = Ruling.model_validate_json(result.out)
    assert said == ruling_of(path)
    assert result.code == (0 if said.made else 1)


def test_with_the_footage_its_damaged_frames_are_told(
    framecall: Call, clip: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken, path = tmp_path / "broken.mp4", tmp_path / "a.session.jsonl"
    data = bytearray(clip.read_bytes())
    at, size = packets(clip)[100]
    data[at : at + size] = bytes(size)
    broken.write_bytes(data)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    footage = Footage.open(broken)
    head = header("3-6-3").model_copy(update={"footage": footage_facts(footage)})
    Journal.create(path, head, ticking()).close()
    told = framecall("rule", path, "--footage", broken).out
    footage.check()
    assert footage.damaged.ranges
    assert f"Not to be trusted: {len(footage.damaged)} of 240 frames are damaged" in told
    other = framecall("rule", path, "--footage", clip)
    assert (other.code, other.out) == (2, "")
    assert "is not the footage that was judged" in other.err


def test_a_torn_last_line_is_left_out_and_told(framecall: Call, ruled: Path) -> None:
    whole = framecall("rule", ruled).out
    with ruled.open("ab") as file:
        file.write(b'{"seq":99,"at":"2026-01-')
    before = ruled.read_bytes()
    result = framecall("rule", ruled)
    assert (result.code, result.out) == (0, whole)
    assert result.err == (
        f"{ruled}: A last entry, torn before it was acknowledged, was left out.\n"
    )
    assert ruled.read_bytes() == before


def piped(arguments: list[str], out: int) -> tuple[int, str]:
    """Exit code and standard error of the program with an open file as its standard output."""
    command = [sys.executable, "-m", "tui", *arguments]
    # with a buffer, as for most people: what cannot be written shows only as the program ends
    env = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    ran = subprocess.run(
        command, stdout=out, stderr=subprocess.PIPE, timeout=60, text=True, env=env
    )
    return ran.returncode, ran.stderr


def test_a_ruling_can_be_piped(ruled: Path, tmp_path: Path) -> None:
    target = tmp_path / "ruling.txt"
    with target.open("wb") as file:
        assert piped(["rule", str(ruled)], file.fileno()) == (0, "")
    assert target.read_text() == report(ruling_of(ruled))


@pytest.mark.parametrize("extra", [[], ["--json"]])
def test_a_reader_that_went_away_is_no_error(ruled: Path, extra: list[str]) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    try:
        assert piped(["rule", str(ruled), *extra], writing) == (0, "")
    finally:
        os.close(writing)


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_told_without_a_traceback(ruled: Path) -> None:
    with Path("/dev/full").open("wb") as full:
        code, said = piped(["rule", str(ruled)], full.fileno())
    assert code == 2
    assert "Traceback" not in said
    assert said.startswith("framecall: ")


def test_a_closed_standard_output_is_no_error(ruled: Path) -> None:
    command = f'exec "{sys.executable}" -m tui rule "{ruled}" >&-'
    ran = subprocess.run(["sh", "-c", command], stderr=subprocess.PIPE, timeout=60, text=True)
    assert (ran.returncode, ran.stderr) == (0, "")
