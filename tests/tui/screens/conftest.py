"""An application for the tests of the screens."""

import re

import pytest
import pytest_textual_snapshot

from keymaps.keymap import Keymap
from tests.tui.benching import make_app
from tests.tui.conftest import PlainSource
from tui.app import FramecallApp
from tui.review.desk import Desk


@pytest.fixture
def app(desk: Desk, source: PlainSource, keymap: Keymap) -> FramecallApp:
    return make_app(desk, source, keymap)


@pytest.fixture
def no_fonts(monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep the fonts that a screenshot would fetch out of the snapshots."""
    normal = pytest_textual_snapshot.normalize_svg

    def fontless(svg: str) -> str:
        return re.sub(r"@font-face \{.*?\}\s*", "", normal(svg), flags=re.DOTALL)

    monkeypatch.setattr(pytest_textual_snapshot, "normalize_svg", fontless)
