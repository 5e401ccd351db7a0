"""Settling the differences of finished reviews, one by one, on a session of its own."""

from collections.abc import Callable, Iterable
from itertools import combinations

from sessions.errors import EntryRefused
from sessions.plural import are, joined, plural
from sessions.record.entries import (
    DifferenceSettled,
    Finished,
    Line,
    Retracted,
    Settling,
    Spot,
)
from sessions.record.journal import Draft, Journal
from sessions.record.session import Run, Session, fold
from sessions.ruling.checker import check_run
from sessions.ruling.order import Contradiction, contradiction_words
from sessions.ruling.ruling import Standing
from sessions.settling.agreement import CUPS
from sessions.settling.differences import Difference, Differences, Matter
from sessions.settling.merge import agreed_entries
from sessions.settling.settlement import DECIDED, decision, frame_found
from sessions.settling.taking import Taking, take_side
from tui.bench.finishing import checked_reason
from tui.bench.review import Review


def begin(journal: Journal, settling: Settling, found: Differences) -> None:
    """Write what every settling session begins with, as far as it is not written yet: one deed."""
    said = {line.entry for line in journal.recording.lines}
    entries = dict.fromkeys((settling, *agreed_entries(found)))
    journal.append_all([Draft(entry) for entry in entries if entry not in said])


