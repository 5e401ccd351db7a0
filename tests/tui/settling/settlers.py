"""Dockets with two reviews that differ, and the settling of them, with and without a screen."""

from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from keymaps.keymap import Keymap
from sessions.docket.blindness import claim_for
from sessions.docket.claim_state import State
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import Docket, DocketFolder
from sessions.record.entries import (
    CupsSeen,
    Entry,
    Finished,
    Fumble,
    Look,
    Played,
    Reading,
    Sighted,
    Spot,
    StartedOver,
)
from sessions.record.journal import Journal
from tests.sessions.docket.docket_samples import new_docket
from tests.tui.conftest import PICTURE, PlainSource, frame_at, header, ticking
from tests.tui.on_screen import SMALL, OnScreen
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.app import FramecallApp
from tui.bench.review import Review
from tui.cli.settle import case_of
from tui.demo.performance import perform
from tui.demo.score import scores
from tui.demo.tagging import true_entries
from tui.demo.truth import Truth, witness
from tui.picture.lens import Lens
from tui.settling.case import Case, open_journal
from tui.settling.screen import SettlingScreen
from tui.settling.settlement import Settlement

CLIP = "clean-3-3-3"
CLAIM = "C-1"


@cache
def truth() -> Truth:
    """What truly happens in an invented clip; it need not be filmed for this."""
    return witness(perform(scores()[CLIP]))


def listed(run: int = -1, claim: str = CLAIM) -> ListedClaim:
    """A claim on the clip, of the time that a run of it reads: its last, if not said otherwise."""
    display = truth().runs[run].display
    return ListedClaim(claim, "3-3-3", "U10", "LQ-003", display, "9.000", "footage/a.mp4")


def right_entries() -> list[Entry]:
    """A reviewer who never errs; the time stamps are frame numbers."""
    runs = [Played(first=run.begins, last=run.ends, speed="1") for run in truth().runs]
    return [*true_entries(truth(), lambda frame: frame), *runs]


Change = Callable[[Look], Entry | None]


def seen_otherwise(checkpoint: str, change: Change, run: int | None = None) -> list[Entry]:
    """The same review, but for one checkpoint of a run (the last, if not said otherwise)."""
    number = truth().runs[-1].run if run is None else run
    changed: list[Entry] = []
    for entry in right_entries():
        if isinstance(entry, Look) and (entry.run, entry.checkpoint) == (number, checkpoint):
            other = change(entry)
            changed += [] if other is None else [other]
        else:
            changed.append(entry)
    return changed


def broken(look: Look) -> Entry:
    """A fault, seen a frame later than the other saw it in order."""
    later = look.by.model_copy(update={"frame": look.by.frame + 1, "pts": look.by.pts + 1})
    return look.model_copy(update={"saw": "refuted", "by": later})


def unclear(look: Look) -> Entry:
    """Not to be told within the two frames up to the one that the other named."""
    before = look.by.model_copy(update={"frame": look.by.frame - 1, "pts": look.by.pts - 1})
    return look.model_copy(update={"saw": "unproven", "after": before})


def one_fault() -> list[Entry]:
    """The one honest difference: whether the first stack was let go of."""
    return seen_otherwise("f1.s1.let-go", broken)


def other_matters() -> list[Entry]:
    """A review that differs in everything that is no checkpoint."""
    run = truth().runs[-1]
    last = run.run
    middle = (run.begins + run.ends) // 2
    spot = Spot(frame=middle, pts=middle)
    changed: list[Entry] = []
    for entry in right_entries():
        if isinstance(entry, CupsSeen) and entry.cups == (1,):
            changed.append(entry.model_copy(update={"saw": "unproven"}))
        elif isinstance(entry, Reading) and entry.run == last:
            # one digit fewer than the display has, and still possible by the picture
            changed.append(entry.model_copy(update={"display": _near(entry.display)}))
        else:
            changed.append(entry)
    changed.append(StartedOver(run=last, at=spot))
    changed.append(Fumble(run=last, fumble="x1", stack="f1.s1", phase="down", at=spot))
    changed.append(Look(run=last, checkpoint="x1.closed", saw="proven", by=spot_at(middle + 3)))
    return changed


def _near(display: str) -> str:
    return f"{float(display) + 0.001:.3f}"


def sighted_by(moment: str) -> int:
    """The frame by which an instant of the last run is seen."""
    marks = (e for e in right_entries() if isinstance(e, Sighted))
    return next(m.by.frame for m in marks if (m.run, m.moment) == (truth().runs[-1].run, moment))


