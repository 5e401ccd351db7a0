"""The docket in a terminal that is not there, with claims on invented footage, driven by keys."""

from collections.abc import AsyncIterator, Callable, Iterable, Sequence
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from pathlib import Path

from keymaps.keymap import Keymap
from sessions.docket.blindness import claim_for
from sessions.docket.claim_state import ClaimState
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import Docket, DocketFolder
from sessions.errors import FootageError
from sessions.record.entries import CupsSeen, Entry, Finished, Look, RunBegun, Shown, Spot
from sessions.record.header import Header
from sessions.record.journal import Journal
from sessions.rules.events import load_event
from tests.sessions.docket.docket_samples import new_docket
from tests.sessions.samples import faultless_run, spot
from tests.tui.benching import Bench
from tests.tui.conftest import PICTURE, PlainSource, frame_at, header, ticking
from tests.tui.on_screen import SMALL, OnScreen
from tests.tui.plain_pictures import HalfBlocks, PlainPictures
from tui.app import FramecallApp
from tui.bench.review import Review
from tui.bench.screen import BenchScreen
from tui.docket.opening import OpenCase, SameFootage, Tell
from tui.docket.rows import Sight
from tui.docket.screen import DocketScreen
from tui.picture.lens import Lens
from tui.settling.case import find_case, open_journal, set_aside
from tui.settling.screen import SettlingScreen
from tui.settling.settlement import Settlement

SECRET = ListedClaim("C-7", "3-3-3", "U10", "S-SECRET", "2.003", "5.678", "footage/a.mp4")
"""A claim whose time, record and competitor are found nowhere else on a screen."""
SECRETS = ("S-SECRET", "2.003", "5.678")


def listed(
    claim: str, time: str = "3.000", event: str = "3-3-3", division: str = "U10"
) -> ListedClaim:
    return ListedClaim(claim, event, division, f"S-{claim}", time, "9.000", "footage/a.mp4")


def head_of(claim: ListedClaim, reviewer: str, *, shown: bool = False) -> Header:
    """The first line of a session on the 600 frames of the bench's invented footage."""
    case = claim_for(claim, shown=shown)
    return header(claim.event).model_copy(update={"claim": case, "reviewer": reviewer})


def write_review(
    folder: DocketFolder, claim: ListedClaim, reviewer: str, entries: Iterable[Entry],
    *, shown: bool = False,
) -> Path:  # fmt: skip
    path = folder.session(claim.claim, reviewer)
    with Journal.create(path, head_of(claim, reviewer, shown=shown), ticking()) as journal:
        for entry in entries:
            journal.append(entry)
    return path


def all_seen(event: str = "3-3-3") -> list[Entry]:
    """Every cup cleared in frame 0, and all frames shown."""
    cups = tuple(range(1, load_event(event).cups + 1))
    return [CupsSeen(cups=cups, saw="proven", at=spot(0)), Shown(ranges=((0, 599),))]


FITTING = "2.000"
"""What the display shows after a faultless 3-3-3 of the samples at 60 frames a second."""


def finished_entries(
    display: str = FITTING, *, scratch: bool = False, blind: bool = True
) -> list[Entry]:
    """A whole review of one run that reads so; a scratch where a cup moved at the start."""
    run = [at_60(entry) for entry in faultless_run(load_event("3-3-3"), 1, 0, display)]
    if scratch:
        run = [
            entry.model_copy(update={"saw": "refuted", "by": Spot(frame=5, pts=5)})
            if isinstance(entry, Look) and entry.checkpoint == "start.still"
            else entry
            for entry in run
        ]
    return [*run, *all_seen(), Finished(blind=blind)]


def at_60(entry: Entry) -> Entry:
    """An entry of the samples with the time stamps of the bench's footage: frames."""
    changes = {}
    for name in ("begins", "ends", "after", "by", "at"):
        place = getattr(entry, name, None)
        if place is not None:
            changes[name] = place.model_copy(update={"pts": place.frame})
    return entry.model_copy(update=changes)


def begun_entries() -> list[Entry]:
    """A review that was begun and left."""
    return [RunBegun(run=1, begins=spot(0))]


