"""Screenshots without what is none of the program's: a desktop's window, and fonts to fetch.

The library draws both around every screenshot. The snapshots and the picture of the readme go
through the same function.
"""

import re

import pytest
import pytest_textual_snapshot

BAR = 34
"""Units of the picture that the window's title takes at the top."""


def without_window(svg: str) -> str:
    """A screenshot without the title and the buttons of a window around it."""
    bare = re.sub(r"<text [^>]*-title\"[^>]*>.*?</text>", "", svg)
    bare = re.sub(r"<g[^>]*>\s*(<circle [^>]*/>\s*)+</g>", "", bare)
    return re.sub(r'viewBox="0 0 (\S+) (\S+)"', _below_the_bar, bare, count=1)


def _below_the_bar(box: re.Match[str]) -> str:
    return f'viewBox="0 {BAR} {box[1]} {float(box[2]) - BAR}"'


@pytest.fixture
def bare_screens(monkeypatch: pytest.MonkeyPatch) -> None:
    """Snapshots of the screen alone, without the fonts that a screenshot would fetch."""
    normal = pytest_textual_snapshot.normalize_svg

    def bare(svg: str) -> str:
        fontless = re.sub(r"@font-face \{.*?\}\s*", "", normal(svg), flags=re.DOTALL)
        return without_window(fontless)

    monkeypatch.setattr(pytest_textual_snapshot, "normalize_svg", bare)
