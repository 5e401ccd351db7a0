"""Draws up golden sessions with the rulings of today: ``python -m tests.sessions.golden.make``.

Run it for new rules or a new format only. It never changes a golden session that is there: a ruling
that was made once must be made of the same session for ever.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from itertools import count
from pathlib import Path

from sessions.record.journal import Draft, Journal
from sessions.record.recording import read_session
from sessions.record.session import fold
from sessions.ruling.judge import rule
from tests.sessions.samples import cups_and_frames, header
from tests.sessions.tags import session_from

FOLDER = Path(__file__).parent
BEGUN = datetime(2031, 5, 4, 9, 30, tzinfo=UTC)

EVENTS = ("3-3-3", "3-6-3", "cycle")
TAGS = {
    "stands": ("clean 1 at 0", "clean 2 at 300", "done"),
    "scratch": ("clean 1 at 0", "look 1 start.grip refuted 8", "clean 2 at 300", "done"),
    "doubt": ("clean 1 at 0", "look 1 start.still unproven 9 10", "done"),
    "fourth-attempt": (
        "before 3 by the results list", "clean 1 at 0", "cups 2 unproven at 100", "done",
    ),
    "not-proven": ("clean 1 at 0 as warm-up", "open 2 attempt at 300",
                   "lacks 2 stop 380 420 the table is hidden", "close 2 at 420", "done"),
}  # fmt: skip
"""What is tagged in each, in the language of ``tests.sessions.tags``; all of it is invented."""


def _ticking() -> Callable[[], datetime]:
    """A clock that goes on by a second each time it is read."""
    times = (BEGUN + timedelta(seconds=second) for second in count())
    return lambda: next(times)


def make() -> None:
    """Write every golden session that is not there yet, and its ruling beside it."""
    for event in EVENTS:
        for name, tags in TAGS.items():
            path = FOLDER / f"version-2.{event}.{name}.session.jsonl"
            if path.exists():
                continue
            head = header(event)
            told = session_from(head, tags, *cups_and_frames(head))
            with Journal.create(path, head, now=_ticking()) as journal:
                journal.append_all([Draft(line.entry, line.replaces) for line in told.lines])
            recording = read_session(path)
            ruling = rule(fold(recording.header, recording.lines))
            path.with_suffix("").with_suffix(".ruling.json").write_text(
                ruling.model_dump_json(indent=1, ensure_ascii=True) + "\n", encoding="utf-8"
            )


if __name__ == "__main__":
    make()
