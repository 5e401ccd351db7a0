"""A session's file is removed, replaced or cut short under the bench: no tag is lost for it."""

import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from keymaps.keymap import Keymap
from sessions.errors import EntryRefused, SessionLost
from sessions.record.entries import Look
from sessions.record.journal import Journal
from sessions.record.recording import read_session
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource, frame_at, header, ticking
from tests.tui.reviewing import do
from tui.bench.review import Review, free_names


@pytest.fixture
def opened(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Review:
    """A review with a run, in a folder of its own; the program was started in another."""
    for name in ("reviews", "started", "home"):
        (tmp_path / name).mkdir()
    monkeypatch.chdir(tmp_path / "started")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    journal = Journal.create(tmp_path / "reviews" / "a.session.jsonl", header(), ticking())
    review = Review(journal, lambda frame: frame, frame_at)
    do(review, "run.begin", at=5)
    do(review, "in_order.grip", at=30)
    return review


def replaced(path: Path) -> None:
    path.with_name("other").write_bytes(b"another program's\n")
    path.with_name("other").replace(path)


LOSSES: dict[str, tuple[Callable[[Path], object], str, str]] = {
    "removed": (Path.unlink, "was removed", "reviews/a.session.jsonl"),
    "replaced": (replaced, "was replaced by another file", "reviews/a.session.jsonl.saved-1"),
    "cut short": (lambda p: os.truncate(p, 9), "was cut short", "reviews/a.session.jsonl.saved-1"),
    "folder removed": (
        lambda path: shutil.rmtree(path.parent), "was removed", "started/a.session.jsonl.saved-1"
    ),
}  # fmt: skip


@pytest.mark.parametrize("loss", LOSSES)
def test_a_tag_is_refused_and_one_command_saves_all_before_it(
    opened: Review, tmp_path: Path, loss: str
) -> None:
    lose, what, place = LOSSES[loss]
    lose(opened.journal.path)
    before = opened.lines
    with pytest.raises(SessionLost, match=f"{what} while it was open.*To do so: Save elsewhere"):
        do(opened, "in_order.still", at=31)
    assert opened.lines == before
    saved = tmp_path / place
    assert do(opened, "save_elsewhere") == (
        f"Every entry is saved in {saved}; the review goes on there."
    )
    assert list(read_session(saved).lines) == before
    do(opened, "in_order.still", at=31)
    assert list(read_session(saved).lines) == opened.lines
    with pytest.raises(EntryRefused, match="Every entry is saved already, in"):
        do(opened, "save_elsewhere")
    opened.journal.close()


def test_names_that_are_taken_are_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "a.jsonl"
    assert next(free_names(path)) == path
    path.touch()
    path.with_name("a.jsonl.saved-1").touch()
    assert next(free_names(path)).name == "a.jsonl.saved-2"


async def test_on_the_bench_it_is_said_with_its_key_and_done_by_it(
    opened: Review, source: PlainSource, keymap: Keymap
) -> None:
    async with on_bench(make_app(opened, source, keymap), (160, 50)) as bench:
        opened.journal.path.unlink()
        opened.go(31)
        bench.screen.changed()
        await bench.settle()
        await bench.do("in_order.still")
        assert "The entry was not saved: the session file" in bench.message
        await bench.do("save_elsewhere")
        assert "Every entry is saved in" in bench.message
        await bench.do("in_order.still")
        assert "in order at frame 31" in bench.message
    looks = [line.entry for line in opened.lines if isinstance(line.entry, Look)]
    assert [look.by.frame for look in looks] == [30, 31]
    assert list(read_session(opened.journal.path).lines) == opened.lines
    opened.journal.close()
