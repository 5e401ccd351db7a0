"""Fetching files out of packages, each through its registry's ordinary client.

Nothing is installed: a client downloads the archive into a passing folder, and the wanted members
are taken out of it. Which registry answers is the machine's own configuration.
"""

import importlib.util
import os
import shutil
import signal
import subprocess
import sys
import tarfile
import zipfile
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

CLIENT_SECONDS = 150
"""The longest that one run of a client may take, in seconds."""


class FootageUnavailable(Exception):
    """A package's files cannot be had on this machine; ``str(error)`` says why."""


@dataclass(frozen=True)
class Package:
    """A package: its name, with its version where the client takes one, and how to get it.

    ``download`` puts one archive into a folder and returns the archive's path.
    """

    requirement: str
    download: Callable[[str, Path], Path]


def debian(name: str, folder: Path) -> Path:
    """Download a Debian package and unwrap it to the tar archive of its files."""
    try:
        run_client(["apt-get", "download", name], folder)
    except FootageUnavailable:
        # a machine that has never fetched the package lists knows no package
        run_client(["apt-get", "update"], folder)
        run_client(["apt-get", "download", name], folder)
    package = _only_file(folder)
    archive = folder / "files.tar"
    with archive.open("wb") as output:
        run_client(["dpkg-deb", "--fsys-tarfile", str(package)], folder, output.fileno())
    return archive


def source_distribution(requirement: str, folder: Path) -> Path:
    """Download a Python package's source archive."""
    name = requirement.partition("==")[0]
    return _python_package(["--no-binary", name, requirement], folder)


def wheel(requirement: str, folder: Path) -> Path:
    """Download a Python package's wheel."""
    return _python_package(["--only-binary", ":all:", requirement], folder)


def npm(requirement: str, folder: Path) -> Path:
    """Download an npm package's archive."""
    run_client(["npm", "pack", requirement, "--silent"], folder)
    return _only_file(folder)


def _python_package(choice: list[str], folder: Path) -> Path:
    run_client([*_pip(), "download", "--quiet", "--no-deps", *choice], folder)
    return _only_file(folder)


def _pip() -> list[str]:
    """Find pip: this environment's, the machine's, or one that uv runs."""
    if importlib.util.find_spec("pip"):
        return [sys.executable, "-m", "pip"]
    if shutil.which("pip"):
        return ["pip"]
    return ["uvx", "pip"]


def run_client(command: list[str], folder: Path, output: int = subprocess.DEVNULL) -> None:
    """Run a package client in ``folder``, for at most ``CLIENT_SECONDS``.

    Raises FootageUnavailable where the client is missing, fails or takes too long.
    """
    with (folder.parent / f"{folder.name}.log").open("w+") as log:
        try:
            client = subprocess.Popen(
                command,
                cwd=folder,
                stdin=subprocess.DEVNULL,
                stdout=output,
                stderr=log,
                start_new_session=True,
            )
        except FileNotFoundError:
            raise FootageUnavailable(f"{command[0]} is not on this machine") from None
        try:
            status = client.wait(CLIENT_SECONDS)
        except subprocess.TimeoutExpired:
            # clients start children of their own; all are in the session started above
            with suppress(ProcessLookupError):
                os.killpg(client.pid, signal.SIGKILL)
            client.wait()
            told = " ".join(command)
            raise FootageUnavailable(f"{told} took over {CLIENT_SECONDS} s") from None
        if status:
            log.seek(0)
            told = " ".join([*command, "failed:", *log.read().split()[-40:]])
            raise FootageUnavailable(told)


def _only_file(folder: Path) -> Path:
    files = [entry for entry in folder.iterdir() if entry.is_file()]
    if len(files) != 1:
        raise FootageUnavailable(f"expected one archive, got {sorted(f.name for f in files)}")
    return files[0]


def take_out(archive: Path, wanted: Iterable[str], folder: Path) -> None:
    """Copy the ``wanted`` members of a tar or zip archive to the same paths under ``folder``.

    Raises FootageUnavailable where the archive lacks one.
    """
    try:
        if archive.suffix == ".whl":
            with zipfile.ZipFile(archive) as members:
                for name in wanted:
                    _place(members.read(name), folder / name)
        else:
            with tarfile.open(archive) as tar:
                _take_out_of_tar(tar, set(wanted), folder)
    except KeyError as missing:
        raise FootageUnavailable(f"{archive.name} has no {missing.args[0]}") from None


def _take_out_of_tar(tar: tarfile.TarFile, wanted: set[str], folder: Path) -> None:
    for member in tar:
        name = PurePosixPath(member.name).as_posix()
        if name in wanted and (content := tar.extractfile(member)):
            _place(content.read(), folder / name)
            wanted.discard(name)
    if wanted:
        raise KeyError(min(wanted))


def _place(content: bytes, path: Path) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    # a reader in another process sees the whole file or none
    partial = path.with_name(f".{path.name}.partial")
    partial.write_bytes(content)
    partial.replace(path)
