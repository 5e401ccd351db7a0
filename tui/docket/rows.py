"""The lines of a docket as one reviewer may see them, and which of them are in sight.

What a reviewer must not know is never in a line.
"""

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace

from sessions.docket.blindness import begins_blind, review_done
from sessions.docket.claim_state import ClaimState, State
from sessions.docket.claims import ListedClaim
from sessions.docket.docket import DocketFolder
from sessions.docket.review_summary import ReviewSummary
from sessions.docket.work_order import Contest, Placed, contest_of
from sessions.errors import FramecallError
from sessions.exact import micros
from sessions.plural import are, joined
from sessions.record.recording import read_session
from sessions.sanitize import sanitize

HIDDEN = "····"
"""Stands for a time, a record or a competitor that the reviewer may not know yet."""

UNREAD, REVIEWED, SET_ASIDE = "to be read", "reviewed", "set aside"
NO_FASTER = "It does not beat the time to beat."
UNREAD_NOTE = "Not all sessions on this claim are read yet."
RECORD_HIDDEN = "The record is hidden until you have reviewed the other claims on it."
AT_ODDS = "The ruling on {0} is of the same footage and says otherwise of an attempt: compare them."
SETTLED_OTHERWISE = "{0} settled it otherwise afterwards; the first settling counts."
AMENDED = "amending"
"""Finds claims on which somebody amends a finished review."""
AMENDING = "{0} {1} amending: a finished review was changed, and not finished again."
DIFFERING = "The reviews come to different rulings: settle where they differ."

BEATS = "A new record: {0} s stands, before {1} s."
EQUALS = "{0} s stands, and equals the record of {1} s."
UNCLAIMED = "Faster on its footage, standing, and claimed by nobody: {0} s."

HEADINGS = ("", "claim", "event", "division", "time", "record", "competitor", "state", "reviewers")
WIDEST = (4, 16, 10, 10, 8, 8, 12, 24, 40)
"""The most cells that each column takes."""

ORDER_WORDS = "within each event and division the claims stand fastest first"


@dataclass(frozen=True)
class Sight:
    """What one reviewer may see of a docket; ``shown`` is whether claims are not hidden at all.

    A review that was begun blind stays so until it is done, even where claims are shown.
    """

    reviewer: str
    folder: DocketFolder
    shown: bool = False

    def knows(self, placed: Placed) -> bool:
        """Whether the reviewer may see the claim's time, record, competitor and state.

        Never before all sessions on it are read: their own may be among them, and not done.
        """
        if not placed.state.is_read:
            return False
        own = [r for r in placed.state.reviews if _is_by(r, self.reviewer)]
        if any(review_done(review) for review in own):
            return True
        return self.shown and not any(self.began_blind(review.claim) for review in own)

    def waiting(self, placed: Iterable[Placed]) -> frozenset[Contest]:
        """The contests in which a claim is still to be ruled that the reviewer may not know yet.

        Their records stay hidden: the record of one claim is that of the next as well.
        """
        shown = tuple(placed)
        return _waiting(shown, self.hidden(shown))

    def hidden(self, placed: Iterable[Placed]) -> frozenset[str]:
        """The claims that the reviewer may not know yet: what came of them is not told either."""
        return frozenset(one.state.claim.claim for one in placed if not self.knows(one))

    def began_blind(self, claim: str) -> bool:
        """Whether the reviewer's own session on a claim was begun blind, or cannot be read."""
        try:
            path = self.folder.session(claim, self.reviewer)
            return begins_blind(read_session(path).header)
        except FramecallError:
            return True


@dataclass(frozen=True, slots=True)
class DocketRow:
    """One claim; ``cells`` are safe to show, in the order of the headings, ``note`` a sentence.

    ``state`` is for the colour, where the reviewer may know it; ``is_due`` is whether the claim
    waits for a look by this reviewer, ``is_to_issue`` whether it is ruled and not issued yet.
    """

    claim: ListedClaim
    cells: tuple[str, ...]
    note: str
    state: State | None
    is_due: bool
    is_to_issue: bool
    searched: str


def docket_rows(placed: Iterable[Placed], sight: Sight) -> tuple[DocketRow, ...]:
    """A row for each claim, in the order of the docket."""
    shown = tuple(placed)
    hidden = sight.hidden(shown)
    waiting = _waiting(shown, hidden)
    return tuple(_row(one, sight.reviewer, waiting, hidden) for one in shown)


