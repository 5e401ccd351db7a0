"""Opening the claims of a docket: their footage with a session of one's own, or to settle.

Screens, decoders and documents are loaded once something is opened.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any, Protocol

from keymaps.keymap import Keymap
from sessions.docket.blindness import begins_blind, claim_for, review_done
from sessions.docket.claim_state import ClaimState
from sessions.docket.claims import EVENT_FILE, ListedClaim
from sessions.docket.docket import Docket, DocketError
from sessions.docket.review_summary import ReviewSummary, read_review
from sessions.errors import FramecallError, SessionError
from sessions.plural import plural
from sessions.record.header import Header
from sessions.record.journal import Draft, Journal
from sessions.record.recording import read_session
from sessions.record.session import Session, fold
from sessions.sanitize import sanitize
from sessions.settling.carry_over import is_tagged, may_take_over, taken_over
from tui.bench.opening import (
    SMALL,
    UNREAD,
    ReviewWish,
    finish_reading,
    new_header,
    open_footage,
    open_review,
    session_path,
)
from tui.bench.review import Review
from tui.docket.rows import Sight
from tui.footage.cache import Progress
from tui.footage.footage import Footage
from tui.picture.choice import Choice
from tui.picture.lens import Lens
from tui.settling.case import (
    Case,
    check_own_is_finished,
    check_same,
    find_case,
    open_journal,
    outdated,
    set_aside,
)
from tui.settling.settlement import Settlement

Tell = Callable[[str], None]
"""Told in words how far the opening has come."""


class Abandoned(FramecallError):
    """The program ends before what was begun is done."""


@dataclass(frozen=True)
class OpenCase:
    """A claim's footage and session, open: makes the screen, and closes both with a last word.

    ``screen`` makes a screen of the terminal's library, which is not loaded here.
    """

    screen: Callable[[], Any]
    close: Callable[[], str]


@dataclass(frozen=True)
class SameFootage:
    """The footage of ``claim`` was reviewed already, for ``reviewed_for``: ask what to do."""

    claim: ListedClaim
    reviewed_for: str


class DocketWork(Protocol):
    """What is done for a docket, each called from a thread of its own."""

    def review(
        self, claim: ListedClaim, tell: Tell, take_over: bool | None
    ) -> OpenCase | SameFootage:
        """Open a claim's footage with the reviewer's own session; FramecallError if not.

        ``take_over`` is whether a new one begins with their own tags on the same footage, where
        there are any; ``None`` is to ask for that.
        """
        ...

    def settle(self, state: ClaimState, anew: bool, tell: Tell) -> OpenCase:
        """Open the finished reviews of a claim to settle them; FramecallError if not.

        ``anew`` sets aside what was settled of reviews that were changed since.
        """
        ...

    def issue(self, state: ClaimState, reason: str | None, clips: bool, tell: Tell) -> str:
        """Issue a claim's ruling and say what was written; FramecallError if it cannot be.

        ``clips`` is whether it comes with short loops of its evidence.
        """
        ...

    def issue_all(self, states: Sequence[ClaimState], tell: Tell) -> str:
        """Issue the rulings of claims; says how many were, and why one was left out."""
        ...


Job = Callable[[Tell], OpenCase | SameFootage | str]
"""Does one thing for the docket in a thread: what came of it, or its last word."""


# -- beginning with one's own tags


@dataclass(frozen=True)
class OwnLook:
    """A session that may be taken over, of which claim it is, and the SHA-256 of its lines."""

    claim: str
    session: Session
    sha256: str


def find_own_look(docket: Docket, head: Header) -> OwnLook | None:
    """The reviewer's own last finished look at the footage of ``head`` on another claim."""
    reviews = (review for placed in docket.placed for review in placed.state.reviews)
    alike = [r for r in reviews if r.finished and _is_alike(r, head)]
    for review in sorted(alike, key=lambda review: review.last_at, reverse=True):
        own = _read(docket.folder.session(review.claim, review.reviewer), review.claim)
        if own is not None and may_take_over(own.session, head):
            return own
    return None


def begin_with(path: Path, head: Callable[[], Header], own: OwnLook) -> None:
    """Begin a session with the tags of an own look; it is there whole, or not at all.

    One that was begun and holds no tag goes on with them; a new one begins with ``head``.
    Raises SessionError where the disk does not take it.
    """
    drafts = [Draft(entry) for entry in taken_over(own.session, own.sha256)]
    if not path.exists():
        Journal.create(path, head(), first=drafts).close()
        return
    with Journal.reopen(path) as journal:
        journal.append_all(drafts)


