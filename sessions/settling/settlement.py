"""What a settling session settled, told without the reviews that it settles."""

from sessions.frozen import Frozen
from sessions.record.entries import DifferenceSettled
from sessions.record.session import Session
from sessions.ruling.ruling import Place, Ruling, place_of
from sessions.settling.agreement import CUPS
from sessions.settling.differences import TITLES, cup_title


class SettledPoint(Frozen):
    """One difference as it was settled: whose finding was ``taken`` (nobody's: looked at again).

    ``run`` is the run that it is in, ``None`` for a cup; ``at`` are the frames that were named.
    """

    run: int | None
    title: str
    taken: str | None
    reason: str
    at: tuple[Place, ...]


def settled_points(session: Session, ruling: Ruling) -> tuple[SettledPoint, ...]:
    """Every difference that a session settles, in the order in which that was done."""
    entries = (line.entry for line in session.live)
    return tuple(
        _point(entry, session, ruling) for entry in entries if isinstance(entry, DifferenceSettled)
    )


def _point(entry: DifferenceSettled, session: Session, ruling: Ruling) -> SettledPoint:
    run, title = _subject(entry.difference, ruling)
    return SettledPoint(
        run=run,
        title=title,
        taken=entry.taken,
        reason=entry.reason,
        at=tuple(place_of(session.header.footage, spot.frame, spot.pts) for spot in entry.at),
    )


def _subject(key: str, ruling: Ruling) -> tuple[int | None, str]:
    """The run and the title of a difference by its key; its subject where it has no title.

    A key that this program never writes is its own title, and of no run.
    """
    cup = key.removeprefix(f"{CUPS}.")
    if cup != key and _is_number(cup):
        return None, cup_title(int(cup))
    number, _, subject = key.partition(".")
    if not _is_number(number):
        return None, key
    runs = (run for run in ruling.runs if str(run.run) == number)
    titles = {f.checkpoint: f.title for run in runs for f in run.findings} | TITLES
    return int(number), titles.get(subject, subject)


def _is_number(text: str) -> bool:
    return text.isascii() and text.isdecimal()
