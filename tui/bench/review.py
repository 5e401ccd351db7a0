"""The review in progress: the one mutable object of the bench, which writes the entries."""

from collections.abc import Callable, Sequence
from fractions import Fraction

from keymaps.commands import COMMANDS
from sessions.errors import EntryRefused, ReviewClosed
from sessions.record.entries import Entry, Line, Reopened, Retracted, Shown, Spot
from sessions.record.journal import Journal
from sessions.record.role import is_closed
from sessions.record.session import Run, Session, fold, grow
from sessions.rules.ladder import Checkpoint, Kind
from sessions.rules.moments import Side
from sessions.ruling.checker import Checked, check_run
from sessions.ruling.due import due_checkpoints
from sessions.ruling.judge import rule
from sessions.ruling.ruling import Ruling
from tui.bench.contradictions import TagsContradict, check_fits
from tui.bench.history import next_redo, next_undo
from tui.bench.seen import SeenFrames


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
        self.lines: list[Line] = list(journal.recording.lines)
        self.session: Session = fold(journal.recording.header, self.lines)
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
        self._overrules = False
        self.key_of: Callable[[str], str] = lambda command_id: COMMANDS[command_id].label
        self._checked: dict[int, Checked] = {}
        self._ruling: Ruling | None = None

    # -- what there is

    @property
    def frames(self) -> int:
        """Frames in the footage."""
        return self.session.header.footage.frames

    @property
    def run(self) -> Run | None:
        """The run worked on."""
        return None if self.run_id is None else self.session.run(self.run_id)

    @property
    def ruling(self) -> Ruling:
        """The ruling as it would be now."""
        if self._ruling is None:
            self._ruling = rule(self.session)
        return self._ruling

    @property
    def is_closed(self) -> bool:
        """Whether the review is finished, and nothing may be changed."""
        return is_closed(self.session)

    def check_open(self) -> None:
        """Raises ReviewClosed where the review is finished, and nobody said why it is changed."""
        if self.is_closed and self.amending is None:
            raise ReviewClosed("This review is finished; to change it, say why it is amended.")

    def checked(self, run: Run) -> Checked:
        """The findings of a run, kept until the session changes."""
        if run.id not in self._checked:
            self._checked[run.id] = check_run(self.session, run)
        return self._checked[run.id]

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

    # -- moving

    def go(self, frame: int) -> None:
        """Move to a frame, held within the footage."""
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
        """Put one entry on the disk, behind lines that it ``retracts``, then into the session.

        Raises EntryRefused, with nothing written, where it would contradict what is tagged, and
        ReviewClosed where the review is finished. The first change after that is written behind
        the reason why.
        """
        self.check_open()
        retracts = self._admitted(entry, replaces, retracts)
        if self.is_closed and self.amending is not None:
            self._take(self.journal.append(Reopened(reason=self.amending)))
        self.amending = None
        self.flush_seen()
        for seq in retracts:
            self._take(self.journal.append(Retracted(seq=seq)))
        line = self.journal.append(entry, replaces)
        self._take(line)
        return line

    def flush_seen(self) -> None:
        """Write down the frames shown since the last time; a finished review is left as it is."""
        if self.seen.fresh and not self.is_closed:
            ranges = self.seen.ranges()
            stamps = tuple((self.stamp(first), self.stamp(last)) for first, last in ranges)
            self._take(self.journal.append(Shown(ranges=ranges, stamps=stamps)))
            self.seen.written(self.session.shown)

    def _take(self, line: Line) -> None:
        self.lines.append(line)
        self.session = grow(self.session, [line])
        self._checked.clear()
        self._ruling = None

    def _admitted(
        self, entry: Entry, replaces: int | None, retracts: Sequence[int]
    ) -> Sequence[int]:
        """The lines that an entry takes back; also those that exclude it, where they give way."""
        run_id = getattr(entry, "run", None)
        if run_id is None or (run := self.session.run(run_id)) is None:
            return retracts
        before = self.checked(run)
        while True:
            try:
                check_fits(self.session, before, entry, replaces, self.key_of, retracts)
            except TagsContradict as found:
                if not self._overrules:
                    raise
                retracts = (*retracts, *(line.seq for line in found.opposing))
            else:
                return retracts

    def overruling(self, deed: Callable[[], str | None]) -> str | None:
        """Do something whose tags take back those that exclude them, instead of being refused."""
        self._overrules = True
        try:
            return deed()
        finally:
            self._overrules = False

    # -- undo

    def undo(self) -> str:
        """Take back the last thing done; what it was, in words."""
        line = next_undo(self.lines)
        if line is None:
            raise EntryRefused("There is nothing to undo.")
        self._step(line)
        return f"Undone: {_words(line)}."

    def redo(self) -> str:
        """Bring back the last thing undone."""
        line = next_redo(self.lines)
        if line is None:
            raise EntryRefused("There is nothing to redo.")
        self._step(line)
        entry = line.entry
        again = self.lines[entry.seq - 1] if isinstance(entry, Retracted) else line
        return f"Done again: {_words(again)}."

    def retract(self, lines: Sequence[Line]) -> None:
        """Take back entries."""
        for line in lines:
            self.write(Retracted(seq=line.seq))

    def _step(self, line: Line) -> None:
        self.write(Retracted(seq=line.seq, undo=True))
        if self.run is None:
            self.run_id = self.session.runs[-1].id if self.session.runs else None


def _words(line: Line) -> str:
    return f"{line.entry.kind.replace('-', ' ')} (line {line.seq + 1})"
