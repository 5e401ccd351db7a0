"""A question that stands until it is answered: which of two tags that exclude each other is right.

The tag that meets the contradiction is mostly the innocent one; so nothing is refused, and the
reviewer looks at both frames first.
"""

from dataclasses import dataclass
from enum import StrEnum

from keymaps.commands import COMMANDS, Group


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
