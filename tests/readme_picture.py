"""Draw the picture of the readme from the screen as it is: ``python -m tests.readme_picture``.

The demo's clip "early-rise" is tagged by its truth up to the fault that it is named after, and
opened on the bench.
"""

import asyncio
import dataclasses
import sys
import tempfile
from contextlib import closing
from pathlib import Path

from textual.pilot import Pilot

from keymaps.keymap import load_keymap
from sessions.record.entries import Look, Shown
from sessions.record.journal import Journal
from tests.docs import MANUAL
from tests.tui.screenshots import without_window
from tui.app import FramecallApp
from tui.bench.opening import SMALL, ReviewWish, new_header, open_review
from tui.bench.review import Review
from tui.bench.screen import BenchScreen
from tui.demo.build import build, truth_path
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth
from tui.footage.cache import cache_folder
from tui.footage.footage import Footage
from tui.footage.reader import FrameStore
from tui.picture.choice import choose
from tui.picture.lens import Lens
from tui.picture.terminal import read_replies
from tui.widgets.pictures import DeltaPictures

PICTURE = MANUAL / "bench.svg"
CLIP = "early-rise"
SIZE = (132, 41)
"""Columns and rows of the terminal in the picture."""

COLOURS = {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LANG": "C.UTF-8"}


def main() -> None:
    """Write the picture; the clip is drawn first, unless it is in the cache folder."""
    (clip,) = build(cache_folder() / "demo", [CLIP])
    footage = Footage.open(clip)
    with tempfile.TemporaryDirectory() as folder:
        review = tagged(footage, Path(folder))
        with review.journal, closing(FrameStore(footage, SMALL)) as store:
            PICTURE.write_text(asyncio.run(drawn(review, store)), encoding="utf-8")
    sys.stdout.write(f"{PICTURE}\n")


def tagged(footage: Footage, folder: Path) -> Review:
    """A review of the clip that has just found the fault."""
    clip = footage.path
    truth = Truth.model_validate_json(truth_path(clip.parent, clip.stem).read_bytes())
    wish = ReviewWish(clip, folder / "a.session.jsonl", truth.score.event)
    assert wish.session is not None
    with Journal.create(wish.session, new_header(wish, footage)) as journal:
        for entry in true_entries(truth, footage.pts):
            journal.append(entry)
            if isinstance(entry, Look) and entry.saw == "refuted":
                fault = entry
                journal.append(Shown(ranges=((0, fault.by.frame),)))
                break
    review = open_review(wish, footage)
    review.run_id = fault.run
    review.go(fault.by.frame)
    return review


async def drawn(review: Review, store: FrameStore) -> str:
    """The bench on a terminal that shows every colour, at rest."""
    keymap = load_keymap("qwerty", user_file=None)
    choice = choose(dataclasses.replace(read_replies(b"", COLOURS), utf8=True), "blocks")
    lens = Lens(store.footage.width, store.footage.height, store.footage.pixel_aspect)
    pictures = DeltaPictures(choice)
    app = FramecallApp(keymap, lambda: BenchScreen(review, store, pictures, keymap, lens))
    async with app.run_test(size=SIZE) as pilot:
        await at_rest(pilot, review)
        return without_window(app.export_screenshot())


async def at_rest(pilot: Pilot[None], review: Review) -> None:
    """Wait until the frame is shown and refined."""
    screen = pilot.app.screen
    assert isinstance(screen, BenchScreen)
    while not screen.showing.shows(review.frame):
        await pilot.pause(0.05)
    await pilot.pause(3)


if __name__ == "__main__":
    main()
