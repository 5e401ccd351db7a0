"""What may be written: what contradicts the record as it stands is refused, and that is named.

The rules are those by which any session file is judged (``sessions.ruling``); the sentences here
say as well by which keys to go on. Where tags exclude each other the one that meets the
contradiction is mostly the innocent one: so nothing is refused, and the reviewer looks at both
frames first.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from keymaps.commands import COMMANDS, Group
from sessions.errors import EntryRefused
from sessions.evidence.sighting import Sighting
from sessions.record.entries import Entry, Line, Look, Sighted
from sessions.record.session import Mark, Run, Session
from sessions.rules.ladder import Ladder
from sessions.ruling.brackets import Outcome, brackets
from sessions.ruling.checker import Checked
from sessions.ruling.judge import JudgedRuns
from sessions.ruling.order import Contradiction, contradiction_words, place_of


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
    before: Session,
    after: Session,
    said: Sequence[Line],
    judged: JudgedRuns,
    key_of: Callable[[str], str],
) -> None:
    """Raises EntryRefused where the lines ``said`` would contradict what ``before`` holds.

    Where taking tags back would mend it, that is TagsContradict. ``after`` is the session with
    them; ``key_of`` names commands in what is said. What is only taken back contradicts nothing.
    """
    entries = [line.entry for line in said if getattr(line.entry, "run", None) is not None]
    if not entries:
        return
    written = {line.seq for line in said}
    for run in after.runs:
        old = before.run(run.id)
        if run is old:
            continue
        now = judged.check(after, run)
        then = None if old is None else judged.check(before, old)
        lines = [
            line
            for line in after.said_of(run.id)
            if line.seq not in written and isinstance(line.entry, Mark)
        ]
        known = then.brackets.conflicts if then is not None else frozenset()
        if fresh := now.brackets.conflicts - known:
            raise _against(entries[-1], lines, now.ladder, min(fresh), key_of)
        for clash in now.clashes:
            if entry := next((one for one in entries if one in clash.tags), None):
                raise _out_of_order(entry, lines, now.ladder, clash)
        if problems := [p for p in _problems(now) if then is None or p not in _problems(then)]:
            raise EntryRefused(_unfit(run, problems[0]))


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


def _problems(checked: Checked) -> list[str]:
    """What keeps the record of a run from holding together."""
    found = (f for f in checked.findings if f.checkpoint == "record")
    return [finding.detail for finding in found if finding.outcome is Outcome.CONFLICT]


def _unfit(run: Run, problem: str) -> str:
    return (
        f"This does not fit what is recorded of run {run.id}: {problem}. Do it at another frame, "
        "or put that right first."
    )


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


# -- a question that stands until it is answered: which of two tags that exclude each other is right


class Answer(StrEnum):
    """What a command means while a question stands."""

    WRITE = "write this tag and take the others back"
    LOOK = "look at the other frame, or come back"
    GO_ON = "look around; the question stands"
    ANEW = "tag another frame instead"
    WAIT = "answer the question first"


LOOKING = frozenset({Group.MOVE, Group.LOOK})
ALWAYS = frozenset({"help", "palette", "redraw", "quit", "ruling"})
"""Commands that show something and change nothing."""


@dataclass(frozen=True, slots=True)
class Asking:
    """A tag that stands against others: asked of the command ``command`` at frame ``frame``.

    ``other`` is a frame of the others, and ``words`` the whole question.
    """

    command: str
    frame: int
    other: int
    words: str

    def answer(self, command: str, frame: int) -> Answer:
        """What a command at a frame means."""
        if command == self.command:
            return Answer.WRITE if frame == self.frame else Answer.ANEW
        if command == "flip":
            return Answer.LOOK
        if command in ALWAYS or COMMANDS[command].group in LOOKING:
            return Answer.GO_ON
        return Answer.WAIT

    def looks_at(self, frame: int) -> int:
        """The frame to show next, from ``frame``: the other one, or this tag's again."""
        return self.frame if frame == self.other else self.other
