"""Footage that is looked at while it is read: numbers that are shown never change."""

import os
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tests.tui.footage import clips, hard
from tests.tui.footage.clips import read_number
from tests.tui.footage.conftest import HEALTHY, MakeClip
from tui.footage import footage as opening
from tui.footage import growing, indexing
from tui.footage.footage import Footage
from tui.footage.index import FootageIndex
from tui.footage.indexing import build_index
from tui.footage.reader import FrameStore

ONLY_WHOLE = ("MPEG-4, avi", "H.264, avi", "H.264, open GOP, avi")
"""Clips whose container does not tell the order of frames: nothing is numbered before the end."""


@pytest.fixture
def eagerly(monkeypatch: pytest.MonkeyPatch) -> None:
    """Have every few packets published, so that short clips grow in many steps."""
    monkeypatch.setattr(indexing, "_FIRST_PACKETS", 40)
    monkeypatch.setattr(indexing, "_SECONDS_BETWEEN", 0)


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch, eagerly: None) -> Iterator[threading.Event]:
    """Have the reading stop behind the first frames until the event is set."""
    go_on = threading.Event()
    read_on = growing.FirstReading._note

    def note(self: growing.FirstReading, what: str, done: int, total: int) -> None:
        read_on(self, what, done, total)
        if what == "fingerprint":
            assert go_on.wait(20)

    monkeypatch.setattr(growing.FirstReading, "_note", note)
    monkeypatch.setattr(opening, "_SMALL", 0)
    yield go_on
    go_on.set()


def published(path: Path) -> tuple[list[FootageIndex], FootageIndex]:
    """All that was published while the footage was read, and its index in the end."""
    steps: list[FootageIndex] = []
    whole = build_index(path, publish=steps.append)
    return steps, whole


def check_final(steps: list[FootageIndex], whole: FootageIndex) -> None:
    """What had its number for good has the same picture, time and beginning in the end."""
    for step in steps:
        count = step.numbered
        for name in ("pts", "packet_of", "start_of"):
            assert np.array_equal(getattr(step, name)[:count], getattr(whole, name)[:count])


@pytest.mark.parametrize("name", ["mp4", "mkv", "mpeg-ts", "fragmented mp4", "edit list"])
def test_numbers_once_shown_never_change(clip: MakeClip, eagerly: None, name: str) -> None:
    steps, whole = published(clip(name).path)
    assert len(steps) > 1
    check_final(steps, whole)


@pytest.mark.proof
@pytest.mark.parametrize("name", HEALTHY)
def test_numbers_once_shown_never_change_in_any_container(
    clip: MakeClip, eagerly: None, name: str
) -> None:
    steps, whole = published(clip(name).path)
    assert bool(steps) != (name in ONLY_WHOLE)
    check_final(steps, whole)


@pytest.mark.proof
@pytest.mark.parametrize("name", [name for name in hard.SOURCES if "avi" not in name])
def test_numbers_never_change_across_joints_and_losses(
    tmp_path: Path, eagerly: None, name: str
) -> None:
    sound = Path(hard.sound(name, tmp_path).path)
    for made in (
        hard.joined(tmp_path / f"joined{sound.suffix}", sound, sound),
        hard.without(sound, tmp_path / f"lost{sound.suffix}", 61, 12),
    ):
        steps, whole = published(made)
        assert steps
        check_final(steps, whole)
        assert max(step.numbered for step in steps) <= 120  # nothing beyond a joint