@dataclass
class Cases:
    """Opens claims on invented footage; ``missing`` are those whose footage is not there.

    ``seen_before`` are claims whose footage the reviewer has reviewed for another claim.
    """

    folder: DocketFolder
    reviewer: str
    keymap: Keymap
    shown: bool = False
    missing: set[str] = field(default_factory=set)
    opened: list[str] = field(default_factory=list)
    closed: list[str] = field(default_factory=list)
    settled: list[str] = field(default_factory=list)
    issued: list[tuple[str, str | None]] = field(default_factory=list)
    with_clips: list[str] = field(default_factory=list)
    seen_before: dict[str, str] = field(default_factory=dict)
    answers: list[bool | None] = field(default_factory=list)
    while_opening: Callable[[Tell], None] = lambda tell: None

    def review(
        self, claim: ListedClaim, tell: Tell, take_over: bool | None = None
    ) -> OpenCase | SameFootage:
        self.while_opening(tell)
        self.answers.append(take_over)
        if take_over is None and claim.claim in self.seen_before:
            return SameFootage(claim, self.seen_before[claim.claim])
        if claim.claim in self.missing:
            raise FootageError(f"The footage {claim.footage} is not there; put it back.")
        path = self.folder.session(claim.claim, self.reviewer)
        if path.exists():
            journal = Journal.reopen(path, ticking())
        else:
            head = head_of(claim, self.reviewer, shown=self.shown)
            journal = Journal.create(path, head, ticking())
        review = Review(journal, lambda frame: frame, frame_at)
        self.opened.append(claim.claim)

        def close() -> str:
            review.flush_seen()
            journal.close()
            self.closed.append(claim.claim)
            return f"Saved {claim.claim}."

        return OpenCase(lambda: self._bench(review, claim), close)

    def settle(self, state: ClaimState, anew: bool, tell: Tell) -> OpenCase:
        claim = state.claim.claim
        case = find_case(self.folder, state, reviews_due=2)
        path = self.folder.session(claim, self.reviewer, settling=True)
        if anew:
            set_aside(path)
        journal = open_journal(path, case, self.reviewer)
        review = Review(journal, lambda frame: frame, frame_at)
        settlement = Settlement(review, case.found)
        self.settled.append(claim)

        def close() -> str:
            journal.close()
            return settlement.ending

        pictures, lens = PlainPictures(HalfBlocks()), Lens(*PICTURE)
        return OpenCase(
            lambda: SettlingScreen(settlement, PlainSource(), pictures, self.keymap, lens), close
        )

    def issue(self, state: ClaimState, reason: str | None, clips: bool, tell: Tell) -> str:
        self.issued.append((state.claim.claim, reason))
        self.with_clips += [state.claim.claim] * clips
        return f"Issued {state.claim.claim}."

    def issue_all(self, states: Sequence[ClaimState], tell: Tell) -> str:
        self.issued += [(state.claim.claim, None) for state in states]
        return f"Issued {len(states)}."

    def _bench(self, review: Review, claim: ListedClaim) -> BenchScreen:
        pictures, lens = PlainPictures(HalfBlocks()), Lens(*PICTURE)
        return BenchScreen(review, PlainSource(), pictures, self.keymap, lens, listed=claim)


@dataclass
class Place:
    """A docket on the disk, as one reviewer has it in front."""

    folder: DocketFolder
    docket: Docket
    sight: Sight
    cases: Cases
    app: FramecallApp


def place(
    tmp_path: Path,
    claims: Iterable[ListedClaim],
    keymap: Keymap,
    reviewer: str = "R1",
    *,
    shown: bool = False,
    prepare: Callable[[DocketFolder], object] = lambda folder: None,
    is_read: bool = True,
) -> Place:
    """A docket with claims; ``prepare`` writes reviews into it before it is read, or surveyed."""
    listing = tuple(claims)
    folder = new_docket(tmp_path / "season", listing)
    put_footage(folder, listing)
    prepare(folder)
    docket = Docket(folder.path, tmp_path / "index")
    docket.refresh() if is_read else docket.survey()
    sight = Sight(reviewer, folder, shown)
    cases = Cases(folder, reviewer, keymap, shown)
    app = FramecallApp(keymap, lambda: DocketScreen(docket, sight, cases, keymap))
    return Place(folder, docket, sight, cases, app)


def put_footage(folder: DocketFolder, claims: Iterable[ListedClaim]) -> None:
    """Empty files where the footage is to be: whether it is there is all that the docket asks."""
    for claim in claims:
        folder.footage(claim).parent.mkdir(parents=True, exist_ok=True)
        folder.footage(claim).touch()


class OnDocket(OnScreen[DocketScreen]):
    """The docket on the screen."""

    async def until(self, condition: Callable[[], bool]) -> None:
        await super().until(condition)
        await self.settle()

    async def open(self) -> Bench:
        """Open the chosen claim; its bench."""
        await self.press("enter")
        await self.until(lambda: isinstance(self.app.screen, BenchScreen))
        assert isinstance(self.app.screen, BenchScreen)
        bench = Bench(self.app, self.pilot, self.app.screen)
        await bench.settle()
        return bench

    async def back(self) -> None:
        """Leave the bench, until the claim is closed."""
        await self.pilot.press("ctrl+q")
        await self.until(lambda: self.app.screen is self.screen and not self.screen._is_busy)

    @property
    def claims(self) -> list[str]:
        """The claims in sight."""
        lines = self.text.splitlines()[4:-3]
        return [word for line in lines for word in line.split() if word.startswith("C-")]


@asynccontextmanager
async def on_docket(made: Place, size: tuple[int, int] = SMALL) -> AsyncIterator[OnDocket]:
    """The docket running in a terminal of a size in columns and rows."""
    async with made.app.run_test(size=size) as pilot:
        await pilot.pause()
        screen = made.app.screen
        assert isinstance(screen, DocketScreen)
        docket = OnDocket(made.app, pilot, screen)
        await docket.settle()
        yield docket
