"""A review with a run to tag, and an application for the tests of the screen."""

import re

import pytest
import pytest_textual_snapshot

from keymaps.keymap import Keymap
from tests.tui.benching import make_app
from tests.tui.conftest import PlainSource
from tests.tui.reviewing import do
from tui.app import FramecallApp
from tui.bench.review import Review


@pytest.fixture
def opened(review: Review) -> Review:
    """A review with run 1 opened at frame 5."""
    do(review, "run.begin", at=5)
    return review


@pytest.fixture
def app(review: Review, source: PlainSource, keymap: Keymap) -> FramecallApp:
    return make_app(review, source, keymap)


@pytest.fixture
def no_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the fonts that a screenshot would fetch out of the snapshots."""
    normal = pytest_textual_snapshot.normalize_svg

    def fontless(svg: str) -> str:
        return re.sub(r"@font-face \{.*?\}\s*", "", normal(svg), flags=re.DOTALL)

    monkeypatch.setattr(pytest_textual_snapshot, "normalize_svg", fontless)
