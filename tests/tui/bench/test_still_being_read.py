"""A bench on footage that is still being read: tags are kept, rulings and far jumps wait."""

import os
from pathlib import Path

import pytest

from keymaps.keymap import load_keymap
from sessions.errors import EntryRefused, SessionError
from sessions.record.entries import FootageRead, Note
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.footage import clips
from tui.bench.finishing import finish
from tui.bench.history import next_undo
from tui.bench.opening import ReviewWish, open_review, take_in
from tui.bench.places import go_to_place, go_to_unseen, go_where_awaited
from tui.bench.review import Review
from tui.footage.footage import Footage
from tui.footage.index import FootageIndex
from tui.footage.indexing import build_index


class Begun:
    """Footage of which some frames are known, until all of it is taken in."""

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        path = clips.write(folder / "a.mkv", range(100), options=clips.h264(10, 0)).path
        steps: list[FootageIndex] = []
        monkeypatch.setattr("tui.footage.indexing._FIRST_PACKETS", 40)
        monkeypatch.setattr("tui.footage.indexing._SECONDS_BETWEEN", 0)
        build_index(path, publish=steps.append)
        self.footage = Footage.open(path, folder / "cache")
        self._whole = self.footage.index, self.footage.sha256, self.footage.facts
        known = next(step for step in steps if 10 < step.numbered < 50)
        self.footage.index, self.footage.sha256 = known, ""
        self.known = known.numbered
        self.session = folder / "s.jsonl"
        self.wish = ReviewWish(path, self.session, "3-3-3")

    def read_on(self) -> None:
        self.footage.index, self.footage.sha256, self.footage.facts = self._whole
        self.footage.__dict__.pop("steady_rate", None)


@pytest.fixture
def begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Begun:
    return Begun(tmp_path, monkeypatch)


def begin(begun: Begun) -> Review:
    review = open_review(begun.wish, begun.footage)
    review.progress = lambda: "read to frame 39, 40 %"
    return review


def test_tags_are_on_the_disk_before_the_footage_is_read(begun: Begun) -> None:
    review = begin(begun)
    assert review.waits
    assert review.frames == begun.known < 100
    review.write(Note(text="seen", at=review.spot(3)))
    review.journal.close()
    assert b"seen" in begun.session.read_bytes()
    with pytest.raises(SessionError, match="still being read"):
        read_session(begun.session)  # no other reads it as if it were whole


def test_the_header_is_completed_once_the_footage_is_read(begun: Begun) -> None:
    review = begin(begun)
    review.write(Note(text="seen", at=review.spot(3)))
    assert take_in(review, begun.footage) is None
    begun.read_on()
    assert "100 frames" in (take_in(review, begun.footage) or "")
    assert not review.waits
    assert review.frames == 100
    assert next_undo(review.lines) == (review.lines[0],)  # the last line is never taken back
    review.journal.close()
    recording = read_session(begun.session)
    assert recording.header.footage.sha256 == begun.footage.sha256
    assert recording.header.footage.nominal_rate == "60"
    assert [type(line.entry) for line in recording.lines] == [Note, FootageRead]


def test_what_needs_all_of_the_footage_waits(begun: Begun) -> None:
    review = begin(begun)
    for frame in range(begun.known):
        review.seen.show(frame)
    for needs_all in (finish, go_to_unseen):
        with pytest.raises(EntryRefused, match="still being read"):
            needs_all(review)
    review.journal.close()


def test_a_jump_beyond_what_is_read_is_made_once_it_is(begun: Begun) -> None:
    review = begin(begun)
    for text, frame in (("90", 90), ("+80", 80), ("1.0s", 60)):
        review.go(0)
        said = go_to_place(review, text) or ""
        assert "not been read yet" in said
        assert review.frame == 0
        assert go_where_awaited(review) is not None
        begun.footage.index, kept = begun._whole[0], begun.footage.index
        review.footage_grew(review.session.header.footage.model_copy(update={"frames": 100}))
        assert go_where_awaited(review) is None
        assert review.frame == frame
        begun.footage.index = kept
        review.footage_grew(
            review.session.header.footage.model_copy(update={"frames": begun.known})
        )
    go_to_place(review, "90")
    review.go(5)  # any move takes the jump back
    assert go_where_awaited(review) is None
    assert go_to_place(review, "7") is None
    assert review.frame == 7
    with pytest.raises(EntryRefused, match="the first is 0"):
        go_to_place(review, "-9")
    review.journal.close()


def test_a_review_that_was_broken_off_goes_on_where_it_was(begun: Begun) -> None:
    review = begin(begun)
    review.write(Note(text="seen", at=review.spot(3)))
    review.journal.close()  # the program ends here
    begun.read_on()
    again = open_review(begun.wish, begun.footage)
    assert not again.waits
    assert [type(line.entry) for line in again.lines] == [Note, FootageRead]
    again.journal.close()


def test_another_file_in_its_place_does_not_complete_the_session(begun: Begun) -> None:
    begin(begun).journal.close()
    begun.read_on()
    path = begun.footage.path
    other = path.with_name("other")
    other.write_bytes(path.read_bytes())
    os.replace(other, path)
    with pytest.raises(SessionError, match="moved or changed"):
        open_review(begun.wish, begun.footage)
    with Journal.reopen(begun.session) as journal:
        assert journal.recording.header.reading is not None


async def test_the_bench_says_that_it_is_read_and_when_it_is(begun: Begun) -> None:
    review = begin(begun)
    app = make_app(review, PlainSource(), load_keymap(None), footage=begun.footage)
    async with on_bench(app, (160, 50)) as bench:
        assert "READING, read to frame 39, 40 %" in bench.text
        assert "Ruling: waits until the footage is read" in bench.text
        await bench.do("ruling")
        assert "still being read" in bench.message
        await bench.do("go_to")
        await bench.answer("90")
        assert "not been read yet" in bench.message
        begun.read_on()
        bench.screen._footage_grew()
        await bench.settle()
        await bench.pilot.pause()
        assert review.frame == 90
        assert "READING" not in bench.text
        assert "Ruling now:" in bench.text
    review.journal.close()


async def test_a_reading_that_is_broken_off_takes_no_more_tags(
    begun: Begun, monkeypatch: pytest.MonkeyPatch
) -> None:
    review = begin(begun)
    app = make_app(review, PlainSource(), load_keymap(None), footage=begun.footage)
    async with on_bench(app, (160, 50)) as bench:
        monkeypatch.setattr(Footage, "failure", property(lambda _: "The file changed."))
        bench.screen._footage_grew()
        await bench.pilot.pause()
        assert "The file changed." in bench.message
        with pytest.raises(EntryRefused, match="changed"):
            review.write(Note(text="more", at=review.spot(3)))
    review.journal.close()
