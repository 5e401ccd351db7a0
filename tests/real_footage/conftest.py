"""Fixtures that bring real footage, or skip the test that asks for what cannot be had."""

import os
from collections.abc import Callable, Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np
import platformdirs
import pytest
from PIL import Image

from tests.real_footage.cache import FootageCache, Sample
from tests.real_footage.clips import CUBE_IMAGES, SAMPLES, CarriedClip
from tests.real_footage.encoding import Grey, Recording, record
from tests.real_footage.packages import FootageUnavailable
from tui.footage.footage import Footage

CACHE_FOLDER = "FRAMECALL_TEST_CACHE"
"""Environment variable: the folder to keep fetched footage in."""

REQUIRED = "FRAMECALL_REQUIRE_FOOTAGE"
"""Environment variable: at 1, a test whose footage cannot be had fails; otherwise it is skipped."""


@pytest.fixture(scope="session")
def footage_cache() -> FootageCache:
    """The folder of fetched footage, shared by all runs."""
    folder = os.environ.get(CACHE_FOLDER) or platformdirs.user_cache_dir("framecall-tests")
    return FootageCache(Path(folder), SAMPLES)


@pytest.fixture(scope="session")
def carried_clip(footage_cache: FootageCache) -> Callable[[CarriedClip], Path]:
    """Return the path of a clip's file, fetched when need be."""

    def path_of(clip: CarriedClip) -> Path:
        (path,) = files_or_skip(footage_cache, clip.sample)
        return path

    return path_of


@pytest.fixture(scope="session")
def visp_cube_images(footage_cache: FootageCache) -> list[Grey]:
    """218 grey pictures, (480, 640): a real hand, a cube and a cylinder on a table.

    Pictures 0 and 1 are the same; the fingertips enter the picture at 25, by eye.
    """
    return [np.asarray(Image.open(path)) for path in files_or_skip(footage_cache, CUBE_IMAGES)]


@pytest.fixture(scope="session")
def recorded(
    tmp_path_factory: pytest.TempPathFactory,
) -> Callable[[Sequence[Grey], Recording], Path]:
    """Return the path of the pictures written as a recording says; once for each recording."""
    folder = tmp_path_factory.mktemp("recordings")

    def path_of(pictures: Sequence[Grey], recording: Recording) -> Path:
        path = folder / f"{recording.name}{recording.suffix}"
        if not path.exists():
            record(pictures, recording, path)
        return path

    return path_of


@pytest.fixture(scope="session")
def visp_cube_clip(
    visp_cube_images: list[Grey], recorded: Callable[[Sequence[Grey], Recording], Path]
) -> Path:
    """All the cube pictures as an H.264 MP4 at 30000/1001 frames a second; frame n is picture n.

    The rate is this project's choice: the pictures carry no times.
    """
    return recorded(visp_cube_images, Recording("cube", time_base=Fraction(1001, 30000)))


@pytest.fixture(scope="session")
def open_footage(tmp_path_factory: pytest.TempPathFactory) -> Callable[..., Footage]:
    """Open a file with this run's own folder for indexes, so that none is left behind."""
    folder = tmp_path_factory.mktemp("indexes")
    return lambda path, **options: Footage.open(path, cache_dir=folder, **options)


def files_or_skip(cache: FootageCache, sample: Sample) -> list[Path]:
    """Return the sample's files; skip, or fail where footage is required, without them."""
    try:
        return cache.files(sample)
    except FootageUnavailable as refusal:
        reason = f"no real footage: {refusal}"
        if os.environ.get(REQUIRED) == "1":
            pytest.fail(reason)
        pytest.skip(reason)
