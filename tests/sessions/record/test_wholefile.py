"""Files written whole: as before or as after, with their rights, and nothing left behind."""

import errno
import fcntl
import os
import stat
from pathlib import Path

import pytest

from sessions.record.wholefile import PART, Part, sweep, write_whole
from tests.sessions.record.failing_disk import failing_at


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


@pytest.fixture
def for_the_group() -> object:
    before = os.umask(0o002)
    yield
    os.umask(before)


def test_a_new_file_has_the_rights_that_the_umask_leaves(
    tmp_path: Path, for_the_group: object
) -> None:
    write_whole(tmp_path / "new", b"one")
    assert mode_of(tmp_path / "new") == 0o664


def test_a_file_that_is_replaced_keeps_its_rights(tmp_path: Path, for_the_group: object) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"one")
    path.chmod(0o640)
    write_whole(path, b"two")
    assert (path.read_bytes(), mode_of(path)) == (b"two", 0o640)


def test_a_link_stays_one_and_what_it_names_is_written(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path / "file")
    write_whole(tmp_path / "link", b"one")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "file").read_bytes() == b"one"


@pytest.mark.parametrize("number", range(2))
def test_a_disk_that_fails_leaves_the_old_file_and_nothing_beside_it(
    tmp_path: Path, number: int
) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"one")
    with failing_at(number, lasting=True, partly=True), pytest.raises(OSError, match="error"):
        write_whole(path, b"two")
    assert path.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [path]


def left_behind(folder: Path) -> Path:
    """A file that a program began to write, and was killed."""
    part = Part(folder)
    part.write(b"half")
    os.close(part.handle)
    assert PART.fullmatch(part.path.name)
    return part.path


def test_what_a_killed_program_left_is_swept_and_what_is_being_written_is_not(
    tmp_path: Path,
) -> None:
    left, other = left_behind(tmp_path), tmp_path / ".note.part"
    other.write_bytes(b"not ours")
    with Part(tmp_path) as part:
        sweep(tmp_path)
        assert part.path.exists()
        part.write(b"whole")
        part.replace(tmp_path / "file")
    assert not left.exists()
    assert sorted(path.name for path in tmp_path.iterdir()) == [".note.part", "file"]
    sweep(tmp_path / "nowhere")


def test_a_name_that_is_taken_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"one")
    with Part(tmp_path) as part, pytest.raises(FileExistsError):
        part.name(tmp_path / "file")
    assert (tmp_path / "file").read_bytes() == b"one"


@pytest.mark.parametrize("taken", [False, True])
def test_where_files_have_one_name_alone_a_free_name_is_given_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, taken: bool
) -> None:
    def no_links(*_: object) -> None:
        raise OSError(errno.EPERM, os.strerror(errno.EPERM))

    monkeypatch.setattr(os, "link", no_links)
    path = tmp_path / "file"
    if taken:
        path.write_bytes(b"one")
    with Part(tmp_path) as part:
        part.write(b"two")
        if taken:
            with pytest.raises(FileExistsError):
                part.name(path)
        else:
            part.name(path)
    assert path.read_bytes() == (b"one" if taken else b"two")
    assert list(tmp_path.iterdir()) == [path]


def test_a_part_that_is_swept_before_it_is_locked_is_begun_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    flock = fcntl.flock
    swept: list[str] = []

    def after_a_sweep(handle: int, operation: int) -> None:
        if not swept:
            swept.extend(path.name for path in tmp_path.iterdir())
            for path in tmp_path.iterdir():
                path.unlink()
        flock(handle, operation)

    monkeypatch.setattr(fcntl, "flock", after_a_sweep)
    with Part(tmp_path) as part:
        part.write(b"one")
        part.replace(tmp_path / "file")
    assert len(swept) == 1
    assert (tmp_path / "file").read_bytes() == b"one"


def test_a_file_that_is_replaced_stays_its_group_s(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a"
    path.touch()
    path.chmod(0o664)
    given: list[tuple[int, int]] = []
    monkeypatch.setattr(os, "fchown", lambda handle, user, group: given.append((user, group)))
    write_whole(path, b"1")
    assert given == [(-1, path.stat().st_gid)]

    def refuse(handle: int, user: int, group: int) -> None:
        raise PermissionError

    monkeypatch.setattr(os, "fchown", refuse)  # a group that one is not in cannot be given
    write_whole(path, b"2")
    assert path.read_bytes() == b"2"
    assert path.stat().st_mode & 0o777 == 0o664


def test_a_part_may_be_closed_twice(tmp_path: Path) -> None:
    part = Part(tmp_path)
    part.close()
    part.close()
    assert list(tmp_path.iterdir()) == []
