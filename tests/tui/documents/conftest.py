"""An invented clip, small, with the session that tags its truth."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from sessions.record.entries import Entry
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.sharing import shared
from tui.cli.demo import tag
from tui.demo.build import build

CLIP = "wrist-start"
"""Its claimed run, attempt 1, is a scratch by ``start.flat``; attempt 2 stands."""


@dataclass(frozen=True)
class Case:
    """A folder with footage and its session, to issue from into ``out``."""

    session: Path
    footage: Path
    out: Path

    def rewrite(
        self, change: Callable[[Entry], Entry | None] = lambda entry: entry, **header: Any
    ) -> None:
        """Write the session anew: each entry changed, or left out for None, and the header."""
        recording = read_session(self.session)
        self.session.unlink()
        first = recording.header.model_copy(update={"seal": None, **header})
        with Journal.create(self.session, first) as journal:
            for line in recording.lines:
                if (entry := change(line.entry)) is not None:
                    journal.append(entry)

    def add(self, *entries: Entry) -> None:
        """Go on with the session."""
        with Journal.reopen(self.session) as journal:
            for entry in entries:
                journal.append(entry)


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The clip's path; built once."""

    def make(folder: Path) -> Path:
        (clip,) = build(folder, [CLIP], workers=1, scale=0.25)
        return clip

    return shared(tmp_path_factory, CLIP, make)


@pytest.fixture
def case(built: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Case:
    """A copy of the clip with a session of its own."""
    monkeypatch.setenv("FRAMECALL_CACHE", str(tmp_path / "cache"))
    folder = tmp_path / "claim"
    shutil.copytree(built.parent, folder)
    footage = folder / built.name
    return Case(tag(footage), footage, tmp_path / "out")
