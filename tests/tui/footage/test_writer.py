"""What is written is what is read again, and a file appears only when it is complete."""

import os
from pathlib import Path

import numpy as np
import pytest

from tests.tui.footage.clips import Clip, picture, read_number, write
from tests.tui.footage.conftest import OpenClip
from tui.footage.reader import FrameStore
from tui.footage.writer import VideoWriter


def test_pictures_come_back_with_their_times(tmp_path: Path, opened: OpenClip) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, (320, 180), 50) as writer:
        for number, pts in ((7, 0), (8, 1), (9, 5)):
            writer.write(picture(number), pts)
        writer.write(picture(10))
        assert not path.exists()
    assert [p.name for p in tmp_path.iterdir()] == ["a.mp4"]
    footage = opened(Clip(path, (), ()))
    assert [footage.time(n) * 50 for n in range(4)] == [0, 1, 5, 6]
    store = FrameStore(footage, (320, 180))
    assert [read_number(store.get(n).pixels) for n in range(4)] == [7, 8, 9, 10]
    store.close()


def test_b_frames_are_used(tmp_path: Path, opened: OpenClip) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, (320, 180), 50) as writer:
        for number in range(20):
            writer.write(picture(number))
    order = opened(Clip(path, (), ())).index.packet_of.tolist()
    assert order != sorted(order)


def test_leaving_by_an_error_leaves_no_file(tmp_path: Path) -> None:
    writer = VideoWriter(tmp_path / "a.mp4", (64, 32), 50)
    writer.write(np.zeros((32, 64, 3), np.uint8))
    with pytest.raises(KeyboardInterrupt), writer:
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("size", [(63, 32), (64, 31)])
def test_an_odd_size_is_refused(size: tuple[int, int], tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="even width and height"):
        VideoWriter(tmp_path / "a.mp4", size, 50)


def test_pixels_of_another_shape_are_refused(tmp_path: Path) -> None:
    with (
        pytest.raises(ValueError, match="expected pixels of shape"),
        VideoWriter(tmp_path / "a.mp4", (64, 32), 50) as writer,
    ):
        writer.write(np.zeros((64, 32, 3), np.uint8))


def test_an_untagged_file_is_read_by_its_height(tmp_path: Path, opened: OpenClip) -> None:
    path = tmp_path / "a.mp4"
    with VideoWriter(path, (64, 32), 50, matrix=None) as writer:
        writer.write(np.full((32, 64, 3), (255, 0, 0), np.uint8))
    footage = opened(Clip(path, (), ()))
    assert (footage.facts.matrix, footage.facts.matrix_assumed) == ("BT.601", True)
    store = FrameStore(footage, (64, 32))
    red = store.full(0).pixels[16, 32]
    store.close()
    assert red[0] > 245
    assert max(red[1], red[2]) < 10


def test_writing_test_clips_leaves_the_process_as_urgent_as_it_was(tmp_path: Path) -> None:
    before = os.sched_getscheduler(0)
    write(tmp_path / "a.mp4", range(3), codec="libsvtav1", options={"preset": "12"})
    assert os.sched_getscheduler(0) == before
