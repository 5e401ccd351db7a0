"""Damage to a session file: every changed byte is found and named, every torn end recovered."""

from hashlib import sha256
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.errors import DamagedSession, ForeignSession
from sessions.record.entries import Line, Note
from sessions.record.journal import Journal
from sessions.record.recording import line_hash, parse_session, sealed
from tests.sessions.samples import WHEN, header, spot

PATH = Path("session.jsonl")
HEADER = header("3-3-3", frames=100)


def sound(notes: int = 5) -> bytes:
    """The bytes of a session of so many notes."""
    raw = [sealed(HEADER.model_dump_json(exclude_none=True).encode())]
    for seq in range(1, notes + 1):
        note = Note(text=f"note {seq}", at=spot(seq))
        line = Line(seq=seq, at=WHEN, prev=line_hash(raw[-1]), entry=note)
        raw.append(sealed(line.model_dump_json(exclude_none=True).encode()))
    return b"\n".join(raw) + b"\n"


SOUND = sound()
LINES = parse_session(SOUND, PATH).lines
LAST = SOUND[:-1].rindex(b"\n") + 1
"""Where the last line begins."""


def line_number(place: int) -> int:
    """The line, from 1, in which a byte lies; a line feed belongs to the line that it ends."""
    return SOUND[:place].count(b"\n") + 1


def changed(place: int, mask: int) -> bytes:
    return SOUND[:place] + bytes([SOUND[place] ^ mask]) + SOUND[place + 1 :]


def test_the_sound_bytes_are_those_that_a_journal_writes(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        for line in LINES:
            journal.append(line.entry)
    assert path.read_bytes() == SOUND


@given(st.integers(0, LAST - 1), st.integers(1, 255))
def test_any_byte_changed_before_the_last_line_is_found_and_named(place: int, mask: int) -> None:
    with pytest.raises(DamagedSession) as caught:
        parse_session(changed(place, mask), PATH)
    assert "session.jsonl" in str(caught.value)
    assert f"line {line_number(place)} (" in str(caught.value)


@given(st.integers(LAST, len(SOUND) - 2), st.integers(1, 255))
def test_any_byte_changed_in_the_last_line_is_found_and_named(place: int, mask: int) -> None:
    with pytest.raises(DamagedSession, match="line 6"):
        parse_session(changed(place, mask), PATH)


@given(st.integers(1, 255))
def test_a_last_line_feed_that_was_changed_loses_nothing_and_is_reported(mask: int) -> None:
    recording = parse_session(changed(len(SOUND) - 1, mask), PATH)
    assert recording.lines == LINES
    assert (recording.torn, recording.mended) == (0, True)
    assert recording.sha256 == sha256(SOUND).hexdigest()
    assert "end of line 6, the last, was damaged; its seal holds" in recording.damage


def test_any_truncation_leaves_what_was_whole_and_a_line_is_whole_without_its_feed() -> None:
    ends = [place for place, byte in enumerate(SOUND) if byte == ord("\n")]
    for length in range(SOUND.index(b"\n"), len(SOUND) + 1):
        recording = parse_session(SOUND[:length], PATH)
        whole = [end for end in ends if end <= length]
        assert recording.lines == LINES[: len(whole) - 1]
        assert recording.whole == whole[-1] + 1
        assert recording.sha256 == sha256(SOUND[: recording.whole]).hexdigest()
        assert recording.torn == max(0, length - recording.whole)
        assert recording.mended == (length in ends)


def test_a_header_cut_short_says_that_the_file_holds_nothing_and_may_be_removed() -> None:
    for length in range(SOUND.index(b"\n")):
        with pytest.raises(ForeignSession, match="nothing was saved there yet: remove the file"):
            parse_session(SOUND[:length], PATH)


@pytest.mark.parametrize("cut", [2, 40, len(SOUND) - LAST - 1])
def test_a_torn_last_line_is_cut_off_and_the_session_goes_on(tmp_path: Path, cut: int) -> None:
    path = tmp_path / "session.jsonl"
    path.write_bytes(SOUND[:-cut])
    with Journal.reopen(path, lambda: WHEN) as journal:
        assert journal.recording.torn == len(SOUND) - LAST - cut
        assert path.read_bytes() == SOUND[:LAST]
        journal.append(LINES[-1].entry)
    assert path.read_bytes() == SOUND


@pytest.mark.parametrize("end", [b"", b"\x0b", b"\x00"])
def test_a_last_line_feed_is_put_back_and_the_session_goes_on(tmp_path: Path, end: bytes) -> None:
    path = tmp_path / "session.jsonl"
    path.write_bytes(SOUND[:-1] + end)
    with Journal.reopen(path, lambda: WHEN) as journal:
        assert path.read_bytes() == SOUND
        journal.append(Note(text="one more", at=spot(9)))
    assert len(parse_session(path.read_bytes(), path).lines) == len(LINES) + 1


@given(st.integers(0, SOUND.index(b"\n")), st.integers(0, 7))
def test_a_flipped_bit_in_the_header_names_line_1(place: int, bit: int) -> None:
    with pytest.raises(DamagedSession, match=r"damaged at line 1 \("):
        parse_session(changed(place, 1 << bit), PATH)


def without(number: int) -> bytes:
    raw = SOUND.splitlines(keepends=True)
    return b"".join(raw[: number - 1] + raw[number:])


@pytest.mark.parametrize("number", [2, 3, 5])
def test_a_line_taken_out_is_found(number: int) -> None:
    with pytest.raises(DamagedSession, match=f"at line {number} .*does not follow line"):
        parse_session(without(number), PATH)


def test_two_lines_swapped_are_found() -> None:
    raw = SOUND.splitlines(keepends=True)
    raw[2], raw[3] = raw[3], raw[2]
    with pytest.raises(DamagedSession, match="at line 3 "):
        parse_session(b"".join(raw), PATH)


def test_a_line_forged_with_its_chain_but_a_wrong_number_is_found() -> None:
    forged = LINES[-1].model_copy(update={"seq": 9})
    raw = SOUND[:LAST] + sealed(forged.model_dump_json(exclude_none=True).encode()) + b"\n"
    with pytest.raises(DamagedSession, match=r"at line 6 \(its number is 9, not 5\)"):
        parse_session(raw, PATH)


def test_a_header_with_an_unknown_field_is_named_as_line_1() -> None:
    body = HEADER.model_dump_json(exclude_none=True).encode()
    raw = sealed(body.replace(b'"reviewer"', b'"judge"', 1)) + b"\n"
    with pytest.raises(DamagedSession, match=r"at line 1 \(reviewer: is missing\)"):
        parse_session(raw, PATH)


def test_damage_changes_nothing_in_the_file(tmp_path: Path) -> None:
    path = tmp_path / "session.jsonl"
    damaged = SOUND.replace(b"note 2", b"note 7")
    path.write_bytes(damaged)
    with pytest.raises(DamagedSession, match="nothing was changed, restore the file from a copy"):
        Journal.reopen(path)
    assert path.read_bytes() == damaged
