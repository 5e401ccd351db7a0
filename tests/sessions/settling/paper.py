"""A journal without a disk, for laws that need many sessions to be written."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from sessions.record.entries import Line
from sessions.record.header import Header
from sessions.record.journal import Deed, Draft, Journal
from sessions.record.recording import GENESIS, Recording
from tests.sessions.samples import WHEN


class PaperJournal(Journal):
    """Takes every line, and loses all when it is gone; the chain is left out."""

    def __init__(self, head: Header) -> None:
        self.path = Path("paper")
        self.recording = Recording(head, (), torn=0, whole=0, last_hash="", sha256="")

    def draw_up(self, drafts: Sequence[Draft]) -> Deed:
        first = len(self.recording.lines) + 1
        lines = tuple(
            Line(
                seq=first + place, at=WHEN, prev=GENESIS, entry=draft.entry,
                replaces=draft.replaces, more=len(drafts) - place - 1 or None,
            )
            for place, draft in enumerate(drafts)
        )  # fmt: skip
        return Deed(lines, b"")

    def commit(self, deed: Deed) -> tuple[Line, ...]:
        self.recording = replace(self.recording, lines=(*self.recording.lines, *deed.lines))
        return deed.lines
