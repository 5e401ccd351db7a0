"""The manifest of a folder of clips: what each was built from, so that nothing is built twice."""

import hashlib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError

from sessions.frozen import Frozen
from tui.demo.score import Score

NAME = "framecall-demo.json"


class Built(Frozen):
    """One clip as built: the digest of what it was built from, and its size in bytes."""

    digest: str
    size_bytes: int = Field(ge=0)


class Manifest(Frozen):
    """All clips that were built in a folder, by name."""

    format: Literal["framecall-demo"] = "framecall-demo"
    version: Literal[1] = 1
    clips: dict[str, Built] = Field(default_factory=dict)

    def holds(self, folder: Path, name: str, digest: str) -> bool:
        """Whether a clip in the folder is still what would be built."""
        built = self.clips.get(name)
        clip = clip_path(folder, name)
        return (
            built is not None
            and built.digest == digest
            and clip.is_file()
            and clip.stat().st_size == built.size_bytes
            and truth_path(folder, name).is_file()
        )

    def with_clips(self, clips: Mapping[str, Built]) -> "Manifest":
        """The manifest with some clips added or replaced."""
        return Manifest(clips={**self.clips, **clips})


def clip_path(folder: Path, name: str) -> Path:
    """Where a clip lies in a folder."""
    return folder / f"{name}.mp4"


def truth_path(folder: Path, name: str) -> Path:
    """Where the truth of a clip lies: beside it."""
    return folder / f"{name}.truth.json"


def read_manifest(folder: Path) -> Manifest:
    """The manifest of a folder; an empty one where there is none, or none that can be read."""
    try:
        return Manifest.model_validate_json((folder / NAME).read_bytes())
    except (OSError, ValidationError):
        return Manifest()


def digest_of(score: Score, scale: float) -> str:
    """SHA-256 of all that a clip is built from: its score, its scale and the drawing code."""
    text = f"{score.model_dump_json()} {scale} {_code()}"
    return hashlib.sha256(text.encode()).hexdigest()


@cache
def _code() -> str:
    """SHA-256 of this package's own modules: when the drawing changes, so does every clip."""
    hashed = hashlib.sha256()
    files = [f for f in resources.files("tui.demo").iterdir() if f.name.endswith(".py")]
    for file in sorted(files, key=lambda f: f.name):
        hashed.update(file.read_bytes())
    return hashed.hexdigest()
