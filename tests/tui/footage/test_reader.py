"""The store gives the right picture, soon, from any thread, and within its bound."""

import random
import threading
import time
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tests.tui.footage import clips
from tests.tui.footage.clips import Clip, read_number
from tests.tui.footage.conftest import MakeClip, OpenClip
from tui.footage.decoder import Decoder
from tui.footage.footage import Footage
from tui.footage.picture import no_picture
from tui.footage.reader import FrameStore, Picture

BOX = (160, 160)

Store = Callable[..., FrameStore]


@pytest.fixture
def store(opened: OpenClip) -> Iterator[Store]:
    made: list[FrameStore] = []

    def make(clip: Clip, size: tuple[int, int] = BOX, bound_mb: float = 64) -> FrameStore:
        made.append(FrameStore(opened(clip), size, bound_mb))
        return made[-1]

    yield make
    for each in made:
        each.close()


def eventually(holds: Callable[[], object], seconds: float = 10) -> bool:
    """Whether ``holds`` becomes true in good time."""
    end = time.monotonic() + seconds
    while not holds() and time.monotonic() < end:
        time.sleep(0.005)
    return bool(holds())


@pytest.fixture
def decoded(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """The frames that any decoder hands on, in that order."""
    seen: list[int] = []
    real = Decoder.fetch

    def fetch(
        self: Decoder,
        frame: int,
        sink: Callable[[int, VideoFrame], None],
        stop: Callable[[], bool] = lambda: False,
        first: int = 0,
    ) -> bool | None:
        def note(number: int, whole: VideoFrame) -> None:
            seen.append(number)
            sink(number, whole)

        return real(self, frame, note, stop, first)

    monkeypatch.setattr(Decoder, "fetch", fetch)
    return seen


@pytest.mark.parametrize("name", ["mp4", "open GOP, mpeg-ts", "intra refresh", "rotated by 90"])
def test_the_picture_got_is_the_one_asked_for(name: str, clip: MakeClip, store: Store) -> None:
    frames = store(clip(name))
    count = frames.footage.frames
    jumps = random.Random(3).sample(range(count), 15)
    for n in [*jumps, *range(20), *range(count - 1, count - 25, -1)]:
        picture = frames.get(n)
        assert picture.frame == read_number(picture.pixels) == n
        assert picture.pts == frames.footage.pts(n)
        assert picture.source_size == clips.SIZE
        assert picture.flaw is None
        assert picture.pixels.shape == (90, 160, 3)


def test_the_whole_picture_has_all_its_pixels(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    for n in (150, 149, 151, 3):
        picture = frames.full(n)
        assert picture.pixels.shape == (180, 320, 3)
        assert picture.frame == read_number(picture.pixels) == n


def test_nothing_at_hand_is_said_at_once(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    assert frames.peek(200) is None
    frames.get(200)
    assert isinstance(frames.peek(200), Picture)


def test_what_is_wanted_is_announced_once_it_is_there(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    ready: list[int] = []
    threads: set[str] = set()

    def note(n: int) -> None:
        threads.add(threading.current_thread().name)
        assert frames.peek(n) is not None
        ready.append(n)

    frames.on_ready = note
    assert frames.want(120) is None
    assert eventually(lambda: ready)
    assert ready == [120]
    assert threads <= {"seek", "fill"}
    picture = frames.want(120)
    assert picture is not None
    assert read_number(picture.pixels) == 120


def test_only_the_last_of_many_wishes_is_announced(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"), bound_mb=0.4)
    ready: list[int] = []
    frames.on_ready = ready.append
    wishes = [299, 10, 250, 40, 199]
    for n in wishes:
        frames.want(n)
    assert eventually(lambda: 199 in ready)
    assert ready[-1] == 199
    assert len(ready) < len(wishes)


def test_the_direction_of_travel_is_read_ahead(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    frames.get(100)
    assert eventually(lambda: all(frames.peek(n) for n in range(100, 150)))


def test_the_group_before_is_filled_in(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))  # key frames at 0, 100 and 200
    frames.get(201)
    assert eventually(lambda: all(frames.peek(n) for n in range(100, 201)))


def test_going_back_fills_backward_first(clip: MakeClip, store: Store, decoded: list[int]) -> None:
    frames = store(clip("mp4"))
    frames.get(250)
    frames.get(249)
    assert eventually(lambda: all(frames.peek(n) for n in range(120, 250)))


def test_nothing_is_decoded_twice_while_it_fits(
    clip: MakeClip, store: Store, decoded: list[int]
) -> None:
    frames = store(clip("mp4"), bound_mb=128)
    frames.get(0)
    assert eventually(lambda: all(frames.peek(n) for n in range(300)))
    count = len(decoded)
    for n in [*range(300), *range(299, -1, -1)]:
        frames.get(n)
    assert len(decoded) == count
    assert count <= 2 * 300


def test_stepping_with_whole_pictures_keeps_the_neighbours(
    clip: MakeClip, store: Store, decoded: list[int]
) -> None:
    frames = store(clip("mp4"))
    frames.get(150)
    frames.full(150)
    assert eventually(lambda: {149, 150, 151} <= set(frames._agenda.shelf.frames))
    times = [decoded.count(n) for n in (149, 150, 151)]
    for n in (149, 150, 151):
        assert read_number(frames.full(n).pixels) == n
    assert [decoded.count(n) for n in (149, 150, 151)] == times


def test_one_picture_is_kept_however_small_the_bound(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"), bound_mb=0.0001)
    for n in (3, 2, 250, 251):
        assert read_number(frames.get(n).pixels) == n
    assert frames.kept_bytes == 160 * 90 * 3


def test_pictures_can_be_had_in_another_size(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    ready: list[int] = []
    frames.get(150)
    frames.on_ready = ready.append
    frames.resize((80, 80))
    assert eventually(lambda: ready)
    assert ready[0] == 150
    assert frames.get(150).pixels.shape == (45, 80, 3)
    assert read_number(frames.get(40).pixels) == 40


def test_pictures_are_never_enlarged(clip: MakeClip, store: Store) -> None:
    assert store(clip("mp4"), size=(4000, 4000)).get(0).pixels.shape == (180, 320, 3)


def test_pixels_cannot_be_written_to(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    for picture in (frames.get(1), frames.full(1)):
        with pytest.raises(ValueError, match="read-only"):
            picture.pixels[0, 0, 0] = 1


def test_several_threads_can_ask_at_once(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    wrong: list[object] = []

    def ask(seed: int) -> None:
        try:
            for n in random.Random(seed).sample(range(300), 12):
                picture = frames.full(n) if n % 3 == 0 else frames.get(n)
                if read_number(picture.pixels) != n:
                    wrong.append(n)
        except FootageError as error:
            wrong.append(error)

    threads = [threading.Thread(target=ask, args=(seed,)) for seed in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
        assert not thread.is_alive()
    assert wrong == []


@pytest.mark.parametrize("bound_mb", [0.3, 2, 64])
def test_every_picture_comes_however_the_playhead_wanders(
    bound_mb: float, clip: MakeClip, store: Store
) -> None:
    """What one worker is about to bring is given up now and then; the other must then bring it."""
    frames, chance, at = store(clip("mp4"), bound_mb=bound_mb), random.Random(8), 150
    for turn in range(60):
        at = chance.choice((max(0, at - 1), min(299, at + 1), chance.randrange(300)))
        if turn % 7 == 0:
            frames.resize((chance.choice((80, 160)),) * 2)
        if turn % 5 == 0:
            frames.magnify(turn % 2 == 0)
        asked = frames.full if turn % 9 == 0 else frames.get
        assert read_number(asked(at, timeout=20).pixels) == at
    assert frames.footage.ledger.flaws() == ()


def test_a_frame_without_a_picture_is_shown_as_such(
    clip: MakeClip, store: Store, tmp_path: Path
) -> None:
    made = clips.damage(clip("MJPEG, mov"), tmp_path / "a.mov", clips.zero([40]))
    frames = store(made)
    small, full = frames.get(40), frames.full(40)
    assert small.flaw is not None
    assert full.flaw == small.flaw
    assert np.array_equal(small.pixels, no_picture((160, 90)))
    assert np.array_equal(full.pixels, no_picture((320, 180)))
    assert small.source_size == (320, 180)
    assert frames.get(41).flaw is None
    assert read_number(frames.full(41).pixels) == 41


def test_a_damaged_frame_says_so(clip: MakeClip, store: Store, tmp_path: Path) -> None:
    made = clips.damage(clip("mp4"), tmp_path / "a.mp4", clips.scramble([131]))
    frames = store(made)
    frame = int(frames.footage.index.frame_of[131])
    assert frames.get(frame).flaw
    assert frames.get(199).flaw
    assert frames.get(200).flaw is None
    assert frames.get(90).flaw is None


def test_a_flaw_found_later_is_told_of_a_picture_at_hand(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    assert frames.get(5).flaw is None
    frames.footage.ledger.lose(5, "found later")
    picture = frames.peek(5)
    assert picture is not None
    assert picture.flaw == "found later"


def test_a_frame_that_is_not_there_is_refused(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    for ask in (frames.get, frames.peek, frames.want, frames.full):
        with pytest.raises(IndexError):
            ask(300)


def test_a_picture_that_does_not_come_in_time_is_an_error(
    clip: MakeClip, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Decoder, "fetch", _never)
    with pytest.raises(FootageError, match=r"frame 7 of mp4\.mp4 was not decoded within 0\.05 s"):
        store(clip("mp4")).get(7, timeout=0.05)


def _never(
    decoder: Decoder, frame: int, sink: object, stop: Callable[[], bool], first: int
) -> bool:
    while not stop():
        time.sleep(0.005)
    return False


def test_a_closed_store_refuses_and_lets_go_of_those_who_wait(
    clip: MakeClip, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Decoder, "fetch", _never)
    frames = store(clip("mp4"))
    refused: list[str] = []

    def wait() -> None:
        with pytest.raises(FootageError) as refusal:
            frames.get(7)
        refused.append(str(refusal.value))

    waiting = threading.Thread(target=wait)
    waiting.start()
    assert eventually(lambda: frames._agenda.requests)
    began = time.monotonic()
    frames.close()
    assert time.monotonic() - began < 2
    waiting.join(5)
    assert refused == ["mp4.mp4 has been closed; open it again."]
    frames.close()


def test_closing_from_a_worker_does_not_hang(clip: MakeClip, store: Store) -> None:
    frames = store(clip("mp4"))
    closed = threading.Event()

    def close(_: int) -> None:
        frames.close()
        closed.set()

    frames.on_ready = close
    frames.want(50)
    assert closed.wait(5)


def test_a_worker_that_hangs_does_not_hang_the_closing(
    clip: MakeClip, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    release = threading.Event()
    monkeypatch.setattr(Decoder, "fetch", lambda *_: release.wait(20))
    monkeypatch.setattr("tui.footage.reader._JOIN_SECONDS", 0.05)
    frames = store(clip("mp4"))
    frames.want(50)
    began = time.monotonic()
    frames.close()
    assert time.monotonic() - began < 2
    release.set()


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (FootageError("a.mp4 is gone; look for it."), "a.mp4 is gone"),
        (OSError("input/output error"), r"can no longer be decoded \(input/output error\)"),
    ],
)
def test_those_who_wait_hear_of_a_failure(
    error: Exception,
    words: str,
    clip: MakeClip,
    store: Store,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def fail(*_: object) -> bool:
        raise error

    monkeypatch.setattr(Decoder, "fetch", fail)
    frames = store(clip("mp4"))
    for _ in range(2):
        with pytest.raises(FootageError, match=words):
            frames.get(7)


def test_a_file_removed_under_the_store_is_named(
    clip: MakeClip, store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(clip("mp4").path.read_bytes())
    frames = store(Clip(path, (), ()))
    path.unlink()
    with pytest.raises(FootageError, match="does not exist"):
        frames.get(7)


def test_opening_does_not_decode_the_whole_clip(clip: MakeClip, opened: OpenClip) -> None:
    footage: Footage = opened(clip("mp4"))
    assert footage.time(60) == Fraction(1)
    assert footage.ledger.flaws() == ()
