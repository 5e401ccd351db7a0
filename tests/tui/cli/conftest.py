"""The command line called in this process, with footage of its own."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.tui.conftest import CLIP_FRAMES
from tests.tui.reviewing import do, run_in_order, watch
from tui.__main__ import main
from tui.bench.review import Review

__all__ = ["CLIP_FRAMES"]


@dataclass(frozen=True)
class Result:
    """What a call of the program came to."""

    code: int
    out: str
    err: str

    def sentence(self) -> str:
        """The one sentence of a refusal; asserts that there is no more than that."""
        assert self.code == 2
        assert self.out == ""
        assert "Traceback" not in self.err
        assert self.err.startswith("framecall: ")
        assert self.err.count("\n") == 1
        assert self.err.rstrip().endswith((".", "?"))
        return self.err.removeprefix("framecall: ").rstrip()


Call = Callable[..., Result]


@pytest.fixture
def framecall(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, cache: Path, tmp_path: Path
) -> Call:
    """Calls the program with arguments."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(cache))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "no-config"))
    for variable in ("FRAMECALL_KEYS", "FRAMECALL_REVIEWER"):
        monkeypatch.delenv(variable, raising=False)

    def call(*arguments: str | Path) -> Result:
        capsys.readouterr()
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Result(code, out, err)

    return call


@pytest.fixture
def footage(clip: Path, tmp_path: Path) -> Path:
    """A copy of the clip in a folder of its own, where sessions may be begun beside it."""
    return Path(shutil.copy(clip, tmp_path / "invented.mp4"))


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the program believe that it runs in a terminal that is large enough."""
    monkeypatch.setattr("tui.cli.start.check_terminal", lambda: None)


@pytest.fixture
def ruled(review: Review) -> Path:
    """A session whose ruling is made: one run, which stands, in footage that was watched."""
    run_in_order(review, 0)
    do(review, "cup.all_seen")
    watch(review)
    review.flush_seen()
    return review.journal.path


@pytest.fixture
def still_open(review: Review) -> Path:
    """A session whose ruling is still open: the cups were not looked at."""
    run_in_order(review, 0)
    return review.journal.path
