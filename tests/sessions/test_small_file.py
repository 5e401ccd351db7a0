"""Files that people write: pipes, folders and endless files are refused at once."""

import errno
import os
from pathlib import Path

import pytest

from sessions.small_file import read_small


def test_a_file_is_read_whole(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"12345")
    assert read_small(path, 5) == b"12345"


def test_a_pipe_that_nobody_writes_to_is_refused_at_once(tmp_path: Path) -> None:
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(OSError, match="it is not a regular file"):
        read_small(path)


def test_a_folder_a_device_and_a_missing_file_are_refused(tmp_path: Path) -> None:
    with pytest.raises(IsADirectoryError):
        read_small(tmp_path)
    with pytest.raises(OSError, match="it is not a regular file"):
        read_small(Path("/dev/zero"))
    with pytest.raises(FileNotFoundError):
        read_small(tmp_path / "none")


def test_a_file_that_is_too_long_says_how_long_it_may_be(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"123456")
    with pytest.raises(OSError, match=r"it is longer than 5e-06 MB") as caught:
        read_small(path, 5)
    assert caught.value.errno == errno.EFBIG
