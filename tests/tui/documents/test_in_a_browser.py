"""The page as a browser shows and prints it: a Chromium that the caller names.

No package of the registries carries a browser, and one that happens to be installed may be any.
"""

import os
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.tui.documents.test_page import full_page

BROWSER = os.environ.get("FRAMECALL_TEST_BROWSER")
pytestmark = [
    pytest.mark.proof,
    pytest.mark.skipif(BROWSER is None, reason="FRAMECALL_TEST_BROWSER names no Chromium to use"),
]


def browse(page: Path, *options: str) -> None:
    assert BROWSER is not None
    command = [
        BROWSER, "--headless", "--no-sandbox", "--disable-gpu", "--hide-scrollbars",
        f"--user-data-dir={page.parent / 'profile'}", *options, page.as_uri(),
    ]  # fmt: skip
    subprocess.run(command, check=True, capture_output=True, timeout=120)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("browser") / "ruling.html"
    path.write_text(full_page(), encoding="utf-8")
    return path


@pytest.mark.parametrize("width", [480, 1100])
def test_the_page_is_not_blank_and_shows_its_stills(page: Path, width: int) -> None:
    shot = page.with_name(f"{width}.png")
    browse(page, f"--window-size={width},2400", f"--screenshot={shot}")
    pixels = np.asarray(Image.open(shot).convert("RGB"), np.int16)
    assert pixels.shape == (2400, width, 3)
    assert (pixels.sum(axis=2) < 150).mean() > 0.005  # black words on white
    yellow = (pixels[..., 0] > 200) & (pixels[..., 2] < 90)
    assert yellow.sum() > 100  # the moving square of the stills


def test_the_page_prints_on_several_sheets_of_paper(page: Path) -> None:
    printed = page.with_name("ruling.pdf")
    browse(page, "--no-pdf-header-footer", f"--print-to-pdf={printed}")
    sheets = len(re.findall(rb"/Type\s*/Page\b(?!s)", printed.read_bytes()))
    assert 4 <= sheets <= 20