def _waiting(placed: Iterable[Placed], hidden: Container[str]) -> frozenset[Contest]:
    waiting = (one for one in placed if one.place is not None and one.state.claim.claim in hidden)
    return frozenset(contest_of(one.state.claim) for one in waiting)


def among_known(state: ClaimState, hidden: Container[str]) -> ClaimState:
    """A claim's state without the claims at odds with it that the reviewer may not know yet."""
    return replace(state, at_odds=_known_odds(state, hidden))


def _known_odds(state: ClaimState, hidden: Container[str]) -> tuple[str, ...]:
    return tuple(odds for odds in state.at_odds if odds not in hidden)


def as_seen(claim: ListedClaim, waiting: Container[Contest]) -> ListedClaim:
    """A claim that the reviewer may know, its record hidden while its contest is waiting."""
    return replace(claim, record=HIDDEN) if contest_of(claim) in waiting else claim


def widths(rows: Sequence[DocketRow]) -> tuple[int, ...]:
    """Cells that each column needs, heading included, up to the most that it may take."""
    longest = [len(heading) for heading in HEADINGS]
    for row in rows:
        longest = [max(pair) for pair in zip(longest, map(len, row.cells), strict=True)]
    return tuple(min(pair) for pair in zip(longest, WIDEST, strict=True))


def docket_text(rows: Sequence[DocketRow]) -> str:
    """The rows as lines of text under their headings."""
    room = widths(rows)
    lines = [HEADINGS, *(row.cells for row in rows)]
    return "".join(
        "  ".join(cell.ljust(width) for cell, width in zip(line, room, strict=True)).rstrip() + "\n"
        for line in lines
    )


def _row(
    placed: Placed, reviewer: str, waiting: Container[Contest], hidden: Container[str]
) -> DocketRow:
    claim, knows = as_seen(placed.state.claim, waiting), placed.state.claim.claim not in hidden
    words, state = _state(placed, knows)
    amending = _amending(placed.state.reviews, None if knows else reviewer)
    cells = (
        "" if placed.place is None else str(placed.place + 1),
        _safe(claim.claim),
        _safe(claim.event),
        _safe(claim.division),
        *(_safe(text) if knows else HIDDEN for text in (claim.time, claim.record)),
        _safe(claim.competitor) if knows else HIDDEN,
        words,
        _who(placed.state.reviews, amending),
    )
    return DocketRow(
        claim=placed.state.claim,
        cells=cells,
        note=_note(placed, hidden, amending, hides_record=claim.record == HIDDEN),
        state=state,
        is_due=placed.is_due(reviewer),
        is_to_issue=knows and placed.state.is_to_issue,
        searched=" ".join((*cells, *[AMENDED] * bool(amending))).casefold(),
    )


def _state(placed: Placed, knows: bool) -> tuple[str, State | None]:
    """The state in words, and as such where it may be known; nothing of a verdict otherwise."""
    state = placed.state
    if not state.is_read:
        return UNREAD, None
    if placed.set_aside:
        return SET_ASIDE, None
    if knows and state.verdict is not None:
        return _ruled_words(state, state.verdict), state.verdict
    if knows and state.issued:
        return f"{state.state}, issued", state.state
    if knows or state.state in (State.UNTOUCHED, State.OPEN, State.AWAITING):
        return str(state.state), state.state
    return REVIEWED, None


def _ruled_words(state: ClaimState, verdict: State) -> str:
    """The verdict, and what came after it: settled where reviews differed, or issued."""
    settled = "settled" if state.state is State.SETTLED else ""
    return f"{verdict}, issued" if state.issued else ", ".join(filter(None, (verdict, settled)))


