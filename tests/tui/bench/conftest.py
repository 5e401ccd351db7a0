"""A review with a run to tag, and an application for the tests of the screen."""

import pytest

from keymaps.keymap import Keymap
from tests.tui.benching import make_app
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do
from tests.tui.screenshots import bare_screens
from tui.app import FramecallApp
from tui.bench.review import Review

__all__ = ["bare_screens"]


@pytest.fixture
def opened(review: Review) -> Review:
    """A review with run 1 opened at frame 5."""
    do(review, "run.begin", at=5)
    return review


@pytest.fixture
def app(review: Review, source: PlainSource, keymap: Keymap) -> FramecallApp:
    return make_app(review, source, keymap)
