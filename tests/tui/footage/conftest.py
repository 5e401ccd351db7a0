"""Fixtures: clips made once a session, and footage opened from them."""

import os
from collections.abc import Callable
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest

from tests.sharing import shared
from tests.tui.footage import clips
from tests.tui.footage.clips import Clip
from tui.footage.footage import Footage

os.environ.setdefault("SVT_LOG", "1")  # the AV1 encoder would write to the terminal

MakeClip = Callable[[str], Clip]
OpenClip = Callable[[Clip], Footage]


@pytest.fixture(scope="session")
def clip(tmp_path_factory: pytest.TempPathFactory) -> MakeClip:
    """The healthy clip of a name, or an odd one made from it."""

    @cache
    def make(name: str) -> Clip:
        def of_that_name(folder: Path) -> Clip:
            return odd(name, folder, make) if name in ODD else clips.healthy(name, folder)

        return shared(tmp_path_factory, name.replace(" ", "-").replace("/", "-"), of_that_name)

    return make


@pytest.fixture
def opened(tmp_path: Path) -> OpenClip:
    """Open a clip with a cache folder of its own."""
    return lambda made: Footage.open(made.path, tmp_path / "cache")


ODD = ("edit list", "sound longer than picture", "repeated pictures")


def odd(name: str, folder: Path, make: MakeClip) -> Clip:
    """A healthy clip that is made from another, or of other pictures."""
    path = folder / f"{name.replace(' ', '-')}.mp4"
    if name == "edit list":
        return clips.trim_by_edit_list(make("mp4"), path, hidden=37)
    if name == "sound longer than picture":
        return clips.with_sound(make("mp4"), path, seconds=8)
    return clips.write(path, clips.repeated(120), options=clips.h264())


HEALTHY = (*clips.HEALTHY, *ODD)
"""Names of the clips of which every frame must come out, and right."""

START = {".ts": Fraction(1), ".mpg": Fraction(31, 60)}
"""When the first frame is shown, in seconds, where a container adds to the times it was given."""