def spot_at(frame: int) -> Spot:
    """A frame; its time stamp is its number."""
    return Spot(frame=frame, pts=frame)


def seen_earlier(frames: int, about: str = "") -> list[Entry]:
    """A review that saw all of the last run so much earlier, and reads the same time.

    Or only what it is ``about``: an instant and the looks that are named after it.
    """
    last = truth().runs[-1].run
    return [
        _earlier(entry, frames)
        if isinstance(entry, Look | Sighted) and entry.run == last and _is_about(entry, about)
        else entry
        for entry in right_entries()
    ]


def _is_about(mark: Look | Sighted, about: str) -> bool:
    return (mark.checkpoint if isinstance(mark, Look) else mark.moment).startswith(about)


def _earlier(mark: Look | Sighted, frames: int) -> Entry:
    after, by = (
        spot and Spot(frame=spot.frame - frames, pts=spot.pts - frames)
        for spot in (mark.after, mark.by)
    )
    return mark.model_copy(update={"after": after, "by": by})


def one_sided() -> list[Entry]:
    """A review that left one checkpoint of a slower run open, and nothing else."""
    return seen_otherwise("start.grip", lambda _: None, run=truth().runs[0].run + 1)


def write(
    folder: DocketFolder, reviewer: str, entries: Iterable[Entry], *, finished: bool = True,
    claim: str = CLAIM, event: str = "3-3-3",
) -> Path:  # fmt: skip
    """A reviewer's session on the clip."""
    case = claim_for(listed(claim=claim), shown=False)
    head = header(event, truth().frames).model_copy(update={"claim": case, "reviewer": reviewer})
    path = folder.session(claim, reviewer)
    with Journal.create(path, head, ticking()) as journal:
        for entry in entries:
            journal.append(entry)
        if finished:
            journal.append(Finished(blind=True))
    return path


def docket_of(
    path: Path, *reviews: list[Entry], claims: Iterable[ListedClaim] | None = None
) -> DocketFolder:
    """A docket with a claim and finished reviews by R1, R2 and so on."""
    folder = new_docket(path / "season", [listed()] if claims is None else claims)
    for number, entries in enumerate(reviews, 1):
        write(folder, f"R{number}", entries)
    return folder


def read(folder: DocketFolder) -> Docket:
    docket = Docket(folder.path, folder.path / "index")
    docket.refresh()
    return docket


def state(folder: DocketFolder) -> State:
    """The state of the docket's one claim, as it is on the disk now."""
    return read(folder).placed[0].state.state


@dataclass
class Settler:
    """Whoever settles: the folder, what is to be settled, and the journal under it."""

    folder: DocketFolder
    case: Case
    settlement: Settlement
    path: Path

    def close(self) -> None:
        self.settlement.review.journal.close()


def settler(folder: DocketFolder, reviewer: str = "R3") -> Settler:
    """Begin to settle the docket's claim, or go on."""
    case = case_of(read(folder), CLAIM)
    path = folder.session(CLAIM, reviewer, settling=True)
    journal = open_journal(path, case, reviewer)
    review = Review(journal, lambda frame: frame, frame_at)
    return Settler(folder, case, Settlement(review, case.found, case.changed), path)


class OnSettling(OnScreen[SettlingScreen]):
    """The settling screen in a terminal that is not there."""

    async def answer(self, text: str) -> None:
        """Type a reason, and take it."""
        keys = ["space" if character == " " else character for character in text]
        await self.press(*keys, "enter")

    @property
    def lines(self) -> list[str]:
        return [line.rstrip() for line in super().lines]


def make_app(made: Settler, source: PlainSource, keymap: Keymap) -> FramecallApp:
    """The application with the settling screen."""
    pictures, lens = PlainPictures(HalfBlocks()), Lens(*PICTURE)
    return FramecallApp(
        keymap, lambda: SettlingScreen(made.settlement, source, pictures, keymap, lens)
    )


@asynccontextmanager
async def on_settling(
    made: Settler, source: PlainSource, keymap: Keymap, size: tuple[int, int] = SMALL
) -> AsyncIterator[OnSettling]:
    """The settling screen running in a terminal of a size in columns and rows."""
    app = make_app(made, source, keymap)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, SettlingScreen)
        shown = OnSettling(app, pilot, screen)
        await shown.settle()
        yield shown
