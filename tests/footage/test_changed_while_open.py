"""Footage whose file is written over, removed or replaced while it is open."""

from pathlib import Path

import pytest

from sessions.errors import FootageError
from tests.footage import clips
from tests.footage.clips import read_number
from tests.footage.conftest import OpenClip
from tui.footage.fingerprint import FileIdentity
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


def test_only_the_file_itself_is_overwritten_not_its_name(tmp_path: Path) -> None:
    path = tmp_path / "a.mp4"
    path.write_bytes(b"as it was")
    identity = FileIdentity.of(path)
    assert not identity.is_overwritten
    path.rename(tmp_path / "kept.mp4")
    assert not identity.is_overwritten
    path.write_bytes(b"another file of its name")
    assert not identity.is_overwritten
    (tmp_path / "kept.mp4").replace(path)
    with path.open("ab") as file:
        file.write(b"!")
    assert identity.is_overwritten
