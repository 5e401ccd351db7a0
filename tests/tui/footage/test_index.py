"""The index says what is shown when, and survives whatever happens to the cache."""

from dataclasses import fields
from fractions import Fraction
from pathlib import Path
from typing import cast

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sessions.errors import FootageError
from tests.tui.footage.conftest import MakeClip, OpenClip
from tui.footage import index, indexing
from tui.footage.footage import Footage
from tui.footage.index import NOT_SHOWN, FootageIndex
from tui.footage.indexing import build_index, index_of
from tui.footage.order import CodedPacket


def of(pts: list[int], key: list[bool], hidden: list[bool] | None = None) -> FootageIndex:
    """An index of packets in decode order."""
    count = len(pts)
    return FootageIndex(
        Fraction(1, 60),
        np.array(pts, np.int64),
        np.arange(count),
        np.full(count, 10),
        np.array(key, bool),
        np.array(hidden or [False] * count, bool),
    )


def same(one: FootageIndex, other: FootageIndex) -> bool:
    return all(
        np.array_equal(getattr(one, f.name), getattr(other, f.name))
        for f in fields(FootageIndex)
        if f.name != "_by_stamp"
    )


def test_frames_are_in_display_order() -> None:
    index = of([0, 3, 1, 2], [True, False, False, False])
    assert index.packet_of.tolist() == [0, 2, 3, 1]
    assert index.frame_of.tolist() == [0, 3, 1, 2]
    assert index.settled_by.tolist() == [0, 3, 3, 3]


def test_a_picture_that_leads_a_key_starts_at_the_key_before() -> None:
    # decode order: key 0, 1, key 4, then 2 and 3 which are shown before that key
    index = of([0, 1, 4, 2, 3, 5], [True, False, True, False, False, False])
    assert index.start_of.tolist() == [0, 0, 0, 0, 2, 2]
    assert index.first_frame(2) == 4


def test_hidden_packets_have_no_frame() -> None:
    index = of([0, 1, 2], [True, False, False], hidden=[True, True, False])
    assert index.frames == 1
    assert index.packets == 3
    assert index.frame_of.tolist() == [NOT_SHOWN, NOT_SHOWN, 0]


def test_without_any_key_every_frame_starts_at_the_first_packet() -> None:
    index = of([0, 1, 2], [False, False, False])
    assert index.start_of.tolist() == [0, 0, 0]
    assert index.earlier_start(0, 0) == 0
    assert index.last_key(2) == 0
    assert index.next_key(0) == 3


def test_an_index_of_nothing_is_possible() -> None:
    assert of([], []).frames == 0


@given(st.data())
def test_each_frame_starts_at_a_key_no_later_than_itself(data: st.DataObject) -> None:
    pts = data.draw(st.permutations(range(data.draw(st.integers(1, 30)))))
    key = [True, *(data.draw(st.booleans()) for _ in pts[1:])]
    index = of(list(pts), key)
    for frame in range(index.frames):
        start = int(index.start_of[frame])
        assert index.key[start]
        assert start <= index.packet_of[frame]
        # a key that is shown after the frame is a start only where there is no earlier one
        assert start == 0 or index.packet_pts[start] <= index.pts[frame]
        assert index.settled_by[frame] >= frame


def test_packets_with_equal_stamps_are_told_apart_by_size_and_place() -> None:
    packet = cast("CodedPacket", av.Packet(b"x" * 10))
    packet.pts, packet.dts = 5, None
    index = of([5, 5, 5], [True, False, False])
    assert index.locate(packet, 1) == 1
    assert index.locate(packet, 7) == 0
    index.packet_size[0] = 11
    assert index.locate(packet, 7) == 1
    packet.dts = 2
    assert index.locate(packet, 1) == 2
    packet.pts, packet.dts = None, None
    assert index.locate(packet, 0) is None


@pytest.mark.parametrize("name", ["mp4", "mkv", "edit list", "HEVC, open GOP"])
def test_a_kept_index_is_the_index(name: str, clip: MakeClip, tmp_path: Path) -> None:
    path = clip(name).path
    built = index_of(path, "0" * 64, tmp_path)
    kept = index_of(path, "0" * 64, tmp_path)
    assert same(built, kept)
    assert kept is not built


def test_a_kept_index_is_not_built_again(
    clip: MakeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = clip("mp4").path
    index_of(path, "0" * 64, tmp_path)
    monkeypatch.delattr(indexing, "build_index")
    assert index_of(path, "0" * 64, tmp_path).frames == 300


@pytest.mark.parametrize("at", [0, 40, 200, -1])
def test_a_damaged_index_is_built_again(at: int, clip: MakeClip, tmp_path: Path) -> None:
    path = clip("mkv").path
    built = index_of(path, "0" * 64, tmp_path)
    (kept,) = (tmp_path / "indexes").iterdir()
    good = kept.read_bytes()
    data = bytearray(good)
    data[at] ^= 0xFF
    kept.write_bytes(data)
    assert same(index_of(path, "0" * 64, tmp_path), built)
    assert same(index._decoded(kept.read_bytes()), built)


def test_an_index_of_another_library_is_built_again(
    clip: MakeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = clip("mkv").path
    index_of(path, "0" * 64, tmp_path)
    monkeypatch.setattr(index, "_library", lambda: [1, 2, 3])
    told: list[str] = []
    index_of(path, "0" * 64, tmp_path, lambda stage, done, total: told.append(stage))
    assert "index" in told


@pytest.mark.parametrize(
    "error", [av.FFmpegError(5, "Input/output error"), IndexError("Input/output error")]
)
def test_a_read_error_ends_the_pass_and_is_kept(
    error: Exception, clip: MakeClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = indexing._row

    def fail_after_twenty(packet: object) -> object:
        if len(seen) == 20:
            raise error
        seen.append(packet)
        return real(packet)  # type: ignore[arg-type]

    seen: list[object] = []
    monkeypatch.setattr(indexing, "_row", fail_after_twenty)
    index = build_index(clip("mp4").path)
    assert index.packets == 20
    assert index.error == "Input/output error"


def test_a_file_that_shows_no_frame_is_refused(
    clip: MakeClip, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tui.footage.footage.index_of", lambda *_: of([], []))
    with pytest.raises(FootageError, match="holds no frame that is shown"):
        Footage.open(clip("mp4").path, tmp_path)


def test_progress_of_the_index_ends_at_the_whole(clip: MakeClip, tmp_path: Path) -> None:
    told: list[tuple[str, int, int]] = []
    path = clip("mp4").path
    build_index(path, lambda *args: told.append(args))
    size = path.stat().st_size
    assert told[-1] == ("index", size, size)
    assert len(told) == 2


def test_opening_twice_gives_the_same_footage(clip: MakeClip, opened: OpenClip) -> None:
    one, two = opened(clip("mp4")), opened(clip("mp4"))
    assert (one.sha256, one.facts) == (two.sha256, two.facts)
    assert same(one.index, two.index)
    assert (one.name, one.size_bytes) == ("mp4.mp4", one.path.stat().st_size)
    assert one.time_base == one.index.time_base