class Settlement:
    """The differences to settle, the one at hand, and what was settled of them.

    ``changed`` says in a sentence which review is no longer as it was when settling began.
    """

    def __init__(
        self, review: Review, found: Differences, changed: Callable[[], str] = lambda: ""
    ) -> None:
        self.review, self.found, self._changed = review, found, changed
        self.at = 0
        self._pair = 0
        self._when_settled: dict[int, str | None] = {}
        self.go_on()

    # -- which difference

    @property
    def disputes(self) -> tuple[Difference, ...]:
        """What has to be settled."""
        return self.found.disputes

    @property
    def current(self) -> Difference | None:
        """The difference at hand, if there is any."""
        return self.disputes[self.at] if self.disputes else None

    @property
    def left(self) -> int:
        """How many differences are not settled."""
        return sum(self.settled(dispute) is None for dispute in self.disputes)

    def move(self, steps: int) -> None:
        """Go to the next or previous difference, round at the ends."""
        if self.disputes:
            self.at = (self.at + steps) % len(self.disputes)
            self._take_in_hand()

    def go_on(self) -> None:
        """Go to the next difference that is not settled, if there is one."""
        count = len(self.disputes)
        ahead = [(self.at + step) % count for step in range(count)]
        self.at = next((i for i in ahead if self.settled(self.disputes[i]) is None), self.at)
        self._take_in_hand()

    def _take_in_hand(self) -> None:
        """Put the review where the difference is, for the lens and for looking again."""
        self._pair = 0
        current = self.current
        if current is None:
            return
        self.review.go(self.frames[1])
        if current.matter is Matter.CUP:
            self.review.cup = int(current.subject.removeprefix(f"{CUPS}."))
        elif current.run is not None and self.review.session.run(current.run) is not None:
            self.review.run_id = current.run
            is_step = current.matter in (Matter.CHECKPOINT, Matter.INSTANT)
            self.review.chosen = current.subject if is_step else None

    @property
    def pairs(self) -> tuple[tuple[int, int], ...]:
        """The columns of any two opinions that differ; one pair, unless three or more do."""
        return tuple(combinations(self.current.sides, 2)) if self.current else ((0, 1),)

    @property
    def sides(self) -> tuple[int, int]:
        """The columns of the two opinions that are shown side by side."""
        return self.pairs[self._pair]

    def show_others(self) -> None:
        """Show the next two opinions side by side; raises EntryRefused where only two differ."""
        if len(self.pairs) < 2:
            raise EntryRefused("Only these two findings differ: there are no other sides.")
        self._pair = (self._pair + 1) % len(self.pairs)
        self.review.go(self.frames[1])

    @property
    def frames(self) -> tuple[int, int]:
        """The two frames to look at: those that the sides name.

        Where both name the same, or only one names any: that frame after the one before it.
        """
        named = self._named()
        if len(set(named)) > 1:
            return named[0], named[1]
        frame = named[0] if named else 0
        return max(0, frame - 1), frame

    @property
    def is_one_frame(self) -> bool:
        """Whether the sides do not name two frames."""
        return len(set(self._named())) < 2

    def _named(self) -> list[int]:
        opinions = self.current.opinions if self.current else ()
        frames = [opinions[side].frame for side in self.sides] if opinions else []
        return [frame for frame in frames if frame is not None]

    # -- what is settled

    def settled(self, dispute: Difference) -> DifferenceSettled | None:
        """The entry that settles a difference, as long as the session bears it out.

        What is tagged otherwise afterwards is not what the reason was given for.
        """
        line = self._line(dispute)
        if line is None or (dispute.matter in DECIDED and not self._holds(dispute, line)):
            return None
        return line.entry if isinstance(line.entry, DifferenceSettled) else None

    def _holds(self, dispute: Difference, line: Line) -> bool:
        """Whether a difference is decided, and as it was when this line settled it."""
        if line.seq not in self._when_settled:
            then = fold(self.review.session.header, self.review.lines[: line.seq])
            self._when_settled[line.seq] = decision(dispute, then)
        now = self._decided(dispute)
        return now is not None and now == self._when_settled[line.seq]

    def _decided(self, dispute: Difference) -> str | None:
        return decision(dispute, self.review.session, self.review.ruling)

    def _line(self, dispute: Difference) -> Line | None:
        return next(
            (
                line
                for line in self.review.session.live
                if isinstance(line.entry, DifferenceSettled)
                and line.entry.difference == dispute.key
            ),
            None,
        )

    # -- settling

    def take(self, place: int, reason: str) -> str:
        """Take the finding of the first (0) or second (1) side of the difference at hand.

        Raises EntryRefused, with nothing written, where it contradicts what is settled already,
        or where that alone would leave the difference open.
        """
        dispute, why = self._needed(), checked_reason(reason)
        side, taking = self._fitting(dispute, self.sides[place])
        reviewer = self.found.reviewers[side]
        settled = self._settled(dispute, reviewer, why, (o.frame for o in dispute.opinions))
        self.review.commit([*_drafts(taking), settled])
        self.go_on()
        return f"Settled as {reviewer} found it: {dispute.title}.{_along(taking, reviewer)}"

    def _fitting(self, dispute: Difference, side: int) -> tuple[int, Taking]:
        """A review that holds the side's finding, and what to take of it: the first that fits.

        Raises EntryRefused as ``take`` does where none of them does.
        """
        held = [opinion.value for opinion in dispute.opinions]
        alike = [side, *(n for n, value in enumerate(held) if n > side and value == held[side])]
        refused: list[EntryRefused] = []
        for holder in alike:
            taking = take_side(self.found, dispute, holder, self.review.session)
            try:
                self._check_fits(taking, dispute, holder)
            except EntryRefused as error:
                refused.append(error)
            else:
                return holder, taking
        raise refused[0]

    def looked_again(self, reason: str) -> str:
        """Settle the difference at hand as it was tagged anew."""
        dispute = self._needed()
        why = checked_reason(reason)
        if dispute.matter in DECIDED and self._decided(dispute) is None:
            raise EntryRefused(f'"{dispute.title}" is still open: look again, or take a side.')
        self.review.commit([self._settled(dispute, None, why, (self.frame_found(dispute),))])
        self.go_on()
        return f"Settled anew: {dispute.title}."

    def frame_found(self, dispute: Difference) -> int | None:
        """The frame by which the settling session decided a difference."""
        return frame_found(dispute, self.review.session, self.review.ruling)

    def check_open(self) -> None:
        """Raises EntryRefused where nothing can be settled, ReviewClosed where all is finished."""
        self._needed()

    def _needed(self) -> Difference:
        if words := self._changed():
            raise EntryRefused(words)
        self.review.check_open()
        if self.current is None:
            raise EntryRefused("No checkpoint differs: nothing is left to settle but to finish.")
        return self.current

    def _check_fits(self, taking: Taking, dispute: Difference, side: int) -> None:
        session, ruling = self.review.tried(_drafts(taking))
        self._check_fits_what_stands(session, dispute, side)
        if dispute.matter in DECIDED and decision(dispute, session, ruling) is None:
            raise EntryRefused(
                f'What {self.found.reviewers[side]} found of "{dispute.title}" follows from a tag '
                "that is not taken over; take that first, or look again."
            )

    def _check_fits_what_stands(self, session: Session, dispute: Difference, side: int) -> None:
        """Raises EntryRefused where the tags of a run could then not all be true."""
        run, before = (s.run(dispute.run or 0) for s in (session, self.review.session))
        if run is None:
            return
        checked, stood = check_run(session, run), () if before is None else self._clashes(before)
        reviewer = self.found.reviewers[side]
        for moment in sorted(checked.brackets.conflicts):
            raise EntryRefused(
                f"What {reviewer} found contradicts what is settled already of "
                f'"{checked.ladder.moments[moment].words}"; settle that otherwise, or look again.'
            )
        for clash in (clash for clash in checked.clashes if clash not in stood):
            raise EntryRefused(
                f"What {reviewer} found cannot be true beside what is settled already: "
                f"{contradiction_words(checked.ladder, clash)}. Settle that otherwise, or look "
                "again."
            )

    def _clashes(self, run: Run) -> tuple[Contradiction, ...]:
        return check_run(self.review.session, run).clashes

    def _settled(
        self, dispute: Difference, taken: str | None, why: str, frames: Iterable[int | None]
    ) -> Draft:
        """The entry that settles a difference, in place of an earlier one."""
        earlier = self._line(dispute)
        named = sorted({frame for frame in frames if frame is not None})
        at: tuple[Spot, ...] = tuple(self.review.spot(frame) for frame in named)
        entry = DifferenceSettled(difference=dispute.key, taken=taken, reason=why, at=at)
        return Draft(entry, replaces=None if earlier is None else earlier.seq)

    # -- undo

    def undo(self) -> str:
        """Take back what was settled last, with all that was taken for it; what it was, in words.

        Raises EntryRefused where nothing can be undone.
        """
        return self._stepped(self.review.undo)

    def redo(self) -> str:
        """Settle again what was undone last; what it was, in words."""
        return self._stepped(self.review.redo)

    def _stepped(self, step: Callable[[], str]) -> str:
        """Go back or forth in the history, and to the difference that is or was settled there."""
        self.check_open()
        before = [self.settled(dispute) for dispute in self.disputes]
        said = step()
        after = [self.settled(dispute) for dispute in self.disputes]
        changed = (n for n in range(len(after)) if after[n] != before[n])
        self.at = next(changed, self.at)
        self._take_in_hand()
        return said

    # -- finishing

    def check_settled(self) -> None:
        """Raises EntryRefused where the settling cannot be finished yet, and says why."""
        if words := self._changed():
            raise EntryRefused(words)
        if self.review.is_closed:
            raise EntryRefused("This settling is finished already.")
        if self.left:
            what = plural(self.left, "difference")
            raise EntryRefused(f"{what} {are(self.left)} not settled yet.")
        ruling = self.review.ruling
        still = [run.run for run in ruling.runs if run.standing is Standing.OPEN]
        if not ruling.made:
            named = ", ".join(f"run {run}" for run in still) or "the record"
            raise EntryRefused(f"Nothing differs, but {named} is still open: look again there.")

    @property
    def ending(self) -> str:
        """What is said when settling is left."""
        if self.left:
            of = plural(len(self.disputes), "difference")
            return f"{self.left} of {of} {are(self.left)} left to settle."
        return self.review.ruling.summary

    def finish(self) -> str:
        """Say that nothing differs any more."""
        self.check_settled()
        self.review.write(Finished(blind=False))
        return f"Settled. {self.review.ruling.summary}"


def _drafts(taking: Taking) -> list[Draft]:
    """What is taken back for a side, and what is written of it."""
    taken_back = [Draft(Retracted(seq=line.seq)) for line in taking.retract]
    return [*taken_back, *(Draft(entry) for entry in taking.write)]


def _along(taking: Taking, reviewer: str) -> str:
    """What else was taken from a reviewer, as all agree on it and only these tags fit."""
    if not taking.along:
        return ""
    more = len(taking.along) - NAMED
    named = joined([*taking.along[:NAMED], *([f"{more} more"] if more > 0 else [])])
    return f" So that it fits, {reviewer}'s frames are taken for what all agree on, too: {named}."


NAMED = 3
"""Checkpoints that are named before the rest is only counted."""
