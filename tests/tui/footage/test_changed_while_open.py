"""Footage whose file is written over, removed or replaced while it is open."""

from pathlib import Path

import pytest
from av.video.frame import VideoFrame

from sessions.errors import FootageError
from tests.tui.footage import clips
from tests.tui.footage.clips import read_number
from tests.tui.footage.conftest import OpenClip
from tui.footage.cache import FileIdentity
from tui.footage.packets import PacketSource
from tui.footage.reader import FrameStore


def test_footage_that_is_written_over_gives_no_picture_of_the_other(
    tmp_path: Path, opened: OpenClip
) -> None:
    """Raw pictures are all of one size, so that no decoder notices that they are others."""
    one = clips.write(tmp_path / "a.avi", range(200), codec="rawvideo", options={})
    other = clips.write(tmp_path / "b.avi", range(50, 250), codec="rawvideo", options={})
    frames = FrameStore(opened(one), (160, 160), bound_mb=1)
    try:
        assert read_number(frames.get(3).pixels) == 3
        with one.path.open("r+b") as file:
            file.write(other.path.read_bytes())
        with pytest.raises(FootageError, match="has changed since it was opened"):
            frames.get(199)
        assert "has changed since it was opened" in (frames.failure or "")
    finally:
        frames.close()


def test_footage_that_is_replaced_is_not_opened_anew_where_a_seek_needs_that(
    tmp_path: Path, opened: OpenClip, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Pictures of the other clip lie at the very places of those that were asked for."""
    one = clips.write(tmp_path / "a.avi", range(200), codec="rawvideo", options={})
    other = clips.write(tmp_path / "b.avi", range(50, 250), codec="rawvideo", options={})
    decoder = opened(one).decoder()
    other.path.replace(one.path)
    came: dict[int, VideoFrame] = {}
    decoder.fetch(3, came.__setitem__)  # the file that it has open is still the first
    monkeypatch.setattr(PacketSource, "_landings", lambda self, start: iter(()))
    with pytest.raises(FootageError, match="has changed since it was opened"):
        decoder.fetch(150, came.__setitem__)
    assert list(came) == [3]
    decoder.close()


def test_footage_that_was_removed_cannot_be_opened_anew(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"as it was")
    identity = FileIdentity.of(path)
    path.unlink()
    with pytest.raises(FootageError, match="cannot be reached any more"):
        identity.check(path)


def test_only_the_file_itself_is_overwritten_not_its_name(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"as it was")
    identity = FileIdentity.of(path)
    assert not identity.is_overwritten
    path.rename(tmp_path / "in_order.mp4")
    assert not identity.is_overwritten
    path.write_bytes(b"another file of its name")
    assert not identity.is_overwritten
    (tmp_path / "in_order.mp4").replace(path)
    with path.open("ab") as file:
        file.write(b"!")
    assert identity.is_overwritten
