"""Fetching: every way in which it can fail ends in a sentence, and nothing wrong is kept."""

import hashlib
import tarfile
import time
from pathlib import Path

import pytest

from tests.real_footage import packages
from tests.real_footage.cache import FootageCache, Sample
from tests.real_footage.conftest import REQUIRED, files_or_skip
from tests.real_footage.packages import (
    FootageUnavailable,
    Package,
    debian,
    npm,
    run_client,
    source_distribution,
)


class Shelf:
    """A registry on this machine, with one package of two files; counts its downloads."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.downloads = 0
        self.package = Package("shelf", self.download)

    def download(self, requirement: str, folder: Path) -> Path:
        self.downloads += 1
        archive = folder / "archive.tar"
        with tarfile.open(archive, "w") as tar:
            for name in ("a", "b", "unwanted"):
                file = self.folder / name
                file.write_text(f"content of {name}")
                tar.add(file, f"./clips/{name}")
        return archive

    def sample(self, *names: str) -> Sample:
        content = "".join(f"content of {name}" for name in names)
        paths = tuple(f"clips/{name}" for name in names)
        return Sample(self.package, paths, hashlib.sha256(content.encode()).hexdigest())


@pytest.fixture
def shelf(tmp_path: Path) -> Shelf:
    (tmp_path / "shelf").mkdir()
    return Shelf(tmp_path / "shelf")


def test_one_download_serves_every_sample_of_a_package(shelf: Shelf, tmp_path: Path) -> None:
    samples = [shelf.sample("a"), shelf.sample("a", "b")]
    cache = FootageCache(tmp_path / "cache", samples)
    for sample in samples:
        assert [file.name for file in cache.files(sample)] == [Path(p).name for p in sample.paths]
    assert FootageCache(tmp_path / "cache", samples).files(samples[1])[0].read_text() == (
        "content of a"
    )
    assert shelf.downloads == 1
    assert not list((tmp_path / "cache").rglob("unwanted"))


def test_a_file_that_changed_on_disk_is_fetched_again(shelf: Shelf, tmp_path: Path) -> None:
    cache = FootageCache(tmp_path / "cache", [shelf.sample("a")])
    (file,) = cache.files(shelf.sample("a"))
    file.write_text("something else")
    cache.files(shelf.sample("a"))
    assert file.read_text() == "content of a"
    assert shelf.downloads == 2


def test_a_package_with_other_content_is_refused(shelf: Shelf, tmp_path: Path) -> None:
    sample = Sample(shelf.package, ("clips/a",), "0" * 64)
    with pytest.raises(FootageUnavailable, match="clips/a of shelf is not the file"):
        FootageCache(tmp_path / "cache", [sample]).files(sample)


def test_a_package_without_the_file_is_refused_once(shelf: Shelf, tmp_path: Path) -> None:
    sample = Sample(shelf.package, ("clips/c",), "0" * 64)
    cache = FootageCache(tmp_path / "cache", [sample])
    for _ in range(2):
        with pytest.raises(FootageUnavailable, match="has no clips/c"):
            cache.files(sample)
    assert shelf.downloads == 1


@pytest.mark.parametrize(
    ("package", "client"),
    [
        (Package("some-package", debian), "apt-get"),
        (Package("some-package", npm), "npm"),
        (Package("some-package", source_distribution), "uvx"),
    ],
)
def test_a_machine_without_the_client_is_told_so(
    package: Package, client: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None)
    sample = Sample(package, ("clips/a",), "0" * 64)
    with pytest.raises(FootageUnavailable, match=f"{client} is not on this machine"):
        FootageCache(tmp_path / "cache", [sample]).files(sample)


def test_a_client_that_fails_is_quoted(tmp_path: Path) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    with pytest.raises(FootageUnavailable, match="failed: no such package"):
        run_client(["/bin/sh", "-c", "echo no such package >&2; exit 3"], folder)


def test_a_client_that_hangs_is_ended_with_its_children(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "folder"
    folder.mkdir()
    monkeypatch.setattr(packages, "CLIENT_SECONDS", 0.3)
    with pytest.raises(FootageUnavailable, match=r"took over 0\.3 s"):
        run_client(["/bin/sh", "-c", "sleep 60 & echo $! > child; wait"], folder)
    child = int((folder / "child").read_text())
    end = time.monotonic() + 10
    while _runs(child):
        assert time.monotonic() < end, "the client's child still runs"
        time.sleep(0.01)


def _runs(process: int) -> bool:
    """A process that ended but was not waited for yet does not run."""
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


@pytest.mark.parametrize(
    ("required", "outcome"),
    [("1", pytest.fail.Exception), ("0", pytest.skip.Exception), ("", pytest.skip.Exception)],
)
def test_missing_footage_skips_a_test_unless_it_is_required(
    required: str,
    outcome: type[BaseException],
    shelf: Shelf,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv(REQUIRED, required)
    sample = Sample(shelf.package, ("clips/c",), "0" * 64)
    cache = FootageCache(tmp_path / "cache", [sample])
    with pytest.raises(outcome, match=r"no real footage: .* has no clips/c"):
        files_or_skip(cache, sample)