def test_a_recording_that_begins_anew_is_not_numbered_before_the_end(
    tmp_path: Path, clip: MakeClip, eagerly: None
) -> None:
    ts = clip("mpeg-ts")
    steps, whole = published(hard.joined(tmp_path / "joined.ts", ts.path, ts.path))
    assert whole.joints == (whole.frames // 2,)
    assert 0 < max(step.numbered for step in steps) <= whole.joints[0]


def test_where_only_decoding_tells_the_order_all_of_it_is_waited_for(
    clip: MakeClip, tmp_path: Path, eagerly: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(opening, "_SMALL", 0)
    told: list[str] = []
    begun = Footage.begin(
        clip("H.264, avi").path, tmp_path, lambda what, done, total: told.append(what)
    )
    assert begun.frames == begun.index.frames  # and it was said why it took longer
    assert not told or told[-1] in ("order of frames, by decoding", "reading")


def test_the_first_frames_are_there_while_the_rest_is_read(
    clip: MakeClip, tmp_path: Path, held: threading.Event
) -> None:
    made = clip("mp4")
    begun = Footage.begin(made.path, tmp_path)
    assert not begun.is_whole
    assert "%" in begun.reading_words
    store = FrameStore(begun, (160, 160))
    try:
        assert read_number(store.get(0).pixels) == 0
        with pytest.raises(IndexError):
            begun.pts(begun.index.packets)
        held.set()
        begun.wait()
        assert begun.reading_words == ""
        whole = Footage.open(made.path, tmp_path / "other")
        last = whole.frames - 1
        assert (begun.sha256, begun.frames) == (whole.sha256, whole.frames)
        assert begun.facts == whole.facts
        assert read_number(store.get(last).pixels) == last
    finally:
        store.close()


def test_every_frame_is_right_while_more_are_numbered(
    clip: MakeClip, tmp_path: Path, eagerly: None
) -> None:
    made = clip("open GOP, mpeg-ts")
    steps, whole = published(made.path)
    known = Footage.open(made.path, tmp_path)
    for step in [*steps[::3], whole]:
        known.index = step
        known.ledger.grow(step)
        decoder = known.decoder()
        came: list[tuple[int, int | None]] = []

        def keep(number: int, whole: VideoFrame, came: list[tuple[int, int | None]] = came) -> None:
            came.append(
                (number, read_number(np.asarray(whole.to_ndarray(format="rgb24"), np.uint8)))
            )

        for frame in (step.numbered - 1, 0, step.numbered // 2):
            decoder.fetch(frame, keep)
        decoder.close()
        assert came
        assert all(number == shown and number < step.numbered for number, shown in came)
    assert not known.ledger.flaws()


def test_what_was_found_of_damage_reaches_further_once_more_is_known(
    tmp_path: Path, clip: MakeClip, eagerly: None
) -> None:
    lost = hard.without(clip("mp4").path, tmp_path / "lost.mp4", 30, 3)
    steps, whole = published(lost)
    known = Footage.open(lost, tmp_path / "cache")
    plain = known.ledger.flaws()
    grown = Footage.open(lost, tmp_path / "cache").ledger
    for step in [*steps, whole]:
        grown.grow(step)
    assert grown.flaws() == plain != ()


@pytest.mark.parametrize("change", ["written to", "replaced", "set back"])
def test_a_file_that_is_changed_while_it_is_read_is_refused(
    clip: MakeClip, tmp_path: Path, held: threading.Event, change: str
) -> None:
    path = tmp_path / "clip.mp4"
    path.write_bytes(clip("mp4").path.read_bytes())
    began = os.stat(path)
    begun = Footage.begin(path, tmp_path / "cache")
    heard = threading.Event()
    begun.listeners.append(heard.set)
    if change == "replaced":
        other = tmp_path / "other.mp4"
        other.write_bytes(path.read_bytes())
        os.replace(other, path)
    else:
        data = bytearray(path.read_bytes())
        data[-1] ^= 1
        with path.open("r+b") as file:
            file.write(data)
    if change == "set back":  # the time of change by the system's own clock cannot be set
        os.utime(path, ns=(began.st_atime_ns, began.st_mtime_ns))
    held.set()
    with pytest.raises(FootageError, match="changed while it was being read"):
        begun.wait()
    assert heard.wait(5)
    assert not begun.is_whole
    assert "changed" in begun.failure
    assert not (tmp_path / "cache" / "fingerprints").exists()


def test_an_order_that_turns_out_otherwise_is_refused_not_renumbered(
    clip: MakeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, held: threading.Event
) -> None:
    begun = Footage.begin(clip("mp4").path, tmp_path)
    monkeypatch.setattr(growing, "_goes_on", lambda before, whole: False)
    assert not begun.is_whole
    reading = growing.FirstReading(clip("mp4").path, tmp_path / "b", None, lambda: None)
    held.set()
    with pytest.raises(FootageError, match="another order"):
        reading.wait(whole=True)


def test_closing_ends_the_reading(clip: MakeClip, tmp_path: Path, held: threading.Event) -> None:
    begun = Footage.begin(clip("mp4").path, tmp_path)
    begun.close()
    held.set()
    until = time.monotonic() + 5
    while any(thread.name == "read" for thread in threading.enumerate()):
        assert time.monotonic() < until
        time.sleep(0.01)
    assert not begun.is_whole


def test_footage_that_was_read_before_is_whole_at_once(clip: MakeClip, tmp_path: Path) -> None:
    Footage.open(clip("mp4").path, tmp_path)
    assert Footage.begin(clip("mp4").path, tmp_path).is_whole


def test_matroska_of_unknown_length_is_looked_through_for_another_head(
    tmp_path: Path, eagerly: None
) -> None:
    live = clips.healthy("mkv", tmp_path).path
    data = bytearray(live.read_bytes())
    at = data.index(b"\x18\x53\x80\x67") + 4  # the segment (RFC 9559, 5.1): its size made unknown
    data[at : at + 8] = b"\x01" + b"\xff" * 7
    endless = tmp_path / "endless.mkv"
    endless.write_bytes(data * 2)
    steps, whole = published(endless)
    assert steps
    check_final(steps, whole)
    assert max(step.numbered for step in steps) <= whole.frames // 2
