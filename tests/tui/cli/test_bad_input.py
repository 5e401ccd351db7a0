"""Bad input always ends in exit code 2 and one sentence: what, where, and what to do."""

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from sessions.record.journal import Journal
from sessions.record.recording import sealed
from tests.tui.cli.conftest import Call
from tests.tui.conftest import header
from tui.bench.review import Review

pytestmark = pytest.mark.usefixtures("terminal")


def write(path: Path, text: str | bytes) -> Path:
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def changed_line(session: Path, number: int, old: str, new: str) -> Path:
    """The session with something changed in a line, which is counted from 1."""
    lines = session.read_text().split("\n")
    assert old in lines[number - 1]
    lines[number - 1] = lines[number - 1].replace(old, new)
    return write(session, "\n".join(lines))


BAD_FOOTAGE: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda folder: folder / "none.mp4", "does not exist"),
    "a folder": (lambda folder: folder, "is opened with `framecall docket /"),
    "empty": (lambda folder: write(folder / "empty.mp4", ""), "is empty"),
    "text": (lambda folder: write(folder / "text.mp4", "no video " * 99), "text.mp4"),
}


@pytest.mark.parametrize("case", BAD_FOOTAGE)
def test_footage_that_cannot_be_judged_is_refused(
    framecall: Call, tmp_path: Path, case: str
) -> None:
    make, words = BAD_FOOTAGE[case]
    assert words in framecall("review", make(tmp_path), "--event", "cycle").sentence()
    assert not list(tmp_path.glob("*.session.jsonl"))


def test_an_unknown_event_is_refused_and_the_known_ones_named(
    framecall: Call, footage: Path
) -> None:
    sentence = framecall("review", footage, "--event", "4-4-4").sentence()
    assert '"4-4-4"' in sentence
    for name in ("3-3-3", "3-6-3", "cycle"):
        assert name in sentence
    assert not list(footage.parent.glob("*.session.jsonl"))


def test_a_new_session_needs_an_event(framecall: Call, footage: Path) -> None:
    sentence = framecall("review", footage).sentence()
    assert "add --event" in sentence
    assert "3-3-3, 3-6-3, cycle, or the path of an event file (.toml)." in sentence


@pytest.mark.parametrize("text", ["not toml [", 'format = "framecall-event"\n', "\xff"])
def test_an_event_file_that_does_not_hold_is_refused(
    framecall: Call, footage: Path, tmp_path: Path, text: str
) -> None:
    event = write(tmp_path / "own.toml", text.encode("latin-1"))
    assert "own.toml" in framecall("review", footage, "--event", event).sentence()


@pytest.mark.parametrize("time", ["6.4.8", "six", "1:02.3", "", "12345", "6.1234567", "6.482\n"])
def test_a_claimed_time_that_is_no_time_is_refused(
    framecall: Call, footage: Path, time: str
) -> None:
    result = framecall("review", footage, "--event", "cycle", "--claimed-time", time)
    assert "is not a time in seconds such as 6.482" in result.sentence()
    assert "pattern" not in result.sentence()


@pytest.mark.parametrize("option", ["--claim", "--competitor"])
@pytest.mark.parametrize("code", ["", "x" * 81])
def test_a_code_has_1_to_80_characters(
    framecall: Call, footage: Path, option: str, code: str
) -> None:
    framecall("review", footage, "--event", "cycle", option, code).sentence()


