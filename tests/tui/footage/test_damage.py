"""A damaged file never passes a wrong frame off as a right one."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tests.proofs import mostly_proofs
from tests.tui.footage import clips
from tests.tui.footage.clips import Clip
from tests.tui.footage.conftest import HEALTHY, MakeClip, OpenClip
from tests.tui.footage.test_exact_frames import digest, in_order
from tui.footage.decoder import Decoder
from tui.footage.flaws import Flaw, FlawLedger
from tui.footage.footage import Footage
from tui.footage.index import FootageIndex
from tui.footage.order import CodedPacket
from tui.footage.packets import PacketSource, Placed

Damage = Callable[[Clip, Path], Clip]


def scrambled(*packets: int) -> Damage:
    return lambda source, path: clips.damage(source, path, clips.scramble(packets))


def zeroed(*packets: int) -> Damage:
    return lambda source, path: clips.damage(source, path, clips.zero(packets))


def cut(share: Fraction) -> Damage:
    return lambda source, path: clips.truncate(source, path, share)


def lose_a_piece(source: Clip, path: Path) -> Clip:
    """Leave out one of the 188 bytes long packets of the transport stream."""
    data = source.path.read_bytes()
    at = (clips.packets(source.path)[45][0] // 188 + 3) * 188
    path.write_bytes(data[:at] + data[at + 188 :])
    return Clip(path, source.numbers, source.seconds)


# Damage that the codec can notice. Where it cannot (HEVC, VP8 and VP9 carry nothing to check
# their data by, and a changed byte often decodes to another picture) nothing can be found.
DAMAGED: dict[str, tuple[str, Damage]] = {
    "scrambled packets": ("mp4", scrambled(33, 69, 131, 292)),
    "a scrambled key": ("mp4", scrambled(100)),
    "zeroed packets": ("mp4", zeroed(33, 69, 131, 292)),
    "a zeroed key": ("mp4", zeroed(100)),
    "a zeroed first key": ("mp4", zeroed(0)),
    "a whole group zeroed": ("mp4", zeroed(*range(100, 200))),
    "open GOP": ("open GOP, mp4", zeroed(34, 61)),
    "HEVC": ("HEVC, open GOP", zeroed(34, 61)),
    "matroska, zeroed": ("mkv", zeroed(34, 95)),
    "transport stream, scrambled": ("mpeg-ts", scrambled(34, 95)),
    "transport stream, a piece lost": ("mpeg-ts", lose_a_piece),
    "transport stream, zeroed": ("mpeg-ts", zeroed(15, 93)),
    "program stream, zeroed": ("MPEG-2, program stream", zeroed(34, 61, 95)),
    "program stream, scrambled": ("MPEG-2, program stream", scrambled(17, 35, 66)),
    "MPEG-4": ("MPEG-4, mp4", scrambled(20, 70)),
    "avi": ("MPEG-4, avi", zeroed(34, 61, 95, 140)),
    "reordered avi, zeroed": ("H.264, avi", zeroed(34, 61, 95, 140)),
    "reordered avi, a zeroed key": ("H.264, avi", zeroed(60)),
    "reordered avi, cut off": ("H.264, avi", cut(Fraction(6, 10))),
    "MJPEG": ("MJPEG, mov", zeroed(34, 61)),
    "AV1": ("AV1, mp4", scrambled(34, 100)),
    "VP9": ("VP9, webm", zeroed(34, 61)),
    "intra refresh": ("intra refresh", zeroed(34)),
    "cut off, index at the front": ("mp4", cut(Fraction(6, 10))),
    "cut off, matroska": ("mkv", cut(Fraction(6, 10))),
    "cut off, transport stream": ("mpeg-ts", cut(Fraction(1, 2))),
}


def pristine(footage: Footage) -> dict[Fraction, int]:
    """The checksum of the frame at each time of an undamaged clip."""
    return {footage.time(n): digest(frame) for n, frame in in_order(footage).items()}


@pytest.fixture
def damaged(clip: MakeClip, tmp_path: Path) -> Callable[[str], tuple[Clip, Clip]]:
    def make(kind: str) -> tuple[Clip, Clip]:
        name, damage = DAMAGED[kind]
        source = clip(name)
        return source, damage(source, tmp_path / f"damaged{source.path.suffix}")

    return make


EVERY_DAY = (
    "scrambled packets", "cut off, index at the front", "open GOP",
    "transport stream, a piece lost", "MPEG-4", "MJPEG",
)  # fmt: skip
"""Damage that every run of the tests tries; the rest is for the proofs."""


@pytest.mark.parametrize("kind", mostly_proofs(DAMAGED, EVERY_DAY))
def test_an_untainted_frame_of_a_damaged_file_is_the_true_one(
    kind: str, damaged: Callable[[str], tuple[Clip, Clip]], opened: OpenClip
) -> None:
    source, made = damaged(kind)
    truth = pristine(opened(source))
    footage = opened(made)
    decoder = footage.decoder()
    jumps = [(frame, frame) for frame in range(footage.frames - 1, 0, -9)]
    runs = [(frame, 0) for frame in (*range(0, footage.frames, 7), *range(footage.frames))]
    came: dict[int, VideoFrame] = {}
    for frame, first in (*jumps, *runs):
        fetched = decoder.fetch(frame, came.__setitem__, first=first)
        assert fetched or footage.ledger.flaw(frame)
    decoder.close()
    sound = {n for n in came if footage.ledger.flaw(n) is None}
    assert {n for n in sound if digest(came[n]) != truth.get(footage.time(n))} == set()
    assert all(footage.ledger.flaw(n) for n in range(footage.frames) if n not in came)


@pytest.mark.parametrize("kind", ["scrambled packets", "zeroed packets", "a zeroed key", "MJPEG"])
def test_a_scan_finds_the_flaws_without_being_asked_for_frames(
    kind: str, damaged: Callable[[str], tuple[Clip, Clip]], opened: OpenClip
) -> None:
    _, made = damaged(kind)
    footage = opened(made)
    told: list[tuple[int, int]] = []
    flaws = footage.check(progress=lambda done, total: told.append((done, total)))
    assert flaws
    assert flaws == footage.ledger.flaws()
    assert all(flaw.words and flaw.first <= flaw.last for flaw in flaws)
    assert told[-1][0] <= footage.frames == told[-1][1]


def test_the_taint_runs_from_the_damaged_packet_to_the_next_key(
    damaged: Callable[[str], tuple[Clip, Clip]], opened: OpenClip
) -> None:
    _, made = damaged("a zeroed key")
    footage = opened(made)
    footage.check()
    flawed = {n for n in range(footage.frames) if footage.ledger.flaw(n)}
    # decoder threads report a refused packet a few packets late, so the taint may begin early
    assert set(range(100, 200)) <= flawed <= set(range(92, 200))
    assert "may build on frame" in str(footage.ledger.flaw(150))


def test_damage_to_a_picture_of_its_own_taints_nothing_else(
    damaged: Callable[[str], tuple[Clip, Clip]], opened: OpenClip
) -> None:
    _, made = damaged("MJPEG")
    footage = opened(made)
    assert [(flaw.first, flaw.last) for flaw in footage.check()] == [(34, 34), (61, 61)]


@pytest.mark.parametrize("name", [n for n in HEALTHY if n in ("mp4", "intra refresh", "mpeg-ts")])
def test_a_scan_of_a_healthy_clip_finds_nothing(
    name: str, clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip(name))
    done: list[int] = []
    assert footage.check(progress=lambda so_far, _: done.append(so_far)) == ()
    assert done == list(range(1, footage.frames + 1))


def test_a_scan_can_be_stopped(clip: MakeClip, opened: OpenClip) -> None:
    footage = opened(clip("mp4"))
    done: list[int] = []
    footage.check(progress=lambda so_far, _: done.append(so_far), stop=lambda: len(done) >= 10)
    assert len(done) == 10


def test_what_a_container_marks_as_damaged_is_known_without_decoding(
    damaged: Callable[[str], tuple[Clip, Clip]], opened: OpenClip
) -> None:
    _, made = damaged("transport stream, a piece lost")
    footage = opened(made)
    assert footage.index.flaws
    assert footage.ledger.flaws()


def begun_late(source: Clip, packet: int, path: Path) -> Clip:
    """A transport stream that was joined at ``packet``: its tables, then the rest."""
    data = source.path.read_bytes()
    path.write_bytes(data[: 188 * 3] + data[clips.packets(source.path)[packet][0] :])
    return Clip(path, (), ())


def test_a_recording_that_begins_without_a_key_is_tainted_to_the_first_one(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    footage = opened(begun_late(clip("mpeg-ts"), 10, tmp_path / "late.ts"))
    footage.check()
    first_key = int(footage.index.frame_of[footage.index.keys[0]])
    assert first_key > 0
    assert all(footage.ledger.flaw(n) for n in range(first_key))
    assert footage.ledger.flaw(first_key) is None


def test_a_recording_that_begins_within_a_refresh_is_tainted_to_the_next_one(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    footage = opened(begun_late(clip("intra refresh, mpeg-ts"), 40, tmp_path / "late.ts"))
    footage.check()
    assert footage.index.keys.tolist()[:2] == [0, 40]
    assert all(footage.ledger.flaw(n) for n in range(40))
    assert footage.ledger.flaw(40) is None


def test_pictures_that_do_not_come_in_order_are_tainted(
    clip: MakeClip, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.footage.decoder._MAX_HELD", 0)
    footage = opened(clip("mkv"))  # its B-frames come before the frames that they build on
    assert any("out of the decoder in order" in flaw.words for flaw in footage.check())


def test_a_read_error_in_the_middle_is_damage(
    clip: MakeClip, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    footage = opened(clip("mkv"))
    decoder = footage.decoder()
    real = PacketSource.read
    reads: list[object] = []

    def read(source: PacketSource) -> Placed | None:
        reads.append(source)
        if len(reads) > 40:
            source._packets = broken()
        return real(source)

    def broken() -> Iterator[CodedPacket]:
        raise av.FFmpegError(5, "Input/output error")
        yield

    monkeypatch.setattr(PacketSource, "read", read)
    came: dict[int, VideoFrame] = {}
    for frame in range(60):
        decoder.fetch(frame, came.__setitem__)
    decoder.close()
    assert all(frame in came or footage.ledger.flaw(frame) for frame in range(60))
    assert "not where the index says" in str(footage.ledger.flaw(50))


def test_a_seek_that_fails_is_made_up_for(
    clip: MakeClip, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    footage = opened(clip("mkv"))
    decoder = footage.decoder()
    monkeypatch.setattr(PacketSource, "_landings", lambda *_: iter([-(1 << 63), 0]))
    came: dict[int, VideoFrame] = {}
    assert decoder.fetch(100, came.__setitem__)
    decoder.close()
    assert footage.ledger.flaws() == ()


def test_flaws_in_a_row_with_the_same_words_are_told_once(clip: MakeClip, opened: OpenClip) -> None:
    ledger = FlawLedger(opened(clip("mkv")).index)
    for frame in (3, 4, 5, 9):
        ledger.lose(frame, "gone")
    ledger.lose(4, "another reason comes too late")
    assert ledger.flaws() == (Flaw(3, 5, "gone"), Flaw(9, 9, "gone"))


def test_damage_to_a_hidden_packet_taints_what_is_shown_after_it(
    clip: MakeClip, opened: OpenClip
) -> None:
    index = opened(clip("edit list")).index
    ledger = FlawLedger(index)
    end = ledger.damage(0, "it is gone")
    assert end == index.keys[1]
    assert ledger.flaw(0) == "may build on a hidden frame, which is damaged: it is gone"


def test_a_file_that_changes_after_it_was_opened_is_refused(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    path = tmp_path / "a.mkv"
    path.write_bytes(clip("mkv").path.read_bytes())
    footage = opened(Clip(path, (), ()))
    path.write_bytes(path.read_bytes() + b"x")
    with pytest.raises(FootageError, match="has changed since it was opened"):
        footage.decoder()


def test_a_file_replaced_under_an_open_decoder_is_refused(
    clip: MakeClip, opened: OpenClip, tmp_path: Path
) -> None:
    index = opened(clip("mkv")).index
    other = opened(clip("VP9, webm"))
    decoder = Decoder(other.path, index, FlawLedger(index))
    with pytest.raises(FootageError, match="is not the file it was"):
        decoder.fetch(100, lambda *_: None)
    decoder.close()


def test_packets_that_are_not_where_the_index_says_are_damage(
    clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip("mkv"))
    index = footage.index
    sizes = index.packet_size.copy()
    sizes[45] += 1
    wrong = FootageIndex(
        index.time_base, index.packet_pts, index.packet_dts, sizes, index.key, index.hidden
    )
    ledger = FlawLedger(wrong)
    decoder = Decoder(footage.path, wrong, ledger)
    for frame in range(wrong.frames):
        decoder.fetch(frame, lambda *_: None)
    decoder.close()
    flawed = [n for n in range(wrong.frames) if ledger.flaw(n)]
    assert int(wrong.frame_of[45]) in flawed
    assert np.all(wrong.packet_of[flawed] >= 45)
    assert np.all(wrong.start_of[flawed] == 30)


def test_frame_threads_do_not_hide_that_the_last_picture_is_cut_off(
    clip: MakeClip, tmp_path: Path, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    """They hand it out, now and then, before they know: here the flag is always lost."""
    made = clips.truncate(clip("mpeg-ts"), tmp_path / "short.ts", Fraction(1, 2))
    footage = opened(made)
    decoder, real = footage.decoder(), Decoder._receive
    assert decoder._source.threads > 1

    def unknowing(self: Decoder, picture: VideoFrame) -> None:
        real(self, Unflagged(picture) if self is decoder else picture)  # type: ignore[arg-type]

    monkeypatch.setattr(Decoder, "_receive", unknowing)
    last = footage.frames - 1
    assert decoder.fetch(last, lambda *_: None)
    decoder.close()
    assert footage.ledger.flaw(last) == "damaged: the decoder reports errors in its data"


def test_a_run_stopped_before_its_end_is_sure_loses_no_picture(
    clip: MakeClip, opened: OpenClip
) -> None:
    footage = opened(clip("mpeg-ts"))
    decoder, came = footage.decoder(), set[int]()
    last = footage.frames - 1
    group = int(footage.index.first_frame(int(footage.index.start_of[last])))
    stops = iter(
        [False] * (last - group),
    )
    fetched = decoder.fetch(last, lambda n, _: came.add(n), lambda: next(stops, True))
    assert not fetched
    assert footage.ledger.sure_ends == set()
    assert footage.ledger.flaws() == ()
    assert decoder.fetch(last, lambda n, _: came.add(n))
    assert footage.ledger.sure_ends == {0}
    assert last in came
    decoder.close()


@dataclass(frozen=True)
class Unflagged:
    """A picture of which the decoder has nothing to say."""

    picture: VideoFrame
    is_corrupt = False

    @property
    def pts(self) -> int | None:
        return self.picture.pts


def test_a_file_that_ends_before_its_index_is_damage(
    clip: MakeClip, tmp_path: Path, opened: OpenClip
) -> None:
    source = clip("mkv")
    index = opened(source).index
    short = clips.truncate(source, tmp_path / "short.mkv", Fraction(1, 2))
    ledger = FlawLedger(index)
    decoder = Decoder(short.path, index, ledger)
    came: dict[int, VideoFrame] = {}
    for frame in range(75):
        decoder.fetch(frame, came.__setitem__)
    decoder.close()
    assert ledger.flaws()
    assert all(frame in came or ledger.flaw(frame) for frame in range(75))
