"""What may be written: a tag that contradicts those that stand is refused, and they are named."""

from collections.abc import Callable, Iterator, Sequence

from sessions.errors import EntryRefused
from sessions.evidence.sighting import Sighting
from sessions.record.entries import Entry, Line, Look, Retracted, Sighted
from sessions.record.journal import utc_now
from sessions.record.session import Mark, Session, fold
from sessions.rules.ladder import Ladder
from sessions.ruling.brackets import brackets
from sessions.ruling.checker import Checked, check_run
from sessions.ruling.order import Contradiction, contradiction_words, place_of

GENESIS = "0" * 64


class TagsContradict(EntryRefused):
    """An entry and tags that stand exclude each other; ``opposing`` are the lines of those tags.

    ``plain`` says why; ``or_else`` what to do where nobody can be asked.
    """

    def __init__(self, plain: str, opposing: Sequence[Line], or_else: str = "") -> None:
        super().__init__(f"{plain}{or_else}.")
        self.plain, self.opposing = plain, tuple(opposing)

    def question(self, command: str, key_of: Callable[[str], str]) -> str:
        """What to do about it, asked of the one who tagged by ``command``."""
        others = "the other" if len(self.opposing) == 1 else f"the other {len(self.opposing)}"
        return (
            f"{self.plain}. Which is right? {key_of('flip')} shows frame {self.other} "
            f"and comes back; {key_of(command)} again writes this tag and takes {others} back; "
            "Escape leaves all as it was."
        )

    @property
    def other(self) -> int:
        """A frame of the tags that stand."""
        mark = self.opposing[0].entry
        assert isinstance(mark, Look | Sighted)
        return mark.by.frame


def check_fits(
    session: Session,
    before: Checked,
    entry: Entry,
    replaces: int | None,
    key_of: Callable[[str], str],
    retracts: Sequence[int] = (),
) -> None:
    """Raises EntryRefused where an entry would contradict what is tagged in its run.

    Where taking tags back would mend it, that is TagsContradict. ``before`` is the run as it was
    judged so far; ``key_of`` names commands in what is said, and ``retracts`` the lines that are
    taken back with it.
    """
    *taken_back, trial = _trial(len(session.lines) + 1, entry, replaces, retracts)
    after = fold(session.header, [*session.lines, *taken_back, trial])
    run = after.run(before.run.id)
    if run is None:
        return
    checked = check_run(after, run)
    fresh = checked.brackets.conflicts - before.brackets.conflicts
    others = [line for line in after.live if line is not trial]
    marks = [line for line in others if isinstance(line.entry, Mark) and line.entry.run == run.id]
    if fresh:
        raise _against(entry, marks, checked.ladder, min(fresh), key_of)
    for clash in checked.clashes:
        if entry in clash.tags:
            raise _out_of_order(entry, marks, checked.ladder, clash)


def _out_of_order(
    entry: Entry, marks: Sequence[Line], ladder: Ladder, clash: Contradiction
) -> EntryRefused:
    """Why an entry and tags that stand cannot all be true by the order of the run's moments."""
    words = contradiction_words(ladder, clash)
    words = f"{words[0].upper()}{words[1:]}"
    against = clash.early if entry in clash.late else clash.late
    if entry in clash.given:
        against = (*clash.late, *clash.early)
    opposing = [line for line in marks if line.entry in against]
    if opposing and len({line.entry for line in opposing}) == len(set(against)):
        return TagsContradict(words, opposing)
    return EntryRefused(f"{words}. Go to another frame, or look at the fall again.")


def _trial(
    first: int, entry: Entry, replaces: int | None, retracts: Sequence[int]
) -> Iterator[Line]:
    """The lines that would be written, the entry last, as if they were."""
    written = [*((Retracted(seq=seq), None) for seq in retracts), (entry, replaces)]
    for number, (said, amended) in enumerate(written, first):
        yield Line(seq=number, at=utc_now(), prev=GENESIS, entry=said, replaces=amended)


def _against(
    entry: Entry, lines: Sequence[Line], ladder: Ladder, moment: str, key_of: Callable[[str], str]
) -> EntryRefused:
    """Which tag an entry contradicts, where it must lie to agree, or how to take that tag back."""
    marks = [line.entry for line in lines if isinstance(line.entry, Mark)]
    told = brackets(ladder, marks)[moment]
    words = ladder.moments[moment].words
    keys = f"{key_of('ladder.list')} for its checkpoint, then {key_of('retract')}"
    take_back = f"take that tag back first ({keys})"
    if not isinstance(entry, Look | Sighted):
        said = f'This contradicts an earlier tag of "{words}"; look again, or {take_back}.'
        return EntryRefused(said)
    opposing = [
        line
        for line in reversed(lines)
        if isinstance(line.entry, Mark) and _excludes(entry, line.entry, ladder)
    ]
    so, way = _way(entry, told)
    if not opposing:
        tag = f'an earlier tag of "{words}"{so}'
        return EntryRefused(f"Frame {entry.by.frame} contradicts {tag}: {way}, or {take_back}.")
    against = opposing[0].entry
    assert isinstance(against, Look | Sighted)
    checkpoint = ladder.checkpoint(place_of(against))
    tag = f'the tag "{checkpoint.title if checkpoint else words}" at frame {against.by.frame}'
    said = f"Frame {entry.by.frame} contradicts {tag}: {way}"
    return TagsContradict(said, opposing, f", or {take_back}")


def _excludes(entry: Mark, mark: Mark, ladder: Ladder) -> bool:
    """Whether two tags cannot both be true."""
    return bool(brackets(ladder, [entry, mark]).conflicts)


def _way(entry: Mark, told: Sighting) -> tuple[str, str]:
    """What was told of a moment, and where a tag must lie to agree with it."""
    frame = entry.by.frame
    if told.after is not None and frame <= told.after:
        return f", not yet so in frame {told.after}", f"go to {told.after + 1} or later"
    if told.by is not None and frame >= told.by:
        last = told.by if isinstance(entry, Sighted) else told.by - 1
        return f", so in frame {told.by}", f"go to {last} or earlier"
    return ", at another time", "look again"