@pytest.mark.parametrize("way", ["option", "variable"])
def test_a_reviewer_code_has_at_most_80_characters(
    framecall: Call, footage: Path, way: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    option = ["--reviewer", "x" * 81] if way == "option" else []
    if way == "variable":
        monkeypatch.setenv("FRAMECALL_REVIEWER", "x" * 81)
    framecall("review", footage, "--event", "cycle", *option).sentence()


@pytest.mark.parametrize("keymap", ["dvorak", "none.toml", "bad.toml"])
def test_a_keymap_that_cannot_be_used_is_refused(
    framecall: Call, footage: Path, tmp_path: Path, keymap: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    write(tmp_path / "bad.toml", 'format = "framecall-keymap"\nversion = 1\n[keys]\nfly = "q"\n')
    review = framecall("review", footage, "--event", "cycle", "--keymap", keymap)
    assert keymap in review.sentence()
    assert framecall("keys", "--keymap", keymap).sentence() == review.sentence()
    assert not list(tmp_path.glob("*.session.jsonl"))


def test_keys_of_the_users_own_that_cannot_be_used_are_refused(
    framecall: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write(tmp_path / "own.toml", 'format = "framecall-keymap"\nversion = 1\n[keys\n')
    monkeypatch.setenv("FRAMECALL_KEYS", str(path))
    assert "own.toml, line 3" in framecall("keys").sentence()


def test_a_session_of_other_footage_is_refused_unchanged(
    framecall: Call, footage: Path, review: Review
) -> None:
    review.journal.close()
    before = review.journal.path.read_bytes()
    sentence = framecall("review", footage, "--session", review.journal.path).sentence()
    assert "is of other footage" in sentence
    assert review.journal.path.read_bytes() == before
    # and it is not left locked
    Journal.reopen(review.journal.path).close()


def session_of(framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A session begun on footage and left at once."""
    monkeypatch.setattr("tui.app.FramecallApp.run", lambda _: None)
    assert framecall("review", footage, "--event", "cycle").code == 0
    (path,) = footage.parent.glob("*.session.jsonl")
    return path


@pytest.mark.parametrize("event", ["3-3-3", "3-6-3"])
def test_a_session_of_another_event_is_refused(
    framecall: Call, footage: Path, event: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    session_of(framecall, footage, monkeypatch)
    assert '"cycle"' in framecall("review", footage, "--event", event).sentence()
    assert framecall("review", footage, "--event", "cycle").code == 0
    assert framecall("review", footage).code == 0


CLAIMS = {
    "a claim": ["--claim", "c2"],
    "a competitor": ["--competitor", "k2"],
    "a claimed time": ["--claimed-time", "6.482"],
}


def test_a_session_of_another_reviewer_is_refused_unchanged(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = session_of(framecall, footage, monkeypatch)
    before = path.read_bytes()
    sentence = framecall("review", footage, "--reviewer", "R2").sentence()
    assert 'is that of reviewer "R1"; leave --reviewer out' in sentence
    assert path.read_bytes() == before
    Journal.reopen(path).close()
    assert framecall("review", footage, "--reviewer", "R1").code == 0


def test_the_variable_names_the_reviewer_of_new_sessions_only(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    session_of(framecall, footage, monkeypatch)
    monkeypatch.setenv("FRAMECALL_REVIEWER", "R2")
    assert framecall("review", footage).code == 0


@pytest.mark.parametrize("case", CLAIMS)
def test_a_session_of_another_claim_is_refused_unchanged(
    framecall: Call, footage: Path, case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = session_of(framecall, footage, monkeypatch)
    before = path.read_bytes()
    sentence = framecall("review", footage, *CLAIMS[case]).sentence()
    assert "was begun with other words on the claim; leave --claim" in sentence
    assert path.read_bytes() == before
    Journal.reopen(path).close()


def test_the_same_words_on_the_claim_are_taken_again(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.app.FramecallApp.run", lambda _: None)
    said = [word for words in CLAIMS.values() for word in words]
    assert framecall("review", footage, "--event", "cycle", *said).code == 0
    assert framecall("review", footage, *said).code == 0
    assert framecall("review", footage).code == 0
    assert "other words" in framecall("review", footage, *CLAIMS["a claim"]).sentence()


def test_a_session_that_is_open_elsewhere_is_refused(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = session_of(framecall, footage, monkeypatch)
    with Journal.reopen(path):
        assert "is open elsewhere" in framecall("review", footage).sentence()


@pytest.mark.parametrize("place", ["nowhere/a.jsonl", ".", "x" * 300])
def test_a_session_that_cannot_be_written_is_refused(
    framecall: Call, footage: Path, tmp_path: Path, place: str
) -> None:
    path = tmp_path / place
    result = framecall("review", footage, "--event", "cycle", "--session", path)
    assert "cannot be written" in result.sentence()


def sealed_anew(path: Path, old: str, new: str) -> Path:
    """The session with its header as another program would have written it."""
    header, *rest = path.read_text().splitlines()
    body = header[: header.index(',"seal"')].replace(old, new) + "}"
    return write(path, "\n".join([sealed(body.encode()).decode(), *rest, ""]))


BAD_SESSIONS: dict[str, tuple[Callable[[Path], Path], str]] = {
    "missing": (lambda good: good.with_name("none.jsonl"), "cannot be read"),
    "a folder": (lambda good: good.parent, "is not a file"),
    "empty": (lambda good: write(good, ""), "is empty; nothing was saved"),
    "without its line feed": (lambda good: write(good, "{}"), "not a framecall session"),
    "other text": (lambda good: write(good, "hello\nworld\n"), "not a framecall session"),
    "other JSON": (lambda good: write(good, '{"format": "x"}\n'), "not a framecall session"),
    "no text": (lambda good: write(good, b"\xff\xfe\x00\n"), "not a framecall session"),
    "too new": (lambda good: sealed_anew(good, '"version":2', '"version":9'), "version 9"),
    "bad header": (lambda good: changed_line(good, 1, '"frames":600', '"frames":0'), "line 1"),
    "changed line": (lambda good: changed_line(good, 3, "kind", "kInd"), "line 3"),
    "changed word": (lambda good: changed_line(good, 2, '"frame":0', '"frame":1'), "line 2"),
    "changed header": (lambda good: changed_line(good, 1, "invented.mp4", "other.mp4"), "line 1"),
    "no rate": (lambda good: changed_line(good, 1, '"1/60"', '"none"'), "line 1"),
    "a rate of nothing": (lambda good: changed_line(good, 1, '"1/60"', '"1/0"'), "line 1"),
    "nested deeply": (lambda good: write(good, "[" * 200_000 + "\n"), "not a framecall session"),
}


@pytest.mark.parametrize("case", BAD_SESSIONS)
def test_a_session_that_is_not_sound_is_refused_and_left_as_it_is(
    framecall: Call, ruled: Path, case: str
) -> None:
    make, words = BAD_SESSIONS[case]
    path = make(ruled)
    before = path.read_bytes() if path.is_file() else None
    assert words in framecall("rule", path).sentence()
    assert (path.read_bytes() if path.is_file() else None) == before


@pytest.mark.parametrize("case", ["changed line", "changed word", "other text"])
def test_the_bench_refuses_an_unsound_session_too(
    framecall: Call, footage: Path, review: Review, ruled: Path, case: str
) -> None:
    review.journal.close()
    make, words = BAD_SESSIONS[case]
    path = make(ruled)
    assert words in framecall("review", footage, "--session", path).sentence()


@pytest.mark.parametrize("command", ["rule", "issue"])
def test_a_name_too_long_for_any_file_is_refused(
    framecall: Call, tmp_path: Path, command: str
) -> None:
    sentence = framecall(command, tmp_path / ("x" * 300)).sentence()
    assert "cannot be read (File name too long)" in sentence


def test_footage_whose_name_is_no_text_is_taken_or_refused_with_a_sentence(
    framecall: Call, footage: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    odd = Path(os.fsdecode(os.fsencode(footage.parent) + b"/odd-\xff.mp4"))
    shutil.copy(footage, odd)
    monkeypatch.setattr("tui.app.FramecallApp.run", lambda _: None)
    result = framecall("review", odd, "--event", "cycle")
    if result.code != 0:
        result.sentence()


def test_a_name_that_would_move_the_cursor_is_told_as_text(framecall: Call, tmp_path: Path) -> None:
    result = framecall("rule", tmp_path / "a\x1b[2J\u202egnp.jsonl")
    assert "\x1b" not in result.err
    assert "\u202e" not in result.err


@pytest.mark.parametrize("arguments", [[], ["fly"], ["rule"], ["review"], ["rule", "a", "b"]])
def test_a_wrong_command_line_exits_2(
    arguments: list[str], framecall: Call, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        framecall(*arguments)
    assert ended.value.code == 2
    assert "usage: framecall" in capsys.readouterr().err


def test_a_session_of_another_maker_keeps_its_shape(ruled: Path) -> None:
    first = json.loads(ruled.read_text().split("\n")[0])
    assert first["format"] == header().format