def _is_alike(review: ReviewSummary, head: Header) -> bool:
    return (
        review.reviewer == head.reviewer
        and review.footage_sha256 == head.footage.sha256
        and review.claim != head.claim.id
        and not review.settles
    )


def _read(path: Path, claim: str) -> OwnLook | None:
    """A session as it is now; nothing where it cannot be read any more."""
    try:
        recording = read_session(path)
    except SessionError:
        return None
    return OwnLook(claim, fold(recording.header, recording.lines), recording.sha256)


# -- opening and issuing


@dataclass(frozen=True)
class Cases:
    """Does for a reviewer what a docket asks for: reviews, settling, and documents."""

    docket: Docket
    sight: Sight
    keymap: Keymap
    choice: Choice

    def review(
        self, claim: ListedClaim, tell: Tell, take_over: bool | None = None
    ) -> OpenCase | SameFootage:
        """Open a claim's footage and this reviewer's session on it, begun if it is new.

        A new one begins with their own tags on the same footage where ``take_over`` says so; with
        ``None`` it is told where there are any. Raises FramecallError where the footage is
        missing, or is not that of the session.
        """
        from tui.bench.screen import BenchScreen
        from tui.footage.flaws import BackgroundPass
        from tui.footage.reader import FrameStore
        from tui.widgets.pictures import DeltaPictures

        path = self.sight.folder.inside(claim.footage)
        wished = ReviewWish(path, self._session(claim))
        footage = open_footage(wished, _told(tell))
        if wished.session is not None and wished.session.exists():
            finish_reading(wished.session, footage)
        elif self._may_know(claim):
            footage.wait(_told(tell))
        wish = self._wish(claim, footage.sha256)
        if take_over is not False and (own := self._own_look(wish, footage)) is not None:
            if take_over is None:
                return SameFootage(claim, own.claim)
            begin_with(self._session(claim), partial(new_header, wish, footage), own)
            wish = self._wish(claim, footage.sha256)
        review = open_review(wish, footage)
        store = FrameStore(footage, SMALL)
        lens = Lens(footage.width, footage.height, footage.pixel_aspect)
        pictures = DeltaPictures(self.choice)

        checking = BackgroundPass(footage)

        def close() -> str:
            checking.close()
            footage.close()
            rescued = _close(review, store.close)
            standing = UNREAD if review.waits else review.ruling.summary
            said = f"Saved {sanitize(claim.claim)}: {standing}"
            return f"{sanitize(rescued)} {said}" if rescued else said

        return OpenCase(
            lambda: BenchScreen(
                review, store, pictures, self.keymap, lens, listed=claim, footage=footage
            ),
            close,
        )

    def settle(self, state: ClaimState, anew: bool, tell: Tell) -> OpenCase:
        """Open the finished reviews of a claim to settle where they differ.

        ``anew`` sets aside what was settled of reviews that were changed since.
        Raises FramecallError where they do not differ or cannot be settled by this reviewer.
        """
        folder, reviewer = self.sight.folder, self.sight.reviewer
        check_own_is_finished(folder, state.claim.claim, reviewer)
        case = find_case(folder, state, self.docket.reviews_due)
        path = folder.session(state.claim.claim, reviewer, settling=True)
        if anew and outdated(path, case):
            set_aside(path)
        check_same(path, case)
        return open_settling(case, path, reviewer, self.keymap, self.choice, _told(tell))

    def issue(self, state: ClaimState, reason: str | None, clips: bool, tell: Tell) -> str:
        """Issue the ruling of a claim into the docket; says in a sentence what was written.

        Raises FramecallError where it cannot be issued.
        """
        from tui.documents.docketed import issue_claim
        from tui.documents.issuing import IssueWish

        told = _told(tell, f"Issuing {sanitize(state.claim.claim)}")
        made = issue_claim(self.docket, state, IssueWish(reason=reason, clips=clips), progress=told)
        kinds = ", ".join(path.suffix for path in made.paths if path.stem == made.paths[0].stem)
        page = made.paths[0].with_suffix("")
        loops = len(made.document.clips)
        of_loops = f"and {plural(loops, 'file')} of loops" if loops else "no finding needs a loop"
        with_clips = f", {of_loops}" if clips else ""
        name = sanitize(str(page.relative_to(self.docket.folder.path)))
        return f"Issued {name}: {kinds}{with_clips}"

    def issue_all(self, states: Sequence[ClaimState], tell: Tell) -> str:
        """Issue the rulings of claims into the docket; says how many, and what was left out.

        Raises DocumentError where the league's words cannot be read.
        """
        from tui.documents.docketed import issue_each
        from tui.documents.issuing import IssueWish

        made, left_out = 0, []
        told = _told(tell, f"Issuing {plural(len(states), 'ruling')}")
        for state, written in issue_each(self.docket, states, IssueWish(), progress=told):
            if isinstance(written, str):
                left_out.append(f" Not {sanitize(state.claim.claim)}: {written}")
            else:
                made += 1
        return f"Issued {plural(made, 'ruling')}.{''.join(left_out)}"

    def _own_look(self, wish: ReviewWish, footage: Footage) -> OwnLook | None:
        """What a session that is not begun yet, or in which nothing is tagged, could take over."""
        if wish.event is not None:
            return find_own_look(self.docket, new_header(wish, footage))
        begun = read_session(wish.session or session_path(wish.footage))
        return None if is_tagged(begun.lines) else find_own_look(self.docket, begun.header)

    def _session(self, claim: ListedClaim) -> Path:
        return self.sight.folder.session(claim.claim, self.sight.reviewer)

    def _wish(self, claim: ListedClaim, footage_sha256: str) -> ReviewWish:
        folder, reviewer = self.sight.folder, self.sight.reviewer
        footage, session = folder.footage(claim), self._session(claim)
        if session.exists():
            self._check(claim, session, footage_sha256)
            return ReviewWish(footage, session, reviewer=reviewer)
        _make_folder(folder.sessions)
        event = claim.event
        if event.endswith(EVENT_FILE):
            event = str(folder.inside(event))
        case = claim_for(claim, shown=self.sight.shown)
        return ReviewWish(footage, session, event, reviewer, case)

    def _may_know(self, claim: ListedClaim) -> bool:
        """Whether this reviewer has finished with the same file for another claim."""
        path = self.sight.folder.footage(claim)
        return any(
            self.sight.folder.footage(placed.state.claim) == path
            for placed in self.docket.placed
            for review in placed.state.reviews
            if review.reviewer == self.sight.reviewer and review.finished
        )

    def _check(self, claim: ListedClaim, session: Path, footage_sha256: str) -> None:
        """Raises DocketError where a session is of other footage, or was begun blind."""
        header = read_session(session).header
        if header.footage.sha256 != footage_sha256:
            raise DocketError(
                f"{claim.footage} is not the footage that {session.name} was begun on (SHA-256 "
                f"{footage_sha256[:8]}..., not {header.footage.sha256[:8]}...); put that one back."
            )
        if self.sight.shown and begins_blind(header) and not self._is_done(claim, session):
            raise DocketError(
                f"The review of claim {claim.claim} by {self.sight.reviewer} was begun blind; "
                "finish it first, with the docket opened without --shown."
            )

    def _is_done(self, claim: ListedClaim, session: Path) -> bool:
        return review_done(read_review(session, claim.claim, self.sight.reviewer))


