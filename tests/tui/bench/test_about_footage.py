"""The bench says what was found in the footage: as it opens, on a page, and on a frame."""

from pathlib import Path

import pytest

from keymaps.keymap import load_keymap
from tests.tui.benching import make_app, on_bench
from tests.tui.conftest import PlainSource
from tests.tui.footage import clips, hard
from tui.bench.opening import ReviewWish, open_review
from tui.footage.footage import Footage
from tui.widgets.dialogs import PageScreen

WIDE = (160, 50)


@pytest.fixture
def joined(tmp_path: Path) -> Footage:
    """Two recordings of twenty frames each in one file."""
    source = clips.write(tmp_path / "a.mkv", range(20), options=clips.h264(10, 0)).path
    return Footage.open(hard.joined(tmp_path / "joined.mkv", source, source), tmp_path / "cache")


async def test_the_bench_tells_of_its_footage(joined: Footage, tmp_path: Path) -> None:
    review = open_review(ReviewWish(joined.path, tmp_path / "s.jsonl", "3-3-3"), joined)
    assert review.session.header.footage.joints == (20,)
    app = make_app(review, PlainSource(), load_keymap(None), footage=joined)
    async with on_bench(app, WIDE) as bench:
        assert "look with care at: joints" in bench.text
        assert "F10: more" in bench.text
        await bench.do("about")
        assert isinstance(app.screen, PageScreen)
        assert "another begins at frame 20" in bench.text
        await bench.pilot.press("escape")
        review.go(19)
        bench.screen.changed()
        await bench.pilot.pause()
        assert "ANOTHER RECORDING" not in bench.text
        await bench.do("step.forward")
        assert "ANOTHER RECORDING BEGINS HERE" in bench.text
    review.journal.close()


async def test_a_bench_that_knows_no_footage_says_so(joined: Footage, tmp_path: Path) -> None:
    review = open_review(ReviewWish(joined.path, tmp_path / "s.jsonl", "3-3-3"), joined)
    async with on_bench(make_app(review, PlainSource(), load_keymap(None)), WIDE) as bench:
        await bench.do("about")
        assert "Nothing is known of this footage here." in bench.text
    review.journal.close()