def _note(
    placed: Placed, hidden: Container[str], amending: Sequence[str], *, hides_record: bool
) -> str:
    hides_why = hides_record or placed.overtaken_by in hidden
    parts = [] if placed.state.is_read else [UNREAD_NOTE]
    parts += [_safe(f"{problem}.") for problem in placed.state.problems]
    who = _safe(joined(amending))
    parts += [AMENDING.format(who, are(len(amending)))] if amending else []
    if placed.state.claim.claim not in hidden:
        parts += [NO_FASTER if hides_why else f"It {_safe(placed.set_aside)}."] * bool(
            placed.set_aside
        )
        parts += [RECORD_HIDDEN] if hides_record else []
        parts += [f"Ruling {placed.state.issued} was issued."] if placed.state.issued else []
        odds = _known_odds(placed.state, hidden)
        parts += [AT_ODDS.format(_safe(", ".join(odds)))] if odds else []
        if placed.beats and not hides_record:
            time = placed.state.ruled_time or ""
            told = EQUALS if micros(time) == micros(placed.beats) else BEATS
            parts.append(told.format(time, placed.beats))
        parts += [UNCLAIMED.format(", ".join(placed.unclaimed))] if placed.unclaimed else []
        others = _safe(", ".join(placed.state.settled_otherwise))
        parts += [SETTLED_OTHERWISE.format(others)] if others else []
        parts += [_safe(words) for words in placed.state.unwatched]
        parts += [DIFFERING] if placed.state.state is State.DIFFERING else []
    else:
        parts.append(
            "Time, record, competitor and any verdict are hidden until you finish your review; "
            f"{ORDER_WORDS}."
        )
    return " ".join(parts)


def _amending(reviews: Iterable[ReviewSummary], only: str | None) -> tuple[str, ...]:
    """Who changes a finished review and is not done with that.

    That somebody does is told to nobody whose own look is still to come: only of their own review.
    """
    at_it = (r.reviewer for r in reviews if r.amending and not r.settles)
    return tuple(name for name in at_it if only in (None, name))


def _who(reviews: Iterable[ReviewSummary], amending: Container[str]) -> str:
    """Who has begun (…), has finished (✓) and amends that (✓…); what they found is not told."""
    marks = []
    for review in reviews:
        done = "✓" if review.finished else ""
        at_it = "…" if not review.finished or review.reviewer in amending else ""
        marks += [] if review.settles else [f"{_safe(review.reviewer)}{done}{at_it}"]
    return " ".join(marks)


def _is_by(review: ReviewSummary, reviewer: str) -> bool:
    return review.reviewer == reviewer and not review.settles


def _safe(text: str) -> str:
    return text if text.isascii() and text.isprintable() else sanitize(text)


class DocketView:
    """Rows, what is typed to search them, and the place of the chosen one among those found."""

    def __init__(self) -> None:
        self.rows: tuple[DocketRow, ...] = ()
        self.found: tuple[DocketRow, ...] = ()
        self.widths: tuple[int, ...] = widths(())
        self.typed = ""
        self.at = 0
        self._top = 0

    @property
    def chosen(self) -> DocketRow | None:
        """The chosen row, if any is found."""
        return self.found[self.at] if self.found else None

    def update(self, rows: tuple[DocketRow, ...]) -> None:
        """Take rows as they are now; the claim that was chosen stays so."""
        self.rows, self.widths = rows, widths(rows)
        self._find()

    def search(self, typed: str) -> None:
        """Find the rows that hold every word typed, in any column that shows."""
        self.typed = typed
        self._find()

    def choose(self, claim: str) -> None:
        """Choose a claim by its id, if it is found."""
        at = _place(self.found, claim)
        self.at = self.at if at is None else at

    def move(self, rows: int) -> None:
        """Choose a row further down or up, held within what is found."""
        self.at = max(0, min(self.at + rows, len(self.found) - 1))

    def window(self, height: int) -> Sequence[DocketRow]:
        """The rows in sight where there is room for so many, the chosen one among them."""
        last_top = max(0, len(self.found) - height)
        self._top = max(0, min(max(self._top, self.at - height + 1), self.at, last_top))
        return self.found[self._top : self._top + height]

    def _find(self) -> None:
        chosen, words = self.chosen, self.typed.casefold().split()
        self.found = tuple(r for r in self.rows if all(word in r.searched for word in words))
        self.at = min(self.at, max(0, len(self.found) - 1))
        if chosen is not None:
            self.at = _place(self.found, chosen.claim.claim) or 0


def _place(rows: Sequence[DocketRow], claim: str) -> int | None:
    return next((at for at, row in enumerate(rows) if row.claim.claim == claim), None)