def open_settling(
    case: Case, path: Path, reviewer: str, keymap: Keymap, choice: Choice,
    progress: Progress,
) -> OpenCase:  # fmt: skip
    """Open the footage of reviews and the session that settles them, begun if it is new.

    Raises FramecallError where the footage is missing, or is not the one that was reviewed.
    """
    from tui.footage.reader import FrameStore
    from tui.settling.screen import SettlingScreen
    from tui.widgets.pictures import DeltaPictures

    footage = Footage.counted_as(case.head.footage, case.footage, progress)
    if footage.sha256 != case.head.footage.sha256:
        raise DocketError(
            f"The footage {case.footage} is not the one that was reviewed; put that one back."
        )
    first = footage.time(0)
    journal = open_journal(path, case, reviewer)
    review = Review(journal, footage.pts, lambda seconds: footage.frame_at(first + seconds))
    store = FrameStore(footage, SMALL)
    settlement = Settlement(review, case.found, case.changed)
    lens = Lens(footage.width, footage.height, footage.pixel_aspect)
    pictures = DeltaPictures(choice)

    def close() -> str:
        rescued = _close(review, store.close)
        return f"{sanitize(rescued)} {settlement.ending}" if rescued else settlement.ending

    return OpenCase(
        lambda: SettlingScreen(settlement, store, pictures, keymap, lens, footage), close
    )


def _told(tell: Tell, words: str = "Reading the footage") -> Progress:
    return lambda what, done, total: tell(
        f"{words}: {what}, {100 * done // total if total else 0} %"
    )


def _close(review: Review, close_source: Callable[[], None]) -> str:
    """Write what was shown, and close footage and session, whatever happens.

    Says where the review was saved if its file was lost while it was open.
    """
    try:
        rescued = review.rescue()
        review.flush_seen()
    finally:
        close_source()
        review.journal.close()
    return rescued


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise DocketError(
            f"The folder {folder} cannot be made ({error.strerror}); "
            "check who may write to the docket."
        ) from None
