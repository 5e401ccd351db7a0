"""The review in progress: the one mutable object of the bench, which writes the entries."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import count
from pathlib import Path

from keymaps.commands import COMMANDS
from sessions.errors import EntryRefused, ReviewClosed, SessionError, SessionLost
from sessions.evidence.frames import FrameSet
from sessions.record.entries import (
    Entry,
    FootageRead,
    Line,
    Played,
    Reopened,
    Retracted,
    Shown,
    Spot,
)
from sessions.record.header import FootageFacts
from sessions.record.journal import Draft, Journal
from sessions.record.role import is_closed
from sessions.record.session import Run, Session, fold, grow
from sessions.rules.ladder import Checkpoint, Kind
from sessions.rules.moments import Side
from sessions.ruling.checker import Checked, due_checkpoints
from sessions.ruling.judge import JudgedRuns
from sessions.ruling.ruling import Ruling
from tui.bench.contradictions import TagsContradict, check_fits
from tui.bench.history import deed_words, next_redo, next_undo, retracted_by
from tui.bench.player import LEAST_SECONDS, Player


class Review:
    """Position, chosen run and checkpoint, and the session behind them.

    ``stamp`` gives the time stamp of a frame, ``frame_at`` the frame shown at a time in seconds
    from the first. Every change is on the disk before a method returns. ``amending`` is the reason
    given for changing a finished review, written with the first change. ``key_of`` names a command
    to the reviewer: by its label, until a screen with keys says by which key.
    """

    def __init__(
        self,
        journal: Journal,
        stamp: Callable[[int], int],
        frame_at: Callable[[Fraction], int],
    ) -> None:
        self.journal = journal
        self.stamp = stamp
        self.frame_at = frame_at
        self.session: Session = fold(journal.recording.header, journal.recording.lines)
        self.seen = SeenFrames(self.session.shown)
        self.frame = 0
        self.flip_base: int | None = None
        self.anchor: int | None = None
        self.hand: Side | None = None
        self.speed: str | None = None
        self.cup = 1
        self.run_id: int | None = self.session.runs[-1].id if self.session.runs else None
        self.chosen: str | None = None
        self.amending: str | None = None
        self.progress: Callable[[], str] = str
        """How far the footage has been read, in words, while it is."""
        self.broken_off = ""
        """Why the reading of the footage was broken off, so that nothing more can be said of it."""
        self.awaited_place = ""
        """The place to go to once the footage is read as far as that."""
        self._overrules = False
        self.key_of: Callable[[str], str] = lambda command_id: COMMANDS[command_id].label
        self._judged = JudgedRuns()
        self._ruled: tuple[Session, Ruling] | None = None

    # -- what there is

    @property
    def frames(self) -> int:
        """Frames in the footage."""
        return self.session.header.footage.frames

    @property
    def lines(self) -> list[Line]:
        """Every line of the session, as they are on the disk."""
        return list(self.session.lines)

    @property
    def run(self) -> Run | None:
        """The run worked on."""
        return None if self.run_id is None else self.session.run(self.run_id)

    @property
    def ruling(self) -> Ruling:
        """The ruling as it would be now."""
        if self._ruled is None or self._ruled[0] is not self.session:
            self._ruled = self.session, self._judged.rule(self.session)
        return self._ruled[1]

    @property
    def is_closed(self) -> bool:
        """Whether the review is finished, and nothing may be changed."""
        return is_closed(self.session)

    def check_open(self) -> None:
        """Raises ReviewClosed where the review is finished, and nobody said why it is changed."""
        if self.is_closed and self.amending is None:
            raise ReviewClosed("This review is finished; to change it, say why it is amended.")

    def checked(self, run: Run) -> Checked:
        """The findings of a run, kept until an entry touches it."""
        return self._judged.check(self.session, run)

    def needed_run(self) -> Run:
        """The run worked on; raises EntryRefused where there is none."""
        if self.run is None:
            raise EntryRefused("There is no run yet: begin one at this frame first.")
        return self.run

    def counted_run(self) -> Run:
        """The run worked on, to be tagged; raises EntryRefused where it counts as nothing."""
        run = self.needed_run()
        if not run.counts:
            raise EntryRefused(
                f"Run {run.id} is marked as {run.sort} and counts as nothing: there is nothing "
                "to tag, unless it is an attempt after all."
            )
        return run

    def spot(self, frame: int) -> Spot:
        """A frame with its time stamp."""
        return Spot(frame=frame, pts=self.stamp(frame))

    # -- footage that is still being read

    @property
    def waits(self) -> bool:
        """Whether the footage is still being read, so that nothing is ruled yet."""
        return self.session.header.reading is not None

    def check_read(self) -> None:
        """Raises EntryRefused while the footage is still being read, for what needs all of it."""
        if self.waits:
            raise EntryRefused(
                f"That needs the whole footage, which is still being read ({self.progress()}); "
                "do it again when it is."
            )

    def footage_grew(self, facts: FootageFacts) -> None:
        """Take in how much of the footage is known by now; nothing is written."""
        header = self.session.header.model_copy(update={"footage": facts})
        self.session = replace(self.session, header=header)

    def footage_read(self, facts: FootageFacts) -> None:
        """Write down what the footage is, now that all of it was read; raises as ``commit``."""
        self.write(FootageRead(footage=facts))
        self._judged, self._ruled = JudgedRuns(), None  # times may be told otherwise now

    # -- moving

    def go(self, frame: int) -> None:
        """Move to a frame, held within the footage."""
        self.awaited_place = ""
        self.frame = max(0, min(frame, self.frames - 1))

    def flip(self) -> None:
        """Go to the frame before, or back from it."""
        if self.flip_base is None:
            self.flip_base = self.frame
            self.go(self.frame - 1)
        else:
            self.go(self.flip_base)
            self.flip_base = None

    # -- the ladder

    def due_checkpoint(self, kind: Kind | None = None) -> Checkpoint | None:
        """The first checkpoint of the run that is still due, of one kind where one is given.

        Nothing is due in a run that counts as nothing.
        """
        run = self.run
        if run is None or not run.counts:
            return None
        due = due_checkpoints(self.checked(run))
        return next(
            (checkpoint for checkpoint in due if kind is None or checkpoint.kind is kind), None
        )

    @property
    def checkpoint(self) -> Checkpoint | None:
        """The checkpoint to tag next: the chosen one, else the one that is due."""
        run = self.run
        if run is not None and self.chosen is not None:
            chosen = self.checked(run).ladder.checkpoint(self.chosen)
            if chosen is not None:
                return chosen
        return self.due_checkpoint()

    # -- writing

    def write(
        self, entry: Entry, replaces: int | None = None, retracts: Sequence[int] = ()
    ) -> Line:
        """Put one entry on the disk, and with it take back the lines that it ``retracts``.

        Raises as ``commit`` does.
        """
        taken_back = [Draft(Retracted(seq=seq)) for seq in retracts]
        return self.commit([*taken_back, Draft(entry, replaces)])[-1]

    def commit(self, drafts: Sequence[Draft]) -> tuple[Line, ...]:
        """Put the entries of one deed on the disk, all or none, then into the session.

        Raises EntryRefused, with nothing written, where they would contradict what is recorded,
        ReviewClosed where the review is finished, and WriteRefused where the disk does not take
        them. The frames shown until now are written with them, and with the first change of a
        finished review the reason why.
        """
        self.check_open()
        if self.broken_off:
            raise EntryRefused(self.broken_off)
        amended: list[Draft] = []
        if self.is_closed and self.amending is not None:
            amended = [Draft(Reopened(reason=self.amending))]
        before = [*amended, *self._shown()]
        asked, drafts = len(drafts), [*before, *drafts]
        while True:
            deed = self.journal.draw_up(drafts)
            after = grow(self.session, deed.lines)
            try:
                check_fits(self.session, after, deed.lines, self._judged, self.key_of)
            except TagsContradict as found:
                if not self._overrules:
                    raise
                drafts = [*(Draft(Retracted(seq=line.seq)) for line in found.opposing), *drafts]
            else:
                break
        self._save(deed.lines, after, lambda: self.journal.commit(deed))
        self.amending = None
        return deed.lines[-asked:]

    def tried(self, drafts: Sequence[Draft]) -> tuple[Session, Ruling]:
        """The session and its ruling as they would be with these entries; nothing is written."""
        session = grow(self.session, self.journal.draw_up(drafts).lines)
        return session, self._judged.rule(session)

    def flush_seen(self) -> None:
        """Write down the frames shown since the last time; a finished review is left as it is."""
        if not self.is_closed and (seen := self._shown()):
            deed = self.journal.draw_up(seen)
            after = grow(self.session, deed.lines)
            self._save(deed.lines, after, lambda: self.journal.commit(deed))

    def _shown(self) -> list[Draft]:
        """The entry of the frames that were shown since the last time, if there are any."""
        if not self.seen.fresh:
            return []
        ranges = self.seen.ranges()
        stamps = tuple((self.stamp(first), self.stamp(last)) for first, last in ranges)
        return [Draft(Shown(ranges=ranges, stamps=stamps))]

    def _save(self, lines: Sequence[Line], after: Session, write: Callable[[], object]) -> None:
        try:
            write()
        except SessionLost as lost:
            key = self.key_of("save_elsewhere")
            raise SessionLost(f"{lost} To do so: {key}.") from None
        self.session = after
        if any(isinstance(line.entry, Shown) for line in lines):
            self.seen.written(after.shown)

    # -- a session file that is no longer in its place

    def save_elsewhere(self) -> str:
        """Save the review under another name, where its file was lost while it was open.

        Raises EntryRefused where nothing was lost, and SessionError where no place takes it.
        """
        said = self.rescue()
        if not said:
            raise EntryRefused(f"Every entry is saved already, in {self.journal.path}.")
        return said

    def rescue(self) -> str:
        """As ``save_elsewhere``, in words; empty where the session file is in its place."""
        try:
            self.journal.check_place()
        except SessionLost:
            self._save_elsewhere()
            return f"Every entry is saved in {self.journal.path}; the review goes on there."
        return ""

    def _save_elsewhere(self) -> None:
        refused: SessionError | None = None
        for path in free_names(self.journal.path):
            try:
                self.journal.save_elsewhere(path)
            except SessionError as error:
                refused = refused or error
            else:
                return
        assert refused is not None
        raise refused

    def overruling(self, deed: Callable[[], str | None]) -> str | None:
        """Do something whose tags take back those that exclude them, instead of being refused."""
        self._overrules = True
        try:
            return deed()
        finally:
            self._overrules = False

    # -- undo

    def undo(self) -> str:
        """Take back the last deed, all that one key wrote; what it was, in words."""
        lines = next_undo(self.session.lines)
        if not lines:
            raise EntryRefused("There is nothing to undo.")
        said = deed_words(lines, self.session)
        self._step(lines)
        return f"Undone: {said}."

    def redo(self) -> str:
        """Bring back the deed undone last; what it was, in words."""
        lines = next_redo(self.session.lines)
        if not lines:
            raise EntryRefused("There is nothing to redo.")
        again = [self.session.lines[seq - 1] for seq in retracted_by(lines)]
        said = deed_words(again, self.session)
        self._step(lines)
        return f"Done again: {said}."

    def retract(self, lines: Sequence[Line]) -> None:
        """Take back entries, as one deed."""
        self.commit([Draft(Retracted(seq=line.seq)) for line in lines])

    def _step(self, lines: Sequence[Line]) -> None:
        self.commit([Draft(Retracted(seq=line.seq, undo=True)) for line in lines])
        if self.run is None:
            self.run_id = self.session.runs[-1].id if self.session.runs else None


def free_names(path: Path) -> Iterator[Path]:
    """Where a session whose file was lost may be saved: no file of these names is there.

    Its own name first, then names beside it, where the program was started, and in the user's own
    folder. No docket reads a file of another name.
    """
    if not path.exists():
        yield path
    for folder in (path.parent, Path.cwd(), Path.home()):
        names = (folder / f"{path.name}.saved-{number}" for number in count(1))
        yield next(name for name in names if not name.exists())


# -- frames shown but not yet written down


class SeenFrames:
    """Collects shown frames, and hands them over as ranges to be written to the session.

    Frames that the session already counts as seen are not collected again.
    """

    def __init__(self, known: FrameSet) -> None:
        self._known = known
        self._fresh: set[int] = set()

    def show(self, frame: int) -> None:
        """A frame was drawn on the screen."""
        if frame not in self._known:
            self._fresh.add(frame)

    @property
    def fresh(self) -> int:
        """How many frames wait to be written."""
        return len(self._fresh)

    @property
    def all(self) -> FrameSet:
        """Everything seen, written or not."""
        return FrameSet.of([*self._known.ranges, *((f, f) for f in self._fresh)])

    def ranges(self) -> tuple[tuple[int, int], ...]:
        """The waiting frames as inclusive ranges."""
        return FrameSet.of((frame, frame) for frame in self._fresh).ranges

    def written(self, known: FrameSet) -> None:
        """The session now counts the waiting frames as seen."""
        self._known = known
        self._fresh.clear()


# -- stretches of footage that were played without a pause, and which of them are worth keeping


def write_played(player: Player, review: Review) -> None:
    """Write down what was played forward at full speed; raises WriteRefused."""
    if review.is_closed:  # a finished review is left as it is, whoever watches it
        player.played.clear()
    footage = review.session.header.footage
    while player.played:
        stretch = player.played[0]
        lasted = footage.seconds(review.stamp(stretch.last)) - footage.seconds(
            review.stamp(stretch.first)
        )
        if stretch.speed == 1 and lasted >= LEAST_SECONDS:
            first, last, drawn = stretch.first, stretch.last, stretch.drawn
            review.write(Played(first=first, last=last, speed="1", drawn=drawn))
        player.played.pop(0)
