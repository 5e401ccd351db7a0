"""What is kept stays within the bound, whatever is done with the footage."""

import random
from collections.abc import Callable

import pytest

from tests.proofs import mostly_proofs
from tests.tui.footage import clips
from tests.tui.footage.clips import Clip, read_number
from tests.tui.footage.conftest import HEALTHY, MakeClip, OpenClip
from tests.tui.footage.test_exact_frames import EVERY_DAY, decode
from tui.footage.agenda import Shelf
from tui.footage.reader import FrameStore, frame_bytes

BOX = (160, 160)
Use = Callable[[FrameStore], None]


@pytest.fixture
def most_kept(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How many bytes the shelf held, after each thing that was put on it."""
    kept: list[int] = []

    def note(name: str) -> None:
        real = getattr(Shelf, name)

        def put(shelf: Shelf, *what: object) -> None:
            real(shelf, *what)
            kept.append(shelf.bytes)

        monkeypatch.setattr(Shelf, name, put)

    for name in ("put", "put_frame", "put_aside", "put_painted"):
        note(name)
    return kept


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory) -> Clip:
    """A few frames of 3840 x 2160."""
    path = tmp_path_factory.mktemp("large") / "large.mp4"
    return clips.write(path, range(18), size=(3840, 2160), options=clips.h264(9))


def jumps(store: FrameStore) -> None:
    for frame in random.Random(2).choices(range(store.footage.frames), k=15):
        assert read_number(store.get(frame).pixels) == frame


def steps(store: FrameStore) -> None:
    last = store.footage.frames - 1
    for frame in (*range(last // 2), *range(last, last // 2, -1)):
        store.get(frame)


def whole_frames(store: FrameStore) -> None:
    store.magnify(True)
    for frame in random.Random(3).choices(range(store.footage.frames), k=8):
        store.get(frame)
        assert read_number(store.full(frame).pixels) == frame
        store.peek_full(frame)
        store.peek_full(max(0, frame - 1))


def other_sizes(store: FrameStore) -> None:
    for side in (40, 320, 90, 200):
        store.resize((side, side))
        for frame in random.Random(side).choices(range(store.footage.frames), k=4):
            store.get(frame)


def a_strip(store: FrameStore) -> None:
    """The frames around one that is jumped to, as a row of pictures shows them."""
    for frame in random.Random(4).choices(range(3, store.footage.frames - 3), k=4):
        store.want(frame)
        for around in range(frame - 3, frame + 4):
            store.full(around)
            store.peek(around)


USES = (jumps, steps, whole_frames, other_sizes, a_strip)


@pytest.mark.parametrize("use", USES, ids=lambda use: use.__name__)
@pytest.mark.parametrize(
    "name", mostly_proofs(["mp4", "every frame a key", "HEVC, 10 bits"], ["mp4"])
)
@pytest.mark.parametrize("bound_mb", mostly_proofs([0.2, 1.5, 6], [6]))
def test_what_is_kept_stays_within_the_bound(
    bound_mb: float, name: str, use: Use, clip: MakeClip, opened: OpenClip, most_kept: list[int]
) -> None:
    _use(FrameStore(opened(clip(name)), BOX, bound_mb), use)
    assert bound_mb * 1e5 < max(most_kept) <= bound_mb * 1e6


@pytest.mark.proof
@pytest.mark.parametrize("use", USES, ids=lambda use: use.__name__)
def test_what_is_kept_of_large_frames_stays_within_the_bound(
    use: Use, large: Clip, opened: OpenClip, most_kept: list[int]
) -> None:
    _use(FrameStore(opened(large), (640, 360), bound_mb=120), use)
    assert 12e6 < max(most_kept) <= 120e6


@pytest.mark.parametrize("name", mostly_proofs(HEALTHY, EVERY_DAY))
def test_no_frame_takes_more_than_is_reckoned(name: str, clip: MakeClip, opened: OpenClip) -> None:
    footage = opened(clip(name))
    decoder = footage.decoder()
    for frame in decode(decoder, 20).values():
        assert sum(plane.buffer_size for plane in frame.planes) <= frame_bytes(footage)
    decoder.close()


def _use(store: FrameStore, use: Use) -> None:
    try:
        use(store)
    finally:
        store.close()


def test_a_store_that_is_closed_keeps_nothing(clip: MakeClip, opened: OpenClip) -> None:
    store = FrameStore(opened(clip("mp4")), BOX)
    store.get(5)
    store.full(5)
    assert store.kept_bytes
    store.close()
    assert store.kept_bytes == 0
