"""A reviewer's moves on a desk, in the words of the tests."""

from sessions.entries import Entry, Look, Shown, Sighted
from sessions.journal import read_session
from sessions.ruling import Standing
from tests.tui.conftest import RATE
from tui.review.commands import DEEDS
from tui.review.desk import Desk
from tui.review.runs import read_display

STRIDE = 12
"""Frames from one step of a run without a fault to the next."""


def do(desk: Desk, command: str, at: int | None = None) -> str | None:
    """Do a command of the desk, at a frame where one is given."""
    if at is not None:
        desk.go(at)
    return DEEDS[command](desk)


def kept_until_complete(desk: Desk, first: int) -> None:
    """Every step that is due found in order, each a stride after the one before."""
    frame = first
    while desk.step is not None:
        do(desk, "due.kept", at=frame)
        frame += STRIDE


def run_in_order(desk: Desk, first: int) -> str:
    """Open a run, find all in order, close it, read the display that fits; the reading."""
    do(desk, "run.begin", at=first)
    kept_until_complete(desk, first + STRIDE)
    sighted = desk.checked(desk.needed_run()).brackets
    start, stop = sighted["start"].by, sighted["stop"].by
    assert start is not None
    assert stop is not None
    do(desk, "run.end", at=stop + 3 * STRIDE)
    reading = f"{(stop - start) / RATE:.3f}"
    read_display(desk, reading)
    return reading


def written(desk: Desk) -> list[Entry]:
    """What a person said, as the session file on the disk has it, in order."""
    lines = read_session(desk.journal.path).lines
    return [line.entry for line in lines if not isinstance(line.entry, Shown)]


def living(desk: Desk) -> list[Entry]:
    """What a person said and still holds."""
    return [line.entry for line in desk.session.live if not isinstance(line.entry, Shown)]


def standing(desk: Desk, run: int = 1) -> Standing:
    """How a run stands now."""
    return next(ruled.standing for ruled in desk.ruling.runs if ruled.run == run)


def only(desk: Desk, kind: type[Look] | type[Sighted]) -> Look | Sighted:
    """The one living tag of a kind."""
    (found,) = [entry for entry in living(desk) if isinstance(entry, kind)]
    assert isinstance(found, kind)
    return found


def frames_seen(desk: Desk) -> list[int]:
    """The frames that count as seen, written down or not."""
    return [frame for frame in range(desk.frames) if frame in desk.seen.all]
