"""A deed, the lines that one key writes, is on the disk whole or not at all."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.errors import DamagedSession, WriteRefused
from sessions.record.entries import Line, Note, Retracted
from sessions.record.journal import Draft, Journal
from sessions.record.recording import line_hash, parse_session, read_session, sealed
from tests.sessions.record.failing_disk import WAYS, failing_at
from tests.sessions.samples import WHEN, header, spot

PATH = Path("session.jsonl")
HEADER = header("3-3-3", frames=100)


def note(text: str) -> Note:
    return Note(text=text, at=spot(3))


def drafts(*texts: str) -> list[Draft]:
    return [Draft(note(text)) for text in texts]


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "session.jsonl"


def texts(path: Path) -> list[str]:
    return [e.entry.text for e in read_session(path).lines if isinstance(e.entry, Note)]


def test_each_line_but_the_last_of_a_deed_says_how_many_follow(path: Path) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        lines = journal.append_all([*drafts("a", "b"), Draft(note("c"), replaces=1)])
        journal.append(note("d"))
    assert [line.more for line in read_session(path).lines] == [2, 1, None, None]
    assert [line.seq for line in lines] == [1, 2, 3]
    assert lines[2].replaces == 1
    assert b'"more"' not in path.read_bytes().splitlines()[3]


def test_a_deed_is_one_write_and_one_sync(path: Path) -> None:
    journal = Journal.create(path, HEADER)
    with journal, failing_at(99, lasting=False, partly=False) as made:
        journal.append_all(drafts("a", "b", "c", "d"))
    assert made == ["ftruncate", "write", "fsync"]


def test_a_deed_of_nothing_writes_nothing(path: Path) -> None:
    with Journal.create(path, HEADER) as journal:
        before = path.read_bytes()
        assert journal.append_all([]) == ()
        assert path.read_bytes() == before


def of_deeds(*sizes: int) -> bytes:
    """The bytes of a session of deeds of so many lines."""
    raws = [sealed(HEADER.model_dump_json(exclude_none=True).encode())]
    for size in sizes:
        for more in reversed(range(size)):
            said = Line(
                seq=len(raws), at=WHEN, prev=line_hash(raws[-1]),
                entry=note(f"{len(raws)}"), more=more or None,
            )  # fmt: skip
            raws.append(sealed(said.model_dump_json(exclude_none=True).encode()))
    return b"\n".join(raws) + b"\n"


@given(st.lists(st.integers(1, 4), min_size=1, max_size=4), st.data())
def test_a_file_cut_anywhere_holds_whole_deeds_alone(sizes: list[int], data: st.DataObject) -> None:
    whole = of_deeds(*sizes)
    first = whole.index(b"\n")
    cut = data.draw(st.integers(first, len(whole)))
    recording = parse_session(whole[:cut], PATH)
    counts = [sum(sizes[:number]) for number in range(len(sizes) + 1)]
    assert len(recording.lines) in counts
    lines_there = whole[: cut + 1].count(b"\n") - 1  # a line is whole without its line feed
    assert len(recording.lines) == max(count for count in counts if count <= lines_there)
    assert recording.torn == max(0, cut - recording.whole)
    if recording.torn:
        assert recording.damage == "A last entry, torn before it was acknowledged, was left out."


def test_a_torn_deed_is_cut_off_and_the_session_goes_on(path: Path) -> None:
    whole = of_deeds(1, 3)
    path.write_bytes(b"\n".join(whole.split(b"\n")[:4]) + b"\n")
    with Journal.reopen(path, lambda: WHEN) as journal:
        assert journal.recording.torn > 0
        assert path.read_bytes() == of_deeds(1)
        journal.append(note("after"))
    assert texts(path) == ["1", "after"]


def test_a_line_that_does_not_go_on_with_its_deed_is_named(path: Path) -> None:
    for more, following in ((2, None), (1, 1), (3, 1)):
        raws = of_deeds(1).splitlines()
        for left in (more, following):
            said = Line(
                seq=len(raws), at=WHEN, prev=line_hash(raws[-1]), entry=note("x"), more=left
            )
            raws.append(sealed(said.model_dump_json(exclude_none=True).encode()))
        with pytest.raises(DamagedSession, match=r"at line 4 \(the deed of line 3 does not go on"):
            parse_session(b"\n".join(raws) + b"\n", PATH)


@pytest.mark.parametrize(("lasting", "partly"), WAYS)
@pytest.mark.parametrize("number", range(4))
def test_a_disk_that_fails_at_any_call_leaves_the_deed_before_and_memory_agrees(
    path: Path, number: int, lasting: bool, partly: bool
) -> None:
    with Journal.create(path, HEADER, lambda: WHEN) as journal:
        journal.append_all(drafts("a", "b"))
        before = path.read_bytes()
        with failing_at(number, lasting=lasting, partly=partly) as made:
            refused = None
            try:
                journal.append_all([Draft(Retracted(seq=1)), *drafts("c", "d")])
            except WriteRefused as error:
                refused = error
        assert (refused is not None) == (number < 3), made
        held = read_session(path)
        # A disk that fails for good may keep a deed that it did not sync; the next one cuts it off.
        assert len(held.lines) in ((2, 5) if lasting and number == 2 else (2,) if refused else (5,))
        assert path.read_bytes().startswith(before)
        journal.append(note("after"))
    said = texts(path)
    assert said == (["a", "b", "after"] if refused else ["a", "b", "c", "d", "after"])


WRITER = """
import os, sys
from pathlib import Path
from sessions.record.journal import Draft, Journal
from tests.sessions.record.test_deeds import drafts
journal = Journal.reopen(Path(sys.argv[1]))
print("open", flush=True)
while True:
    journal.append_all(drafts(*[str(n) * 1900 for n in range(9)]))
    print("written", flush=True)
"""


@pytest.mark.parametrize("deeds", [0, 1, 3, 8])
def test_a_program_killed_while_it_writes_deeds_leaves_whole_ones(path: Path, deeds: int) -> None:
    Journal.create(path, HEADER).close()
    root = Path(__file__).parents[3]
    with subprocess.Popen(
        [sys.executable, "-c", WRITER, str(path)], stdout=subprocess.PIPE, text=True, cwd=root,
        env={**os.environ, "PYTHONPATH": str(root)},
    ) as writer:  # fmt: skip
        assert writer.stdout is not None
        assert writer.stdout.readline() == "open\n"
        for _ in range(deeds):
            writer.stdout.readline()
        writer.send_signal(signal.SIGKILL)
        acknowledged = deeds + writer.stdout.read().count("written")
    held = read_session(path)
    assert len(held.lines) % 9 == 0
    assert len(held.lines) // 9 in (acknowledged, acknowledged + 1)
    Journal.reopen(path).close()
    assert read_session(path).torn == 0
