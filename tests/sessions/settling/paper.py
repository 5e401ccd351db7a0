"""A journal without a disk, for laws that need many sessions to be written."""

from dataclasses import replace
from pathlib import Path

from sessions.record.entries import Entry, Line
from sessions.record.header import Header
from sessions.record.journal import Journal, Recording
from tests.sessions.samples import WHEN


class PaperJournal(Journal):
    """Takes every line, and loses all when it is gone; the chain is left out."""

    def __init__(self, head: Header) -> None:
        nothing = Recording(head, (), torn=0, whole=0, last_hash="", sha256="")
        super().__init__(Path("paper"), -1, nothing, now=lambda: WHEN)

    def append(self, entry: Entry, replaces: int | None = None) -> Line:
        seq = len(self.recording.lines) + 1
        line = Line(seq=seq, at=WHEN, prev="0" * 64, entry=entry, replaces=replaces)
        self.recording = replace(self.recording, lines=(*self.recording.lines, line))
        return line
